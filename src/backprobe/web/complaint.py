"""What a form about a reading offers: points, functions, parts, and the state in which a function works."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import try_states
from backprobe.readings.points import reachable_points
from backprobe.sheet.model import Control, Sheet
from backprobe.web.lamps import code_words, lamp_words
from backprobe.web.sketch_warnings import could_guard, idle_functions, numbers_of, unguarded_of
from backprobe.workbench.finding import Finding


@dataclass(frozen=True, slots=True)
class Complaint:
    """How a job begins: functions, and the state in which they should work.

    Parameters
    ----------
    state
        Control to position, nearest to rest, in which most functions of a sound circuit work.
    controls
        Those that a hand moves.
    idle
        Functions that a sound circuit works in no operator state.
    numbers
        Values of the sheet that cannot be so, or that hardly ever are.
    unguarded
        Functions for which no guard was found.
    loose
        Switches that count as no guard, of which one may keep people safe.
    """

    functions: tuple[str, ...]
    state: dict[str, str]
    controls: tuple[Control, ...]
    idle: tuple[str, ...] = ()
    numbers: tuple[Finding, ...] = ()
    unguarded: tuple[str, ...] = ()
    loose: tuple[str, ...] = ()


def complaint_of(engine: Engine) -> Complaint:
    """What the first form of a job offers."""
    sheet = engine.sheet
    states = try_states(engine, every=False)
    best: Setup | None = states.best
    return Complaint(
        tuple(sheet.functions),
        dict(best.state) if best else {},
        hand_controls(sheet),
        tuple(idle_functions(states)),
        numbers_of(sheet),
        unguarded_of(sheet),
        could_guard(sheet),
    )


def hand_controls(sheet: Sheet) -> tuple[Control, ...]:
    """Controls that stand in a position; what was done before is left out."""
    return tuple(c for c in sheet.controls.values() if not c.remembered)


@dataclass(frozen=True, slots=True)
class Offer:
    """Everything that a free reading can be about.

    Parameters
    ----------
    points
        Points with everything plugged.
    fitted
        What unplugs: plugs, and fuses, rings and relays that come out.
    parts
        Parts that can be looked at or swapped.
    """

    points: tuple[str, ...]
    fitted: tuple[str, ...]
    parts: tuple[str, ...]
    functions: tuple[str, ...]
    lamps: tuple[str, ...]
    codes: tuple[str, ...]
    fuses: tuple[str, ...]
    relays: tuple[str, ...]
    controls: tuple[Control, ...]


FUSES = frozenset({"fuse", "circuit breaker", "fusible link"})
FITTED = frozenset({"fuse", "relay", "ring"})


def offer_of(sheet: Sheet) -> Offer:
    """What the form of a free reading offers for a sheet."""
    parts = sheet.parts.values()
    return Offer(
        tuple(p.name for p in reachable_points(sheet)),
        (*sheet.connectors, *(p.name for p in parts if p.kind in FITTED and not p.implied)),
        tuple(p.name for p in parts if p.kind != "battery"),
        tuple(sheet.functions),
        lamp_words(sheet),
        code_words(sheet),
        tuple(p.name for p in parts if p.kind in FUSES),
        tuple(p.name for p in parts if p.kind == "relay"),
        hand_controls(sheet),
    )

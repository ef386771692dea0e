"""Chances of what was seen rather than measured: looks, swaps, unsteady needles, and slips of the eye."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.setup import Setup
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.predict import SLIP
from backprobe.readings.model import Reading
from backprobe.sheet.anatomy import Mode

FOUND_BY_EYE = {
    "copper": 0.6,
    "contact": 0.6,
    "wiring": 0.4,
    "part": 0.25,
    "source": 0.25,
    "electronics": 0.02,
}
"""Chance that looking at a faulty part shows it; common practice, no source."""
CLOSED_KINDS = frozenset({"switch", "changeover switch", "relay", "potentiometer"})
INSIDE = "inside"
"""Word in the name of a fault of a wire that its insulation hides."""
INSIDE_SEEN = 0.04
"""Kinds with closed housings, and the chance that what is worn, stuck or corroded inside is seen from
outside: next to none; common practice, no source."""
FALSE_SIGN = 0.08
"""Chance that a sound part looks bad; common practice, no source."""

BLOWN = re.compile(r"^(blown|tripped|burnt inside)\b")
"""Failure modes of a fuse, a breaker or a fusible link that leave it open."""
FUSE_SEEN = 0.95
LINK_SEEN = 0.3
FALSE_FUSE = 0.02
"""Chances that a blown fuse is seen to be blown, that a link burnt inside its insulation is, and that a
whole one is taken for blown; common practice, no source."""


def by_eye(engine: Engine, mode: Mode) -> float:
    """Chance that looking at its part shows a fault [1]."""
    part = engine.sheet.parts.get(mode.part)
    closed = part is not None and part.kind in CLOSED_KINDS and "socket" not in mode.mode
    hidden = (closed and mode.family in {"contact", "part"}) or (
        mode.family == "copper" and INSIDE in mode.mode
    )
    return INSIDE_SEEN if hidden else FOUND_BY_EYE[mode.family]


def soften(chance: Floats) -> Floats:
    """A chance with the possibility that the observation itself was a slip."""
    result: Floats = (1 - SLIP) * np.clip(chance, 0, 1) + SLIP * 0.5
    return result


def chance_of_rows(
    engine: Engine,
    reading: Reading,
    rows: Sequence[tuple[int, ...]],
    circuit_chance: Floats,
    blown: Collection[Setup] = (),
) -> Floats:
    """``(e,)`` chance of one observation, given the faults and what the circuit predicts of it.

    Parameters
    ----------
    blown
        Setups in which a fuse was seen to blow: what is dead there is no second observation.
    """
    if reading.kind == "works" and reading.seen == "dead" and reading.setup in blown:
        return np.ones(len(rows))
    modes = engine.catalogue.modes
    mode_of = engine.catalogue.mode_of
    if reading.kind in {"swapped", "looked"}:
        out = np.empty(len(rows))
        for e, row in enumerate(rows):
            faults = [modes[mode_of[r]] for r in row]
            mine = [f for f in faults if f.part == reading.subject]
            if reading.kind == "looked":
                seen = max((by_eye(engine, f) for f in mine), default=FALSE_SIGN)
                out[e] = 1 - seen if reading.seen == "fine" else seen
            else:
                cured = 0.02 if not mine else (0.95 if len(mine) == len(faults) else 0.4)
                out[e] = cured if reading.seen == "works now" else 1 - cured
        return out
    if reading.kind == "fuse":
        return _fuse_chance(engine, reading, rows, circuit_chance)
    if reading.unsteady:
        out = np.full(len(rows), 0.02)
        for e, row in enumerate(rows):
            if any(_comes_and_goes(modes[mode_of[r]]) for r in row):
                out[e] = 0.25
        return out
    return circuit_chance


def _comes_and_goes(mode: Mode) -> bool:
    """Whether a fault is of a kind that a moving machine makes and breaks."""
    return mode.family in {"copper", "contact"} or "now and then" in mode.mode


def _fuse_chance(engine: Engine, reading: Reading, rows: Sequence[tuple[int, ...]], opens: Floats) -> Floats:
    """``(e,)`` chance of how a fuse looked, or of what a new one did; `opens` is the circuit's own word."""
    modes, mode_of = engine.catalogue.modes, engine.catalogue.mode_of
    mine = [[m.mode for r in row if (m := modes[mode_of[r]]).part == reading.subject] for row in rows]
    broken = np.array([any(BLOWN.search(mode) for mode in of_row) for of_row in mine], bool)
    hidden = np.array([any("inside" in mode for mode in of_row) for of_row in mine], bool)
    if reading.seen in {"blows", "holds"}:
        # A fuse that is no more cannot blow: what is seen is that of a new one.
        blows = np.where(broken, 0.0, opens)
        return blows if reading.seen == "blows" else 1 - blows
    shows = np.where(hidden, LINK_SEEN, FUSE_SEEN)
    blown = np.maximum(np.where(broken, shows, FALSE_FUSE), FUSE_SEEN * opens)
    return blown if reading.seen == "blown" else 1 - blown

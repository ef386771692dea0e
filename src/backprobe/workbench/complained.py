"""What was read dead, as a trial needs it: whether a cure makes it work, and a part is asked at all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.revived import revived
from backprobe.readings.model import Reading
from backprobe.sheet.anatomy import Mode
from backprobe.sheet.model import Sheet
from backprobe.workbench.claim_joins import listed

MOST_LIKELY = 0.8
"""Suspects are named until they come to this together [1]."""
NAMED = 4
"""Suspects that are named at most."""
SPEAKS = 0.5
"""Suspects are named at all where they come to this together [1]."""


@dataclass(frozen=True, slots=True)
class Complained:
    """What readings say of functions and relays by the eye and the ear.

    Parameters
    ----------
    dead
        Operator state and function that does not work in it, and was not seen to work in it later.
    clicks
        Relay to whether it clicked, or did not, when it was last listened to or tried.
    """

    dead: tuple[tuple[Setup, str], ...] = ()
    clicks: Mapping[str, bool] = field(default_factory=dict)

    @classmethod
    def of(cls, readings: Sequence[Reading], sheet: Sheet) -> Complained:
        """What some readings say, in the order in which they were made."""
        again = {(r.function, r.setup) for r in revived(readings)}
        dead = dict.fromkeys(
            (r.setup, r.subject)
            for r in readings
            if r.kind == "works" and r.seen == "dead" and (r.subject, r.setup) not in again
        )
        clicks = {}
        for r in readings:
            part = sheet.parts.get(r.subject)
            if part is not None and part.kind == "relay" and r.kind in {"works", "click"}:
                clicks[r.subject] = r.seen in {"works", "clicks"}
        return cls(tuple(dead), clicks)

    @property
    def silent(self) -> frozenset[str]:
        """Relays that do not click."""
        return frozenset(name for name, clicks in self.clicks.items() if not clicks)


def lost_words(answer: Answer, modes: Mapping[str, Mode], nominal: Mapping[str, float]) -> tuple[str, str]:
    """Where the readings say it fails, and what is to be mended there; both may be empty.

    Such as ``the volts are lost at brake switch, C8-1 or C8-2`` and ``brake switch, C8-1 or C8-2``.

    Parameters
    ----------
    modes
        Fault (``part: mode``) to its failure mode.
    nominal
        Parameter to its value in a sound machine, for resistances [ohm].
    """
    kept, whole = [], 0.0
    for suspect in answer.suspects[:NAMED]:
        kept.append(suspect)
        whole += suspect.probability
        if whole >= MOST_LIKELY:
            break
    if whole < SPEAKS:
        return "", ""
    faults = [modes[n] for s in kept for n in s.names if n in modes]
    parts = listed(list(dict.fromkeys(n.partition(":")[0] for s in kept for n in s.names)), "or")
    if faults and all(_loses(m, nominal) for m in faults):
        parts = listed(list(dict.fromkeys(m.part for m in faults)), "or")
        return f"the volts are lost at {parts}", parts
    return f"what was read speaks for {listed([s.name for s in kept], 'or')}", parts


def _loses(mode: Mode, nominal: Mapping[str, float]) -> bool:
    """Whether a fault only puts resistance in the way."""
    return all(key in nominal and grid[-1] > nominal[key] for key, grid in mode.changes.items())

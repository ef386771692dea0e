"""What was dead and works now in the same state: repaired meanwhile, or a fault that comes and goes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from backprobe.circuit.setup import Setup
from backprobe.readings.model import Reading


@dataclass(frozen=True, slots=True)
class Revived:
    """A function that was dead and works now in the same operator state, with the same plugs on.

    Parameters
    ----------
    dead, works
        Indices of the two readings.
    """

    function: str
    setup: Setup
    dead: int
    works: int


def revived(readings: Sequence[Reading]) -> tuple[Revived, ...]:
    """Functions whose last word in some state is that they work, though they were dead in it before.

    Parameters
    ----------
    readings
        In the order in which they were made.
    """
    dead: dict[tuple[str, Setup], int] = {}
    found: dict[tuple[str, Setup], Revived] = {}
    for k, reading in enumerate(readings):
        if reading.kind != "works":
            continue
        key = (reading.subject, reading.setup)
        if reading.seen == "dead":
            dead[key] = k
            found.pop(key, None)
        elif key in dead:
            found[key] = Revived(reading.subject, reading.setup, dead[key], k)
    return tuple(found.values())

"""When to stop measuring: repair as soon as that is expected to cost less than another check."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from backprobe.diagnosis.answer import Answer, Suspect
from backprobe.diagnosis.check import Check

SURE_ENOUGH = 0.75
"""Chance that one part is at fault, over all that can be wrong in it, from which it may be repaired though
a further check would pay; common practice, no source."""
NEARLY_ALL = 0.95
"""Share of one part from which a further check would only name its fault [1]; common practice, no source."""
MONEY_MINUTES = 1.0
"""Minutes of work that one money unit of parts is worth; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Stop:
    """The advice to repair now.

    Parameters
    ----------
    suspect
        What to repair.
    wasted
        Expected cost of repairing it in vain [min]: the chance it is not the cure, times its cost.
    check_minutes
        What the best further check would take [min].
    chance
        That it is the cure, whatever is wrong in the part: a new one cures all of that [1].
    may
        Whether a further check would pay, and the part is likely enough to be repaired all the same.
    """

    suspect: Suspect
    wasted: float
    check_minutes: float
    chance: float = 1.0
    may: bool = False

    @property
    def parts(self) -> tuple[str, ...]:
        """What is repaired."""
        return tuple(dict.fromkeys(name.partition(":")[0] for name in self.suspect.names))

    @property
    def in_vain(self) -> float:
        """Chance that something else is at fault [1]."""
        return 1 - self.chance


def stop_rule(answer: Answer, checks: Sequence[Check]) -> Stop | None:
    """Whether to repair the leading suspect now, rather than do the best further check.

    Never for electronics while a check is left: a controller is proven last.
    """
    if not answer.groups:
        return None
    suspect = answer.groups[0].suspects[0]
    modes = answer.engine.catalogue.modes
    if any(modes[m].family == "electronics" for m in suspect.modes) and checks:
        return None
    chance = max(suspect.probability, _of_part(answer, suspect))
    wasted = (1 - suspect.probability) * (suspect.minutes + MONEY_MINUTES * suspect.cost)
    best = checks[0].minutes if checks else float("inf")
    if wasted <= best or not checks:
        return Stop(suspect, wasted, best, chance)
    return Stop(suspect, wasted, best, chance, may=True) if chance >= SURE_ENOUGH else None


def one_part(answer: Answer) -> tuple[str, float] | None:
    """The one part in which nearly all belief lies, whatever is wrong in it, and its share [1].

    None where more than one part is left, or where it is inside a controller, which is proven last.
    """
    if not answer.groups:
        return None
    suspect = answer.groups[0].suspects[0]
    parts = {name.partition(":")[0] for name in suspect.names}
    modes = answer.engine.catalogue.modes
    if len(parts) > 1 or any(modes[m].family == "electronics" for m in suspect.modes):
        return None
    share = _of_part(answer, suspect)
    return (parts.pop(), share) if share >= NEARLY_ALL else None


def _of_part(answer: Answer, suspect: Suspect) -> float:
    """Chance that the part of a suspect is at fault, over all that can be wrong in it [1]."""
    parts = {name.partition(":")[0] for name in suspect.names}
    among = [s for s in answer.suspects if {n.partition(":")[0] for n in s.names} == parts]
    return min(1.0, sum(s.probability for s in among))

"""When to stop measuring: repair as soon as that is expected to cost less than another check."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from backprobe.diagnosis.answer import Answer, Suspect
from backprobe.diagnosis.check import Check

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
    """

    suspect: Suspect
    wasted: float
    check_minutes: float


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
    wasted = (1 - suspect.probability) * (suspect.minutes + MONEY_MINUTES * suspect.cost)
    minutes = min((c.minutes for c in checks), default=float("inf"))
    best = checks[0].minutes if checks else minutes
    return Stop(suspect, wasted, best) if wasted <= best or not checks else None

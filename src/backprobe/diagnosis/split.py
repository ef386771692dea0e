"""Which check tells apart the suspects that the readings so far cannot."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import combinations

from backprobe.diagnosis.answer import Answer, Group
from backprobe.diagnosis.at_switch import across_switches
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.next_check import next_checks

WORTH = 0.1
"""Share of a group that the first of the proposed checks has to separate to be the one [1]."""
WIDER = 40
"""Checks to look through when the ones at hand do not separate the group."""


@dataclass(frozen=True, slots=True)
class Split:
    """A check that separates members of a group.

    Parameters
    ----------
    check
        What to do.
    apart
        For each outcome that points to any member: the outcome's place in `check.outcomes`
        and the members it points to, most probable first.
    separated
        Share of the pairs of members that it tells apart, weighed by their probabilities [1].
    """

    check: Check
    apart: tuple[tuple[int, tuple[str, ...]], ...]
    separated: float


def splitting_check(
    answer: Answer, checks: Sequence[Check], group: Group, *, without: Collection[str] = ()
) -> Split | None:
    """The check that tells a group apart: the first proposed, else what separates most in each minute.

    Parameters
    ----------
    checks
        Checks at hand; when none of them separates the group, more are looked for.
    without
        Points, parts and plugs that cannot be reached.

    Returns
    -------
    Split or None
        None when the group has one member, or when no check tells its members apart.
    """
    if len(group.suspects) < 2:
        return None
    # One answer to what comes next: the check that is proposed first, where it tells them apart at all.
    first = _split(checks[0], group) if checks else None
    if first is not None and first.separated >= WORTH:
        return first
    at_hand = _best(checks, group)
    if at_hand is not None:
        return at_hand
    # What a switch does at rest, in each of its positions, often tells what no reading in its circuit does.
    return _best([*next_checks(answer, WIDER, without), *across_switches(answer, group, without)], group)


def _best(checks: Sequence[Check], group: Group) -> Split | None:
    splits = [s for s in (_split(c, group) for c in checks) if s is not None]
    return max(splits, key=lambda s: s.separated / s.check.minutes, default=None)


def _split(check: Check, group: Group) -> Split | None:
    where = {s.name: {i for i, o in enumerate(check.outcomes) if s.name in o.means} for s in group.suspects}
    total = told = 0.0
    for one, other in combinations(group.suspects, 2):
        weight = one.probability * other.probability
        total += weight
        first, second = where[one.name], where[other.name]
        if first and second and not first & second:
            told += weight
    if total <= 0 or told <= 0:
        return None
    apart = [
        (i, tuple(s.name for s in group.suspects if i in where[s.name])) for i in range(len(check.outcomes))
    ]
    return Split(check, tuple((i, names) for i, names in apart if names), told / total)

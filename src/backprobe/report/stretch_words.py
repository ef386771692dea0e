"""A group of look-alikes said as a stretch of wiring: somewhere from one point to another."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.diagnosis.answer import Answer, Group
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.stretch import Stretch, cuts, stretches

FOLDED = 3
"""Suspects of a stretch that are named at once: it is halved, not gone through one by one."""
ALIKE = "One of these, alike by these readings"


def group_words(answer: Answer, group: Group) -> str:
    """What heads a group: the stretch that it lies on, else that it is one of these."""
    found = stretches(answer, group)
    if not found:
        return ALIKE
    head = "Somewhere" if found[0].whole else "Most likely somewhere"
    return f"{head} {stretch_words(found)}"


def shown_first(answer: Answer, group: Group, most: int) -> int:
    """How many members of a group are named at once: a list is folded where a stretch says more."""
    return FOLDED if stretches(answer, group) else most


def possible_words(answer: Answer, group: Group) -> str:
    """How many possibilities are left, and on which stretch they lie."""
    found = stretches(answer, group)
    still = f"Still {len(group.suspects)} possibilities"
    if not found:
        return f"{still}."
    return f"{still}, {'in series' if found[0].whole else 'most of them in series'} {stretch_words(found)}."


def cut_words(answer: Answer, group: Group, check: Check) -> str:
    """That the check at hand cuts the stretch of a group down; empty where it does not, or there is none."""
    found = stretches(answer, group)
    if not found or not cuts(check, found):
        return ""
    return f"What lies {stretch_words(found)} looks alike. The next check cuts that down."


def stretch_words(found: Sequence[Stretch]) -> str:
    """``from C2-3 to C5-1``; of two between the same points what each goes through."""
    ends = {frozenset((s.start, s.end)) for s in found}
    alike = len(ends) < len(found)
    said = [
        f"from {s.start} to {s.end}" + (f" through {s.through}" if alike and s.through else "") for s in found
    ]
    return ", or ".join(said)

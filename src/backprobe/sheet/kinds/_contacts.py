"""What contacts moved by hand share: where they are closed, and where their opposite would be."""

from __future__ import annotations

from collections.abc import Mapping

from backprobe.sheet.anatomy import AtPosition, Gate

CONTACT_SHARE = "switch or key contact: 7 of 62 field accounts"
WRONG_SET = (
    "wires swapped, wrong part: 3 of 62 field accounts, a contact block turned or mixed up; rarer where "
    "nobody has worked, common practice, no source"
)


def closed_gates(closed: Mapping[str, frozenset[str]]) -> tuple[Gate, ...]:
    """Gates of a contact that is closed while every control stands in one of its positions."""
    return tuple(AtPosition(control, on) for control, on in closed.items())


def opposite_gates(closed: Mapping[str, frozenset[str]]) -> list[tuple[Gate, ...]]:
    """Gates of the branches that conduct exactly where `closed_gates` hold open.

    Not (A and B) is (not A) or (A and not B): one branch each, never two at a time, so that the
    opposite contact has one contact's resistance in every operator state.
    """
    branches: list[tuple[Gate, ...]] = []
    before: tuple[Gate, ...] = ()
    for control, on in closed.items():
        branches.append((*before, AtPosition(control, on, inverted=True)))
        before = (*before, AtPosition(control, on))
    return branches

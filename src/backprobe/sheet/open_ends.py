"""Runs that end in the air: a circuit without its way home, or without its source, works in no state."""

from __future__ import annotations

from collections.abc import Iterable

from backprobe.errors import Problem
from backprobe.sheet.bodies import FRAME
from backprobe.sheet.model import Item, Run, Sheet
from backprobe.sheet.posts import BATTERY

HOME = "Where does it go to ground? End it with frame, with battery-, or with what another run passes."
TYPED = "sketch"
"""What a sheet calls its file that was made of a typed circuit."""
SOURCE = "Where does its plus come from? Begin it with battery+, or with what another run passes."


def open_ends(sheet: Sheet) -> tuple[Problem, ...]:
    """Every run that ends or begins at a part with nothing beyond it, with the question that mends it."""
    found = (problem for run in sheet.runs.values() if run.items for problem in _of(run, sheet))
    return tuple(found)


def _of(run: Run, sheet: Sheet) -> Iterable[Problem]:
    others = {
        end
        for other in sheet.runs.values()
        if other.name != run.name
        for item in other.items
        for end in (item.enter, item.leave)
    }
    first, last = run.items[0], run.items[-1]
    field, line = f"runs.{run.name}", line_of(run, sheet)
    if _passes(first, sheet) and first.enter not in others:
        yield Problem(field, first.text, "begins the run, and nothing feeds it", SOURCE, sheet.file, line)
    if _passes(last, sheet) and last.leave not in others:
        yield Problem(field, last.text, "ends the run, and nothing comes behind it", HOME, sheet.file, line)


def line_of(run: Run, sheet: Sheet) -> int:
    """The line that a run stands on; 0 in a typed circuit, whose sheet nobody has seen."""
    return 0 if sheet.file == TYPED else run.line


def _passes(item: Item, sheet: Sheet) -> bool:
    """Whether the current would go on at the other side of an item: it is no post, body or terminal."""
    return item.role in {"part", "cavity"} and item.part not in {BATTERY, FRAME, *sheet.bodies}

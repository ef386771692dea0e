"""Whether a function has a guard, said plainly: a guard that was not found is never passed over."""

from __future__ import annotations

from backprobe.sheet.model import Function, Sheet

NO_GUARD = "no guard found: no switch of a seat, gate, door, bar or brake is named on its way"


def guard_words(function: Function) -> str:
    """``brake set, seat seated``; empty for a function without a guard."""
    if " or " in function.guard or "not " in function.guard:
        return function.guard
    return function.guard.replace(" is ", " ").replace(" and ", ", ")


def guard_lines(sheet: Sheet) -> list[str]:
    """One line for each function: its guards, or that none was found."""
    return [
        f"Guards of {f.name}: {guard_words(f)}" if f.guard else f"{f.name}: {NO_GUARD}"
        for f in sheet.functions.values()
    ]

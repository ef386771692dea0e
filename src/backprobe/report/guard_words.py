"""Guards said plainly: whether a function has one, and what it must do with its guard open or shut."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.circuit.setup import Setup
from backprobe.jobs.proving import cranks
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


def must_words(function: Function, sheet: Sheet, setup: Setup | None = None, *, works: bool) -> str:
    """What a function must or must NOT do when it is tried: ``relay K1 must NOT click``.

    Never *is held*: of a relay that means the opposite, that it is pulled in.

    Parameters
    ----------
    setup
        The operator state of the try; None where it is not known.
    works
        Whether its guard is shut, so that it must work.
    """
    return ", ".join(must_parts([function], sheet, setup, works=works))


def must_parts(
    functions: Sequence[Function], sheet: Sheet, setup: Setup | None = None, *, works: bool
) -> list[str]:
    """What several functions must do in one operator state, one thing each; the engine last."""
    must = "must" if works else "must NOT"
    parts = {f.name: sheet.parts.get(f.name) for f in functions}
    relays = {name for name, part in parts.items() if part is not None and part.kind == "relay"}
    said = [f"{name} {must} {'click' if name in relays else 'work'}" for name in parts]
    return [*said, f"the engine {must.lower()} crank"] if cranks(sheet, setup) else said

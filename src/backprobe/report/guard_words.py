"""Guards said plainly: whether a function has one, and what it must do with its guard open or shut."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.circuit.setup import Setup
from backprobe.jobs.kept_still import BLACK, Still, cranks
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


def still_point(still: Still) -> str:
    """Where volts mean that the engine would crank: ``at the loose end of the small wire``."""
    return f"from {still.point} to {BLACK}" if still.point else "at the loose end of the small wire"


def must_parts(
    functions: Sequence[Function],
    sheet: Sheet,
    setup: Setup | None = None,
    *,
    works: bool,
    still: Still | None = None,
) -> list[str]:
    """What several functions must do in one operator state, one thing each; the engine last.

    Parameters
    ----------
    still
        What keeps the engine from cranking while it must not: then it is said what a meter shows in its
        place, and nothing of what cannot run anyway.
    """
    must = "must" if works else "must NOT"
    left = [f for f in functions if still is None or f.name not in still.behind]
    said = _function_parts(left, sheet, must)
    if not cranks(sheet, setup):
        return said
    return [*said, f"the engine {must.lower()} crank" if still is None else f"no volts {still_point(still)}"]


def _function_parts(functions: Sequence[Function], sheet: Sheet, must: str) -> list[str]:
    parts = {f.name: sheet.parts.get(f.name) for f in functions}
    relays = {name for name, part in parts.items() if part is not None and part.kind == "relay"}
    return [f"{name} {must} {'click' if name in relays else 'work'}" for name in parts]

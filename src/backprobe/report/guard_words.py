"""Guards said plainly: whether a function has one, and what it must do with its guard open or shut."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.jobs.cranking import MAY, MUST, MUST_NOT, cranks
from backprobe.jobs.kept_still import BLACK, Still
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


def still_point(still: Still) -> str:
    """Where volts mean that the engine would crank: ``at the loose end of the small wire``."""
    return f"from {still.point} to {BLACK}" if still.point else "at the loose end of the small wire"


def must_parts(
    functions: Sequence[Function],
    sheet: Sheet,
    crank: str | None = None,
    *,
    works: bool,
    still: Still | None = None,
) -> list[str]:
    """What several functions must or must NOT do in one operator state, one thing each; the engine last.

    Never *is held*: of a relay that means the opposite, that it is pulled in.

    Parameters
    ----------
    crank
        What the engine must or may do in it (`cranking.MUST` and its like), empty for nothing; None where the
        state is not known: then it is held with all the rest, or not.
    works
        Whether the guards are shut, so that the functions must work.
    still
        What keeps the engine from cranking while it must not: then it is said what a meter shows in its
        place, and nothing of what cannot run anyway.
    """
    must = "must" if works else "must NOT"
    left = [f for f in functions if still is None or f.name not in still.behind]
    if crank is None:
        crank = (MUST if works else MUST_NOT) if cranks(sheet, None) else ""
    return [*_function_parts(left, sheet, must), *_engine_parts(crank, still)]


def _engine_parts(crank: str, still: Still | None) -> list[str]:
    if not crank:
        return []
    if still is None:
        return [f"the engine {crank} crank{' here' if crank == MAY else ''}"]
    where = still_point(still)
    return [f"no volts {where}" if crank == MUST_NOT else f"volts {where} are no fault here"]


def _function_parts(functions: Sequence[Function], sheet: Sheet, must: str) -> list[str]:
    parts = {f.name: sheet.parts.get(f.name) for f in functions}
    relays = {name for name, part in parts.items() if part is not None and part.kind == "relay"}
    return [f"{name} {must} {'click' if name in relays else 'work'}" for name in parts]

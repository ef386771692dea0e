"""Preferred values of resistors (IEC 60063): which ones can be bought, and what a divider of them does."""

from __future__ import annotations

from bisect import bisect_left
from functools import cache
from itertools import pairwise
from math import isfinite, log10

from backprobe.errors import Problem, UnitError

SERIES = (3, 6, 12, 24, 48, 96, 192)
"""The series: so many values in each decade."""

# Where the standard departs from the rounded rule 10^(i/n): history came before the rule.
_IRREGULAR = {24: {26: 27, 29: 30, 32: 33, 35: 36, 38: 39, 42: 43, 46: 47, 83: 82}, 192: {919: 920}}


@cache
def series(number: int) -> tuple[int, ...]:
    """The members of one decade of a series.

    Parameters
    ----------
    number
        3, 6, 12, 24, 48, 96 or 192.

    Returns
    -------
    tuple of int
        Two digits up to E24, three from E48 on: ``10^(i/n)`` rounded, with the irregular
        members of IEC 60063.

    Raises
    ------
    UnitError
        For any other number.
    """
    if number not in SERIES:
        shown = ", ".join(f"E{n}" for n in SERIES)
        raise UnitError(
            Problem("series", f"E{number}", "is not a series of preferred values", f"Use one of {shown}.")
        )
    if number < 24:
        return series(24)[:: 24 // number]
    scale = 10 if number == 24 else 100
    ruled = (round(scale * 10 ** (i / number)) for i in range(number))
    irregular = _IRREGULAR.get(number, {})
    return tuple(irregular.get(v, v) for v in ruled)


def nearest(ohms: float, number: int = 24) -> float:
    """The preferred value nearest to a resistance [ohm]."""
    return _around(ohms, number, 1)[0]


def nearest_few(ohms: float, number: int = 24, count: int = 3) -> tuple[float, ...]:
    """The `count` preferred values nearest to a resistance, ascending [ohm]."""
    return tuple(sorted(_around(ohms, number, count)))


def next_up(ohms: float, number: int = 24) -> float:
    """The least preferred value that is not below a resistance [ohm]."""
    table = _decades(ohms, number, 1)
    return table[bisect_left(table, ohms)]


def next_down(ohms: float, number: int = 24) -> float:
    """The greatest preferred value that is not above a resistance [ohm]."""
    table = _decades(ohms, number, 1)
    place = bisect_left(table, ohms)
    return table[place] if table[place] == ohms else table[place - 1]


def worst_error(number: int) -> tuple[float, float, float]:
    """How far the nearest value of a series can be off.

    Returns
    -------
    tuple of float
        The greatest error as a share of what is wanted [1], and the two neighbours between
        which it is met, half-way.
    """
    members = series(number)
    ends = (*members, 10 * members[0])
    return max(((b - a) / (a + b), float(a), float(b)) for a, b in pairwise(ends))


def divider_corners(upper: float, lower: float, tolerance: float) -> tuple[float, float, float]:
    """Least, nominal and greatest share of its supply that a divider gives.

    Parameters
    ----------
    upper, lower
        Resistances to the supply and to ground [ohm].
    tolerance
        Bound of each resistance, as a share of it [1]: 0.01 for 1 % parts.

    Returns
    -------
    tuple of float
        ``lower / (upper + lower)`` at the worst corner downwards, as marked, and upwards [1].
    """
    _must_be_positive(upper)
    _must_be_positive(lower)
    if not 0 <= tolerance < 1:
        raise UnitError(
            Problem("tolerance", f"{tolerance:g}", "is no share from 0 to 1", "Write 0.01 for 1 % parts.")
        )
    down, up = 1 - tolerance, 1 + tolerance
    return (
        lower * down / (lower * down + upper * up),
        lower / (lower + upper),
        lower * up / (lower * up + upper * down),
    )


def _around(ohms: float, number: int, count: int) -> list[float]:
    """The nearest values, nearest first; of two as near the smaller one."""
    table = _decades(ohms, number, 1 + count // number)
    return sorted(table, key=lambda v: (abs(v - ohms), v))[:count]


def _decades(ohms: float, number: int, more: int) -> list[float]:
    """Ascending members of the decade that holds a resistance and of `more` decades on either side."""
    _must_be_positive(ohms)
    members = series(number)
    digits = len(str(members[0])) - 1
    middle = int(log10(ohms) // 1) - digits
    # From text, so that 4.7k is 4700 exactly.
    return [float(f"{m}e{d}") for d in range(middle - more, middle + more + 1) for m in members]


def _must_be_positive(ohms: float) -> None:
    if not (isfinite(ohms) and ohms > 0):
        raise UnitError(
            Problem("ohms", f"{ohms:g}", "is not a resistance above zero", "Write such as 4700 for 4.7 kohm.")
        )

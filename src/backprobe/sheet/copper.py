"""Copper and temperature: by how much its resistance changes, under a convention that is named.

Every convention is a straight line, so each is told by the temperature at which it would reach zero:
``R(T) / R(T0) = (zero + T) / (zero + T0)``. They differ by a little, so a result says which one it used.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from backprobe.errors import Problem, UnitError

REFERENCE = 20.0
"""Temperature that tables of copper refer to [degC] (IEC 60228)."""
COLDEST, HOTTEST = -60.0, 200.0
"""Between these a machine's copper can stand [degC]; insulation ends before either."""


@dataclass(frozen=True, slots=True)
class Convention:
    """One way to reckon copper's resistance at a temperature.

    Parameters
    ----------
    word
        How it is asked for.
    name
        What it is, in full: printed beside every result.
    zero
        The line crosses zero resistance at minus this temperature [K].
    """

    word: str
    name: str
    zero: float


CONVENTIONS = {
    c.word: c
    for c in (
        Convention("alpha", "alpha 0.00393 at 20 C, (234.5+T)/254.5", 234.5),
        Convention("table", "IEC 60228 trade table, (230+T)/250", 230.0),
        Convention("textbook", "alpha 0.004041 at 20 C", 1 / 0.004041 - REFERENCE),
    )
}
"""The conventions by their words; ``alpha`` is the usual one [mem]."""


def find_convention(word: str) -> Convention:
    """The convention of that word.

    Raises
    ------
    UnitError
        When there is none.
    """
    found = CONVENTIONS.get(word.strip().lower())
    if found is None:
        raise UnitError(
            Problem("convention", word, "is not a convention for copper", f"Use {', '.join(CONVENTIONS)}.")
        )
    return found


def copper_ratio(celsius_from: float, celsius_to: float, convention: str = "alpha") -> float:
    """Resistance at one temperature over that at another.

    Parameters
    ----------
    celsius_from, celsius_to
        Temperatures [degC], each from -60 to 200.
    convention
        ``alpha``, ``table`` or ``textbook``; see `CONVENTIONS`.

    Returns
    -------
    float
        Factor on the resistance [1].

    Raises
    ------
    UnitError
        For an unknown convention or a temperature out of range.
    """
    zero = find_convention(convention).zero
    for celsius in (celsius_from, celsius_to):
        if not isfinite(celsius) or not COLDEST <= celsius <= HOTTEST:
            raise UnitError(
                Problem(
                    "temperature",
                    f"{celsius:g} C",
                    "is outside what copper on a machine meets",
                    f"Give {COLDEST:g} C to {HOTTEST:g} C; from Fahrenheit take 32 off, then times 5/9.",
                )
            )
    return (zero + celsius_to) / (zero + celsius_from)

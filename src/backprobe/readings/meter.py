"""What a meter's own statement of accuracy makes of a number: a bound, a spread, an interval.

A meter states a share of the reading and a number of counts, ``0.5 % + 2``: counts of the last
digit that it shows. That is a bound without a distribution, hence rectangular with a standard
uncertainty of the bound over the square root of three (JCGM 100:2008, 4.3.7).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import sqrt
from typing import NoReturn

from backprobe.errors import Problem, UnitError
from backprobe.units import Quantity

_FORM = re.compile(
    r"(?:\+/?-|±)?\s*\(?\s*(?P<percent>\d+(?:\.\d+)?)\s*%"
    r"(?:\s*\+\s*(?P<counts>\d+(?:\.\d+)?)\s*(?:counts?|digits?|dgts?|d)?)?\s*\)?",
    re.IGNORECASE,
)
NORMAL_99 = 2.58
"""Two-sided 99 % quantile of the normal distribution, as meter makers round it [1]."""


@dataclass(frozen=True, slots=True)
class Accuracy:
    """A meter's accuracy in one range: so much of the reading, and so many counts.

    Parameters
    ----------
    percent
        Share of the reading, as a bound [%].
    counts
        Units of the last digit shown, as a bound [1].
    """

    percent: float
    counts: float = 0.0

    def bound(self, value: float, digit: float) -> float:
        """How far a reading may be off.

        Parameters
        ----------
        value
            What the meter shows [any unit].
        digit
            One unit of its last digit [same unit].
        """
        return abs(value) * self.percent / 100 + self.counts * digit

    def limits(self, value: float, digit: float) -> tuple[float, float]:
        """Least and greatest value that a reading may stand for [unit of the reading]."""
        width = self.bound(value, digit)
        return value - width, value + width

    def spread(self, value: float, digit: float) -> float:
        """Standard uncertainty of a reading, its bound taken as rectangular [unit of the reading]."""
        return rectangular(self.bound(value, digit))

    def of(self, quantity: Quantity) -> tuple[float, float]:
        """`limits` of a value as somebody wrote it: its written digits are the meter's."""
        return self.limits(quantity.value, quantity.digit)


def parse_accuracy(text: str) -> Accuracy:
    """Read what stands in a meter's leaflet.

    Parameters
    ----------
    text
        Such as ``1 % + 2``, ``+-(0.5 % + 3 digits)`` or ``0.7 %``.

    Raises
    ------
    UnitError
        For anything else.
    """
    found = _FORM.fullmatch(text.strip())
    if found is None or ("(" in text) != (")" in text):
        _refuse(text)
    percent = float(found["percent"])
    if percent > 100:
        _refuse(text)
    return Accuracy(percent, float(found["counts"] or 0))


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a bound of which nothing else is stated (JCGM 100:2008, 4.3.7) [same unit]."""
    return half_width / sqrt(3)


def normal_99(half_width: float) -> float:
    """Standard uncertainty of a bound that is stated to hold 99 % of a normal distribution [same unit]."""
    return half_width / NORMAL_99


def combined(*uncertainties: float) -> float:
    """Standard uncertainty of a sum of independent ones: root of the sum of squares (5.1.2) [same unit]."""
    return sqrt(sum(u * u for u in uncertainties))


def _refuse(text: str) -> NoReturn:
    shown = text if len(text) <= 40 else text[:37] + "..."
    raise UnitError(
        Problem(
            "accuracy",
            shown,
            "is not a meter's accuracy",
            "Write the share of the reading and the counts, such as 0.5 % + 2.",
        )
    )

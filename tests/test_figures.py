"""Plain numbers as a mechanic writes them: no exponent, no digits that nobody measured."""

from __future__ import annotations

import math

import pytest

from backprobe.units import figures


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (7200.0, 3, "7200"),
        (40_120.0, 3, "40100"),
        (3000.0, 3, "3000"),
        (0.8231, 3, "0.823"),
        (125.0, 2, "120"),
        (1234.0, 4, "1234"),
        (0.00012345, 3, "0.000123"),
        (9.996, 3, "10"),
        (-0.05, 3, "-0.05"),
        (0.0, 3, "0"),
        (math.inf, 3, "inf"),
    ],
)
def test_plain_numbers_have_no_exponent(value: float, digits: int, text: str) -> None:
    assert figures(value, digits) == text

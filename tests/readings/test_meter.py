"""A meter's accuracy as it is typed; figures from outside stand in `tests/reference`."""

from __future__ import annotations

import pytest

from backprobe.errors import UnitError
from backprobe.readings.meter import Accuracy, parse_accuracy


@pytest.mark.parametrize("text", ["", "1", "2 counts", "1 % - 2", "101 %", "(1 % + 2", "1 % + 2)", "x" * 500])
def test_what_is_no_accuracy_is_refused_in_words(text: str) -> None:
    with pytest.raises(UnitError, match=r"is not a meter's accuracy.*0\.5 % \+ 2"):
        parse_accuracy(text)


def test_counts_may_be_left_out() -> None:
    assert parse_accuracy("0.8 %") == Accuracy(0.8, 0.0)


def test_a_negative_reading_is_as_wide_as_a_positive_one() -> None:
    accuracy = Accuracy(2.0, 3)
    assert accuracy.bound(-5.0, 0.1) == accuracy.bound(5.0, 0.1) == pytest.approx(0.4)
    assert accuracy.limits(-5.0, 0.1) == pytest.approx((-5.4, -4.6))

"""Run lengths of the cumulative-sum chart and exact intervals of counts, as textbooks print them."""

from __future__ import annotations

import pytest

from backprobe.workbench.change_points import cusum_arl
from backprobe.workbench.dropouts import poisson_rate
from tests.reference.books import outside

MONTGOMERY = "Montgomery, Introduction to Statistical Quality Control, table of CUSUM run lengths, k = 1/2"


@outside("recordings, false alarms and delay", MONTGOMERY, "mem", figures=2)
@pytest.mark.parametrize(
    ("shift", "with_4", "with_5"),
    [
        (0.0, "168", "465"),
        (0.25, "74.2", "139"),
        (0.5, "26.6", "38.0"),
        (0.75, "13.3", "17.0"),
        (1.0, "8.38", "10.4"),
        (1.5, "4.75", "5.75"),
        (2.0, "3.34", "4.01"),
        (3.0, "2.19", "2.57"),
    ],
)
def test_run_lengths_of_the_chart(shift: float, with_4: str, with_5: str) -> None:
    for h, text in ((4.0, with_4), (5.0, with_5)):
        # A chain of 80 states against the continuous sum, and three printed figures: 0.4 %.
        assert cusum_arl(h, shift=shift) == pytest.approx(float(text), rel=4e-3)


@outside("recordings, false alarms and delay", "Siegmund 1985, b = h + 1.166, by hand", "mem + calc")
def test_the_run_length_without_a_change_is_near_siegmunds() -> None:
    # One side (e^6.166 - 6.166 - 1) / (2 x 0.5^2) = 938.2, hence 469.1 for two; good to a few percent.
    assert cusum_arl(5.0) == pytest.approx(469.1, rel=0.02)


@outside("recordings, rates", "Garwood 1936, limits of a Poisson count, 95 %", "mem", figures=6)
@pytest.mark.parametrize(("count", "low", "high"), [(0, 0.0, 3.689), (1, 0.0253, 5.572), (10, 4.795, 18.390)])
def test_limits_of_a_count(count: int, low: float, high: float) -> None:
    rate = poisson_rate(count, 1.0)
    assert (rate.low, rate.high) == pytest.approx((low, high), abs=6e-4)

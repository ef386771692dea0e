"""Fuse times and drains. The operating-time gates follow ISO 8820-3 from memory [mem]."""

from __future__ import annotations

from itertools import pairwise
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from backprobe.errors import UnitError
from backprobe.workbench.drain import amp_hours, days_to_flat, drain_of
from backprobe.workbench.fuse_time import GATES, fuse_time, load_for_time


@pytest.mark.parametrize(
    ("share", "least", "most"),
    [
        (1.10, 360_000, inf),
        (1.35, 0.75, 600),
        (1.60, 0.25, 50),
        (2.00, 0.15, 5),
        (3.50, 0.08, 0.5),
        (6.00, 0.03, 0.1),
    ],
)
def test_gates(share: float, least: float, most: float) -> None:
    # ISO 8820-3 [mem]: 110 % at least 100 h, 135 % 0.75..600 s, and so on to 600 %.
    found = fuse_time(share)
    assert (found.least, found.most) == (least, most)


def test_a_fuse_below_its_rating_never_opens_in_seconds() -> None:
    # 9.8 A of 10 A is 98 %: [calc] whatever opened it in 3 s was more.
    assert fuse_time(9.8 / 10).least >= 100 * 3600
    least, most = load_for_time(3)
    assert least >= 1.10
    assert most == 3.5


@given(st.floats(0.01, 20), st.floats(0.01, 20))
def test_more_current_never_takes_longer(one: float, other: float) -> None:
    light, heavy = fuse_time(min(one, other)), fuse_time(max(one, other))
    assert heavy.least <= light.least
    assert heavy.most <= light.most


@given(st.floats(0.01, 1000))
def test_a_time_and_its_loads_agree(seconds: float) -> None:
    least, most = load_for_time(seconds)
    assert least < most
    for gate, low, high in GATES:
        if low <= seconds <= high:
            assert least <= gate <= most


def test_gates_run_one_way() -> None:
    for (share, low, high), (more, sooner, latest) in pairwise(GATES):
        assert share < more
        assert low > sooner
        assert high > latest


def test_a_drain_by_hand() -> None:
    # 60 Ah / 0.3 A = 200 h = 8.33 days; two months of 30.4 days are 1459.2 h: 41.1 mA.
    assert days_to_flat(60, 0.3) == pytest.approx(200 / 24)
    assert drain_of(60, 2 * 30.4) == pytest.approx(60 / 1459.2)
    assert days_to_flat(60, 0.3, usable=0.5) == pytest.approx(100 / 24)
    assert amp_hours(0.3, 200 / 24) == pytest.approx(60)


@given(st.floats(1, 500), st.floats(0.001, 20), st.floats(0.1, 1))
def test_days_and_amperes_are_each_others_inverse(capacity: float, amps: float, usable: float) -> None:
    assert drain_of(capacity, days_to_flat(capacity, amps, usable), usable) == pytest.approx(amps)


def test_nothing_drains_nothing() -> None:
    with pytest.raises(UnitError, match="not above zero"):
        days_to_flat(80, 0)

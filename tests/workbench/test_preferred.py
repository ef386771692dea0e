"""Look-ups of preferred values; figures from outside stand in `tests/reference`."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from backprobe.errors import UnitError
from backprobe.workbench.preferred import (
    SERIES,
    divider_corners,
    nearest,
    nearest_few,
    next_down,
    next_up,
    series,
)


@pytest.mark.parametrize(
    "call",
    [
        lambda: series(13),
        lambda: nearest(0),
        lambda: nearest(-4.7),
        lambda: next_up(float("inf")),
        lambda: divider_corners(1, 1, 1),
        lambda: divider_corners(0, 1, 0.01),
    ],
)
def test_what_is_no_value_is_refused_in_words(call: Callable[[], object]) -> None:
    with pytest.raises(UnitError, match=r"is (no|not) "):
        call()


@given(st.floats(1e-3, 1e8), st.sampled_from(SERIES))
def test_a_value_lies_between_its_neighbours_and_nearest_to_the_nearer(ohms: float, number: int) -> None:
    below, above = next_down(ohms, number), next_up(ohms, number)
    assert below <= ohms <= above
    near = nearest(ohms, number)
    assert near in {below, above}
    assert abs(near - ohms) == min(ohms - below, above - ohms)
    few = nearest_few(ohms, number, 7)
    assert len(set(few)) == 7
    assert list(few) == sorted(few)
    assert {near} <= set(few)

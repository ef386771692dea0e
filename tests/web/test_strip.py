"""The strip along the value axis: where zones and readings stand."""

from __future__ import annotations

import re
from math import inf

import pytest

from backprobe.diagnosis.check import Outcome
from backprobe.web.strip import LEFT, NARROW, RIGHT, WIDTH, Axis, axis_for, draw_strip, fell_into


def zone(low: float, high: float, chance: float = 0.5) -> Outcome:
    return Outcome(low, high, "", ("x",), chance)


def drawn(outcomes: list[Outcome], kind: str, value: float | None = None) -> str:
    return str(draw_strip(outcomes, kind, value, label="a < b", local=lambda text: text))


def test_volts_stand_in_proportion() -> None:
    axis = Axis("volts", 0.0, 10.0)
    assert axis.at(0) == LEFT
    assert axis.at(10) == WIDTH - RIGHT
    # A quarter of the way from 30 to 326: 30 + 0.25 * 296 = 104.
    assert axis.at(2.5) == pytest.approx(104)


def test_ohms_stand_by_their_logarithm() -> None:
    # From 1 ohm to 10 kohm there are four decades: 100 ohm stands in the middle, 30 + 148 = 178.
    assert Axis("ohms", 0.0, 4.0).at(100) == pytest.approx(178)


def test_nothing_stands_outside_the_drawing() -> None:
    axis = Axis("volts", 0.0, 10.0)
    assert axis.at(-5) == LEFT
    assert axis.at(99) == WIDTH - RIGHT


@pytest.mark.parametrize(
    ("value", "place"), [(0.0, 0), (0.5, 0), (11.9, None), (12.2, 1), (12.6, 1), (-3.0, None), (inf, None)]
)
def test_a_reading_falls_into_its_zone_or_between(value: float, place: int | None) -> None:
    assert fell_into([zone(-0.1, 0.6), zone(12.0, 12.6)], "volts", value) == place


def test_where_zones_overlap_the_likelier_one_is_marked() -> None:
    assert fell_into([zone(0, 5, 0.2), zone(4, 9, 0.7)], "volts", 4.5) == 1


def test_over_range_falls_into_the_zone_of_open_circuits() -> None:
    assert fell_into([zone(0.4, 3), zone(2.1e7, 3e7)], "ohms", inf) == 1


def test_a_narrow_zone_can_still_be_seen() -> None:
    picture = drawn([zone(4.999, 5.0), zone(0, 12)], "volts")
    widths = [float(w) for w in re.findall(r'<rect[^>]*width="([\d.]+)"', picture)]
    assert widths[0] == NARROW
    assert widths[1] > 200


def test_zones_are_told_apart_by_number_not_by_colour_alone() -> None:
    picture = drawn([zone(0, 1), zone(2, 3), zone(4, 5)], "volts")
    assert re.findall(r'font-size="15">(\d)</text>', picture) == ["1", "2", "3"]


def test_the_reading_is_written_and_its_text_is_escaped() -> None:
    picture = drawn([zone(0, 1), zone(11, 13)], "volts", 12.4)
    assert "12.4 V" in picture
    assert 'aria-label="a &lt; b"' in picture
    assert "style" not in picture


@pytest.mark.parametrize("kind", ["volts", "ohms"])
@pytest.mark.parametrize("ends", [(0.0, 0.0), (-0.02, 0.02), (5.0, 5.0), (1e-9, 3e7), (-14.0, 14.0)])
def test_any_zone_can_be_drawn(kind: str, ends: tuple[float, float]) -> None:
    low, high = (max(e, 0.0) for e in ends) if kind == "ohms" else ends
    for value in (None, 0.0, 4.0, inf):
        picture = drawn([zone(low, high)], kind, value)
        assert "nan" not in picture
        assert picture.startswith("<svg")


@pytest.mark.parametrize(("low", "high"), [(0, 0.04), (0, 5), (-2, 14.7), (0, 28)])
def test_the_axis_is_written_in_round_numbers(low: float, high: float) -> None:
    axis = axis_for([zone(low, high)], "volts", None)
    ticks = axis.ticks()
    assert 2 <= len(ticks) <= 7
    step = ticks[1] - ticks[0]
    assert f"{step:.0e}"[0] in "125"
    assert all(axis.low <= t <= axis.high for t in ticks)

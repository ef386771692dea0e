"""Supervised contacts and sources from loads; figures from outside stand in `tests/reference`."""

from __future__ import annotations

import pytest

from backprobe.errors import ReadingError, UnitError
from backprobe.readings.meter import Accuracy
from backprobe.workbench.supervision import MARGINAL, Loop, supervise, supervising_pairs
from backprobe.workbench.thevenin import LoadedReading, source_from_loads


def test_every_proposed_pair_keeps_its_states_apart_at_all_corners() -> None:
    pairs = supervising_pairs(number=12, tolerance=0.05, line_ohms=20.0)
    assert pairs
    loop = Loop()
    for pair in pairs:
        assert pair.least_room >= MARGINAL
        for one in (0.95, 1.05):
            for other in (0.95, 1.05):
                closed = loop.amps(pair.series_ohms * one + 20)
                opened = loop.amps(pair.series_ohms * one + pair.parallel_ohms * other + 20)
                assert (loop.region(opened), loop.region(closed)) == ("off", "on")
    assert [p.least_room for p in pairs] == sorted((p.least_room for p in pairs), reverse=True)


def test_a_pair_on_the_wrong_side_of_a_limit_fails() -> None:
    # 100 ohm behind 1 kohm draws 7.5 mA: a short to the input, not a closed contact.
    found = supervise(100.0, 10e3)
    assert found.verdict == "fails"
    assert (found.margins[0].state, found.margins[0].what) == ("contact closed", "short")


@pytest.mark.parametrize(("series", "parallel"), [(0.0, 1e4), (1e3, float("inf")), (-1.0, 1e4)])
def test_what_is_no_resistor_is_refused(series: float, parallel: float) -> None:
    with pytest.raises(UnitError, match="is not a resistance above zero"):
        supervise(series, parallel)


def test_three_loads_of_one_source_are_fitted_together() -> None:
    # 9 V behind 30 ohm, a 10 Mohm meter: 8.99997 V open, 7.2 V on 120 ohm, 4.5 V on 30 ohm.
    found = source_from_loads(["open: 9.000 V", "120 ohm: 7.200 V", "30 ohm: 4.500 V"])
    assert found.volts == pytest.approx(9.0, abs=1e-3)
    assert found.ohms == pytest.approx(30.0, abs=0.02)
    assert found.ohms_low < 30.0 < found.ohms_high
    assert found.worst < 2
    assert found.shows(60.0) == pytest.approx(6.0, abs=1e-3)


def test_a_source_that_folds_is_told_from_a_plain_one() -> None:
    # A limited feed holds 5 V down to 100 ohm and then gives 50 mA, no more.
    found = source_from_loads(["1 kohm: 5.00 V", "100 ohm: 4.99 V", "40 ohm: 2.00 V", "20 ohm: 1.00 V"])
    assert found.worst > 2


def test_the_meters_share_of_the_reading_leaves_the_resistance_alone() -> None:
    readings = [LoadedReading(100.0, 8.0, 0.01), LoadedReading(10.0, 4.0, 0.01)]
    exact, rough = (source_from_loads(readings, accuracy=Accuracy(p, 1)) for p in (0.0, 5.0))
    assert rough.ohms_high - rough.ohms_low == pytest.approx(exact.ohms_high - exact.ohms_low, rel=1e-6)
    assert rough.volts_high - rough.volts_low > 3 * (exact.volts_high - exact.volts_low)


def test_interval_covers_what_a_last_digit_can_do() -> None:
    found = source_from_loads(["10 ohm: 8.00 V", "5 ohm: 6.50 V"], accuracy="0 % + 1")
    one, other = (source_from_loads([(10.0, 8.0 + d), (5.0, 6.5 - d)]) for d in (-0.005, 0.005))
    assert found.ohms_low < one.ohms < found.ohms < other.ohms < found.ohms_high


@pytest.mark.parametrize(
    "readings",
    [
        ["10 ohm: 8.0 V"],
        ["10 ohm: 8.0 V", "10 ohm: 7.9 V"],
        ["10 ohm: 4.0 V", "5 ohm: 6.0 V"],
        ["10 ohm 8.0 V", "5 ohm: 6.0 V"],
        [(0.0, 1.0), (5.0, 0.5)],
    ],
)
def test_loads_that_give_no_source_are_refused_in_words(readings: list[str]) -> None:
    with pytest.raises(ReadingError, match=r"loads: .*\. (Take|Read|Write) "):
        source_from_loads(readings)

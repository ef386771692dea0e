"""Copper wire against published tables and a textbook: gauges, ohms, temperature under a named convention.

Marks: [seen] read in the source named, [mem] from memory, [calc] computed from seen or remembered inputs.
"""

from __future__ import annotations

import math

import pytest

from backprobe.errors import UnitError
from backprobe.sheet.copper import CONVENTIONS, copper_ratio
from backprobe.workbench.temperature import copper_reading, move_window
from backprobe.workbench.wire import WireSpec, wire_drop, wire_ohms
from backprobe.workbench.wire_tables import (
    TABLES,
    circular_mils,
    conductor_ohms,
    gauge_area,
    gauge_diameter,
    gauge_of,
)

FOOT = 0.3048
IEC_RESISTIVITY = 1.7241e-8
"""Annealed copper at 20 C [ohm m], IEC 60028 as in a public IEC 60228 page [seen]."""
BOOK_RESISTIVITY = 1.678e-8
"""Lessons in Electric Circuits, volume I, chapter 12 [seen]."""

# --- gauges: ASTM B258 [seen] -----------------------------------------------------------------


def test_one_step_of_gauge_and_the_ends_of_the_scale() -> None:
    # 0.005 in x 92^((36-n)/39): No. 36 is 0.0050 in and No. 0000 (n = -3) 0.4600 in.
    assert gauge_diameter(36) / 25.4 == pytest.approx(0.005, rel=1e-12)
    assert gauge_diameter(-3) / 25.4 == pytest.approx(0.46, rel=1e-12)
    assert gauge_diameter(17) / gauge_diameter(18) == pytest.approx(1.12293220, rel=1e-8)


def test_three_and_ten_gauges_on() -> None:
    # [calc] Three gauges are nearly, not exactly, twice the resistance.
    assert gauge_area(14) / gauge_area(17) == pytest.approx(2.005, abs=5e-4)
    assert gauge_area(10) / gauge_area(20) == pytest.approx(10.16, abs=5e-3)


AWG = [
    (22, 0.3255, 52.96),
    (20, 0.5176, 33.31),
    (18, 0.8230, 20.95),
    (16, 1.3087, 13.17),
    (14, 2.0809, 8.285),
    (12, 3.3088, 5.211),
    (10, 5.2612, 3.277),
]
"""Gauge, mm2, ohm/km of solid copper at 20 C: [calc] with 1.7241e-8, agrees with two public tables [seen]."""


@pytest.mark.parametrize(("gauge", "area", "per_km"), AWG)
def test_gauge_areas_and_solid_ohms(gauge: int, area: float, per_km: float) -> None:
    assert gauge_area(gauge) == pytest.approx(area, abs=1e-4)
    assert gauge_of(gauge_area(gauge)) == pytest.approx(gauge, abs=1e-9)
    assert wire_ohms(1000, gauge_area(gauge), WireSpec("solid")) == pytest.approx(per_km, rel=5e-4)
    assert conductor_ohms(IEC_RESISTIVITY, 1000, gauge_area(gauge)) == pytest.approx(per_km, rel=5e-4)


# --- most ohms of a size at 20 C ----------------------------------------------------------------

SIZES = (0.5, 0.75, 1.0, 1.5, 2.5)
LIMITS = {
    "class 2": (36.0, 24.5, 18.1, 12.1, 7.41),  # IEC 60228 class 1 and 2, plain [seen]
    "class 5": (39.0, 26.0, 19.5, 13.3, 7.98),  # IEC 60228 class 5 and 6, plain [seen]
    "class 5 tinned": (40.1, 26.7, 20.0, 13.7, 8.21),  # the same, tinned [seen]
    "vehicle": (37.1, 24.7, 18.5, 12.7, 7.60),  # ISO 6722: 0.5 mm2 [seen], the others [mem]
}


@pytest.mark.parametrize("table", LIMITS)
def test_most_ohms_of_each_size(table: str) -> None:
    assert set(LIMITS) == set(TABLES)
    for size, per_km in zip(SIZES, LIMITS[table], strict=True):
        assert wire_ohms(1000, size, WireSpec(table)) == pytest.approx(per_km, rel=1e-9)


@pytest.mark.parametrize("table", TABLES)
def test_every_row_lies_above_solid_copper_of_its_size_and_not_far(table: str) -> None:
    # No standard allows a conductor less than its metal, nor a fifth more than it.
    for size, per_km in TABLES[table][1].items():
        assert 1.0 < per_km / (17.241 / size) < 1.25


def test_expected_drop_of_a_harness_wire() -> None:
    # [calc] 10 m x 19.5 ohm/km x 5 A = 0.975 V; the 10 m are all the copper, counted once.
    drop = wire_drop(10, 1.0, 5)
    assert drop.drop == pytest.approx(0.975, rel=1e-9)
    assert "all the copper" in drop.rule
    assert wire_drop(10, 1.0, 5, spec=WireSpec(out_and_back=True)).drop == pytest.approx(1.95, rel=1e-9)


# --- temperature --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("convention", "factor"), [("alpha", 1.2554), ("table", 1.2600), ("textbook", 1.2627)]
)
def test_three_conventions_give_three_answers_at_85(convention: str, factor: float) -> None:
    # 0.00393 [mem], 250/(230+T) [seen], 0.004041 [seen].
    assert copper_ratio(20, 85, convention) == pytest.approx(factor, abs=5e-5)


@pytest.mark.parametrize(
    ("celsius", "factor"), [(40, 0.926), (50, 0.893), (70, 0.833), (85, 0.794), (100, 0.758)]
)
def test_trade_table_to_20(celsius: float, factor: float) -> None:
    # Temperature factors of IEC 60228 as a cable maker prints them [seen]: 250/(230+T).
    assert copper_ratio(celsius, 20, "table") == pytest.approx(factor, abs=5e-4)
    assert copper_ratio(celsius, 20, "table") == pytest.approx(250 / (230 + celsius), rel=1e-12)


@pytest.mark.parametrize("celsius", [-40.0, -12.5, 0.0, 20.0, 61.0, 120.0])
def test_alpha_is_the_line_through_minus_234_5(celsius: float) -> None:
    # [mem] 1 + 0.00393 (T - 20) = (234.5 + T)/254.5 within the digits of 0.00393.
    assert copper_ratio(20, celsius, "alpha") == pytest.approx((234.5 + celsius) / 254.5, rel=1e-12)
    assert copper_ratio(20, celsius, "alpha") == pytest.approx(1 + 0.00393 * (celsius - 20), abs=1e-4)
    assert copper_ratio(20, celsius, "textbook") == pytest.approx(1 + 0.004041 * (celsius - 20), rel=1e-12)


def test_an_unknown_convention_is_refused_by_name() -> None:
    with pytest.raises(UnitError, match="alpha, table, textbook"):
        copper_ratio(20, 85, "0.4 percent")
    assert all(c.name for c in CONVENTIONS.values())


# --- Lessons in Electric Circuits, volume I, chapter 12 [seen] ------------------------------------


def test_book_long_line() -> None:
    # 14 AWG is 4107 cmil; 10.09 ohm cmil/ft x 2300 ft / 4107 cmil = 5.651 ohm; two runs: 230 V / 11.301 ohm.
    assert circular_mils(gauge_area(14)) == pytest.approx(4107, abs=0.5)
    ohms = conductor_ohms(BOOK_RESISTIVITY, 2300 * FOOT, gauge_area(14))
    assert ohms == pytest.approx(5.651, rel=1e-3)
    assert 230 / (2 * ohms) == pytest.approx(20.352, rel=1e-3)
    # Under 0.2 ohm: 10.09 x 2300 / 0.2 = 116 035 cmil.
    area = BOOK_RESISTIVITY * 2300 * FOOT / 0.2 * 1e6
    assert circular_mils(area) == pytest.approx(116035, rel=1e-3)


def test_book_aluminium_bar() -> None:
    # 4 cm x 3 cm x 125 cm, 2.650e-8 ohm m: 27.6 uohm.
    assert conductor_ohms(2.650e-8, 1.25, 1200) == pytest.approx(27.6e-6, rel=1e-3)


def test_book_warm_wires() -> None:
    # 14 V, two wires of 15 ohm, load 250 ohm: 50 mA, 12.5 V.
    # At 35 C by 0.004041: 15.909 ohm, 49.68 mA, 12.42 V.
    def loop(celsius: float) -> tuple[float, float, float]:
        wire = 15 * copper_ratio(20, celsius, "textbook")
        amps = 14 / (2 * wire + 250)
        return wire, amps, amps * 250

    assert loop(20) == pytest.approx((15, 0.050, 12.5), rel=1e-12)
    wire, amps, volts = loop(35)
    assert wire == pytest.approx(15.909, abs=5e-4)
    assert amps == pytest.approx(49.68e-3, abs=5e-6)
    assert volts == pytest.approx(12.42, abs=5e-3)
    assert amps * wire == pytest.approx(0.79, abs=5e-3)


# --- a coil in the frost --------------------------------------------------------------------------


def test_a_good_coil_in_the_frost_and_the_misprinted_rule() -> None:
    # Window 22.1..27.0 ohm at 24 C [seen in a public report]; 18.6 ohm at -30 C with 0.4 ohm of leads.
    # [calc] alpha: 18.2 x 258.5/204.5 = 23.0 ohm; window there 17.5..21.4 ohm.
    reading = copper_reading(18.6, -30, 24, leads=0.4, window=(22.1, 27.0))
    assert reading.own == pytest.approx(18.2, rel=1e-12)
    assert reading.ohms == pytest.approx(23.0, abs=0.05)
    assert reading.window_here == pytest.approx((17.5, 21.4), abs=0.05)
    assert reading.good is True
    # 4 % per 10 C is near enough; read as 4 % per 20 C it would condemn this coil.
    assert reading.own * (1 + 0.04 * 54 / 10) == pytest.approx(reading.ohms, rel=0.05)
    assert reading.own * (1 + 0.04 * 54 / 20) < 22.1


def test_moving_there_and_back_changes_nothing() -> None:
    for word in CONVENTIONS:
        low, high = move_window(*move_window(3.1, 4.2, 20, -25, word), -25, 20, word)
        assert math.isclose(low, 3.1, rel_tol=1e-12)
        assert math.isclose(high, 4.2, rel_tol=1e-12)

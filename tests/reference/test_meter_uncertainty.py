"""What a meter's statement of accuracy means, and what its input resistance does to a reading.

Percent of reading and counts: worked examples of meter makers' pages [seen]. A bound without a
distribution is rectangular (JCGM 100:2008, 4.3.7). Input resistance of 10 Mohm: OpenStax,
University Physics 2, m58456 [seen]. [calc] marks what follows by arithmetic.
"""

from __future__ import annotations

import math

import pytest

import backprobe as bp
from backprobe.circuit.setup import VOLTMETER_OHMS
from backprobe.diagnosis.predict import noise_of
from backprobe.readings.meter import combined, normal_99, parse_accuracy, rectangular
from backprobe.readings.model import GAIN, Reading
from backprobe.units import parse_quantity
from tests.reference.books import outside

SUBJECT = "meters and their uncertainty"
MAKERS = "accuracy pages of meter makers"
GUM = "JCGM 100:2008 (GUM)"


@outside(SUBJECT, MAKERS, "seen", figures=2)
@pytest.mark.parametrize(
    ("shown", "accuracy", "low", "high"),
    [
        ("100.0 V", "1 % + 2", 98.8, 101.2),
        ("1.755 V", "0.5 % + 1", 1.745, 1.765),
        ("2.000 V", "+-(0.5 % + 3 digits)", 1.987, 2.013),
    ],
)
def test_limits_from_percent_and_counts(shown: str, accuracy: str, low: float, high: float) -> None:
    found = parse_accuracy(accuracy).of(parse_quantity(shown))
    # The pages round to the last digit shown.
    assert found == pytest.approx((low, high), abs=5e-4)


@outside(SUBJECT, MAKERS, "calc", figures=2)
@pytest.mark.parametrize(
    ("shown", "bound", "spread"),
    [("24.00 V", 0.14, 0.0808), ("12.60 V", 0.083, 0.0479), ("5.00 V", 0.045, 0.0260)],
)
def test_spread_of_a_half_percent_meter(shown: str, bound: float, spread: float) -> None:
    accuracy, got = parse_accuracy("0.5 % + 2"), parse_quantity(shown)
    assert accuracy.bound(got.value, got.digit) == pytest.approx(bound, rel=1e-9)
    assert accuracy.spread(got.value, got.digit) == pytest.approx(spread, abs=5e-5)


@outside(SUBJECT, MAKERS, "seen")
@pytest.mark.parametrize("text", ["0.7 % + 1", "0.1 % + 1", "0.7% +1", "±(0.1 % + 1 count)"])
def test_forms_in_which_accuracy_is_printed(text: str) -> None:
    found = parse_accuracy(text)
    assert found.counts == 1
    assert found.percent in {0.7, 0.1}


@outside(SUBJECT, "published exercise on rectangular distributions", "seen")
@pytest.mark.parametrize(("bound", "spread"), [(0.004, 0.002309), (0.0005, 0.000289)])
def test_a_bound_is_rectangular(bound: float, spread: float) -> None:
    assert rectangular(bound) == pytest.approx(spread, abs=5e-7)
    # The noise of a reading is made the same way.
    reading = Reading("volts", bp.Setup(()), "a", "b", value=0.0, half_width=bound)
    assert reading.own_spread == pytest.approx(spread, abs=5e-7)


@outside(SUBJECT, "accuracy guide of a meter maker", "seen")
def test_a_bound_that_holds_in_99_of_100() -> None:
    assert normal_99(2.58) == 1.0
    # 2.58 is the two-sided 99 % point of the normal distribution, rounded.
    assert math.erf(2.58 / math.sqrt(2)) == pytest.approx(0.99, abs=2e-4)


@outside(SUBJECT, GUM + ", 4.3.7 and 5.1.5", "mem", figures=3)
def test_example_of_a_voltmeter() -> None:
    # 0.928571 V; 12 uV from repeats; a bound of 14e-6 of the reading and 2e-6 of the 1 V range.
    bound = 14e-6 * 0.928571 + 2e-6 * 1.0
    assert bound == pytest.approx(15e-6, rel=5e-3)
    assert rectangular(bound) == pytest.approx(8.7e-6, abs=5e-8)
    assert combined(12e-6, rectangular(bound)) == pytest.approx(15e-6, abs=5e-7)
    assert combined(12e-6, rectangular(bound)) == pytest.approx(14.8e-6, abs=5e-8)


SHEET = """
sheet: two equal resistors
system: 24 V
runs:
  main: [battery+, resistor R1 {ohms}, splice S1, resistor R2 {ohms}, battery-]
parts:
  battery: {{volts: 24 V, resistance: 1 mohm}}
"""


@outside(SUBJECT, GUM, "calc", figures=3)
def test_noise_of_readings_in_the_ranking() -> None:
    sheet = bp.parse_sheet(SHEET.format(ohms="1 kohm"))
    point = "splice S1 to battery-"
    readings = bp.parse_readings(f"state: all plugged\n{point}: 24.00 V\n{point}: 12.60 V", sheet)
    measured, covariance = noise_of(readings)
    assert list(measured) == [24.0, 12.6]
    # Gain is common to both readings; a digit is each one's own; both rectangular.
    gain = GAIN["volts"] ** 2 / 3
    assert covariance[0, 1] == pytest.approx(gain * 24.0 * 12.6)
    own = (0.01**2 + 0.005**2) / 3
    assert covariance[0, 0] == pytest.approx(gain * 24.0**2 + own, abs=1e-5 + 1e-9)
    # So the ranking allows what a 1 % handheld's leaflet allows, counts aside.
    leaflet = parse_accuracy("1 %").spread(24.0, 0.01)
    assert covariance[0, 0] ** 0.5 == pytest.approx(leaflet, rel=0.01)


@outside(SUBJECT, "OpenStax, University Physics, vol. 2 (10 Mohm meter)", "calc")
@pytest.mark.parametrize(
    ("ohms", "shown"), [("1 kohm", 11.9994), ("10 kohm", 11.9940), ("100 kohm", 11.9403), ("1 Mohm", 11.4286)]
)
def test_a_10_megohm_meter_on_an_equal_divider(ohms: str, shown: float) -> None:
    assert VOLTMETER_OHMS == 10e6
    (found,) = bp.predict(bp.parse_sheet(SHEET.format(ohms=ohms)), points=["splice S1"])
    # Wires and joints of the sheet take some parts in ten thousand of the 1 kohm parts, the leak of
    # floating points two of the 1 Mohm ones.
    assert found.volts == pytest.approx(shown, abs=2e-3)
    if ohms in {"100 kohm", "1 Mohm"}:
        half = 12.0 * 1e7 / (1e7 + float(parse_quantity(ohms).value) / 2)
        assert found.volts == pytest.approx(half, rel=2e-4)


GHOST = """
sheet: an open wire beside a live one
system: 24 V
runs:
  moisture: [battery+, resistor R1 1 Mohm, splice S1]
  rest: [splice S1, wire W1, C1-1, lamp H1 5 W, battery-]
parts:
  battery: {volts: 24 V, resistance: 1 mohm}
"""


@outside(SUBJECT, "OpenStax, University Physics, vol. 2 (10 Mohm meter)", "calc", figures=2)
def test_ghost_volts_on_an_open_wire_and_under_a_lamp() -> None:
    sheet = bp.parse_sheet(GHOST)
    unplugged = bp.make_setup(sheet, {}, frozenset({"C1"}))
    (ghost,) = bp.predict(sheet, unplugged, points=["splice S1"])
    assert ghost.volts == pytest.approx(21.82, abs=0.06)
    (loaded,) = bp.predict(sheet, bp.make_setup(sheet, {}), points=["splice S1"])
    assert abs(loaded.volts) < 0.01

"""Two-wire sensors and monitored switches against the figures of IEC 60947-5-6.

The supply of 8.2 V through 1 kohm is [mem]; the limits 1.2 and 2.1 mA, <= 1 mA actuated and >= 2.2 mA
not actuated, the wire-break and short limits and the resistor ranges are [seen] in published data
sheets that quote the standard. What follows from them by Ohm's law is [calc].
"""

from __future__ import annotations

import pytest

from backprobe.circuit.compiled import compile_sheet
from backprobe.errors import SheetError
from backprobe.sheet.reader import parse_sheet
from tests.sheet.kinds.sensors import meaning, solved, volts

BANDS = "{0..2.2 V: short, 2.2..6.1 V: high current, 7.0..7.85 V: low current, 7.85..8.6 V: break}"
"""6, 2.1, 1.2 and 0.35 mA on U = 8.2 V - 1 kohm x I [calc]; between 6.1 and 7.0 V nothing is said."""

LOOP = """
sheet: two-wire loop
controls: {{gate: [open, shut]}}
runs:
  ground: [controller.ground, frame]
  loop: [controller.gate input, {loop}, controller.sensor ground]
parts:
  controller:
    gate input: {{pull-up: 1 kohm, pull-up volts: 8.2 V, bands: {bands}}}
"""
SENSOR = (
    LOOP.format(loop="gate sensor", bands=BANDS)
    + "  gate sensor: {kind: two-wire sensor, amps: {gate open: 2.2 mA, gate shut: 1.0 mA}}\n"
)
INPUT = "controller.gate input"


def loop_amps(text: str, gate: str, *faults: str, level: int = 0, held: str = "") -> float:
    """The loop's current, read back from the input's volts [A]."""
    solution = solved(text, {"gate": gate}, *faults, level=level, held=held)
    return (8.2 - volts(solution, INPUT, "controller.ground")) / 1000


def means(gate: str, *faults: str, level: int = 0, held: str = "") -> str:
    return meaning(solved(SENSOR, {"gate": gate}, *faults, level=level, held=held), INPUT)


@pytest.mark.parametrize(
    ("milliamps", "at_input", "external"),
    [
        (0.10, 8.100, 81_000),
        (0.35, 7.850, 22_429),
        (1.20, 7.000, 5_833),
        (2.10, 6.100, 2_905),
        (6.0, 2.200, 367),
    ],
)
def test_the_load_line_of_iec_60947_5_6(milliamps: float, at_input: float, external: float) -> None:
    # U = 8.2 - 1000 I and R = U / I [calc].
    text = SENSOR.replace("2.2 mA", f"{milliamps} mA")
    solution = solved(text, {"gate": "open"})
    assert volts(solution, INPUT, "controller.ground") == pytest.approx(at_input, abs=2e-3)
    body = compile_sheet(parse_sheet(text)).parameters
    ohms = next(p.value.nominal for p in body if p.key == "gate sensor.body at gate open ohms")
    assert ohms == pytest.approx(external, rel=1e-3)


def test_a_sound_sensor_stands_on_both_sides_of_the_switching_point() -> None:
    assert loop_amps(SENSOR, "shut") == pytest.approx(1.0e-3, rel=1e-3)
    assert loop_amps(SENSOR, "open") == pytest.approx(2.2e-3, rel=1e-3)
    assert (means("shut"), means("open")) == ("low current", "high current")


@pytest.mark.parametrize(
    ("series", "parallel", "opened", "closed"),
    [
        (1000, 10_000, 0.6833, 4.1000),
        (360, 5_600, 1.1782, 6.0294),
        (2700, 18_000, 0.3779, 2.2162),
        (680, 8_200, 0.8300, 4.8810),
        (2200, 12_000, 0.5395, 2.5625),
    ],
)
def test_a_monitored_switch_of_iec_60947_5_6(
    series: float, parallel: float, opened: float, closed: float
) -> None:
    # 5.6 to 18 kohm across the contact and 360 ohm to 2.7 kohm in series are [seen]; the currents
    # 8.2 / (1000 + Rs + Rp) and 8.2 / (1000 + Rs) in milliamperes are [calc].
    text = LOOP.format(loop=f"resistor R1 {series} ohm, gate switch", bands=BANDS)
    text += f"  gate switch: {{closed: {{gate: shut}}, open ohms: {parallel} ohm}}\n"
    assert loop_amps(text, "open") * 1e3 == pytest.approx(opened, abs=5e-4)
    # The same two resistors inside the switch: closed it reads the one, open both.
    inside = LOOP.format(loop="gate switch", bands=BANDS)
    coded = f"closed ohms: {series} ohm, open ohms: {series + parallel} ohm"
    inside += f"  gate switch: {{closed: {{gate: shut}}, {coded}}}\n"
    assert loop_amps(inside, "open") * 1e3 == pytest.approx(opened, abs=5e-4)
    assert loop_amps(inside, "shut") * 1e3 == pytest.approx(closed, abs=1e-3)
    # Wire and contact add a tenth of an ohm.
    assert loop_amps(text, "shut") * 1e3 == pytest.approx(closed, abs=1e-3)
    # Every pair stays clear of break (0.35 mA) and of the dead band; the least one touches short (6 mA).
    regions = [meaning(solved(text, {"gate": g}), INPUT) for g in ("open", "shut")]
    assert regions == ["low current", "short" if series == 360 else "high current"]


def test_an_open_lead_is_a_break_and_a_short_is_a_short() -> None:
    for gate in ("open", "shut"):
        assert loop_amps(SENSOR, gate, "gate sensor: open inside") < 0.05e-3
        assert means(gate, "gate sensor: open inside") == "break"
        # 8.2 V / (1000 + 1) ohm beside the sensor's own path [calc].
        assert loop_amps(SENSOR, gate, "gate sensor: shorted inside") == pytest.approx(8.19e-3, rel=2e-3)
        for level in range(3):
            assert means(gate, "gate sensor: shorted inside", level=level) == "short"


def test_insulation_of_one_megohm_still_is_a_break() -> None:
    # Insulation >= 1 Mohm [seen]: 8.2 V / 1.001 Mohm = 8.19 uA [calc].
    both = ("gate sensor: open inside", "gate sensor: insulation leaks")
    assert loop_amps(SENSOR, "shut", *both) == pytest.approx(8.19e-6, rel=5e-3)
    assert means("shut", *both) == "break"
    # On a sound sensor it adds 0.6 %: 7200 ohm beside 1 Mohm is 7148.5 ohm, 1.0063 mA [calc].
    leak = both[1]
    assert loop_amps(SENSOR, "shut", leak) == pytest.approx(1.0063e-3, rel=5e-4)
    # 3 kohm across it is 2118 ohm, 2.63 mA: the metal is no longer seen [calc].
    assert loop_amps(SENSOR, "shut", leak, level=4) == pytest.approx(8.2 / 3117.6, rel=1e-3)
    assert means("shut", leak, level=4) == "high current"


def test_without_its_target_it_never_acts_but_metal_held_to_it_does() -> None:
    missing = "gate sensor: target missing"
    assert means("shut", missing) == "high current"
    assert means("shut", missing, held="gate sensor") == "low current"
    # At too wide a gap it may hang between: sqrt(1.0 x 2.2) = 1.48 mA, in neither band [calc].
    hangs = loop_amps(SENSOR, "shut", "gate sensor: gap too wide", level=1)
    assert hangs == pytest.approx(1.483e-3, rel=1e-3)
    assert means("shut", "gate sensor: gap too wide", level=1) == ""


def test_metal_left_on_its_face_and_a_stuck_one_do_not_follow_the_gate() -> None:
    keeper = "gate sensor: shipping keeper left on"
    assert means("open", keeper) == "low current"
    assert means("open", keeper, held="gate sensor") == "low current"
    stuck = "gate sensor: current stuck"
    assert (
        means("shut", stuck, level=3) == means("shut", stuck, level=3, held="gate sensor") == "high current"
    )


def test_the_other_type_turns_the_currents_round() -> None:
    wrong = "gate sensor: wrong type fitted (current the other way round)"
    assert (means("shut", wrong), means("open", wrong)) == ("high current", "low current")
    assert means("open", wrong, held="gate sensor") == "high current"


def test_a_range_from_nothing_up_is_how_a_leaflet_says_it() -> None:
    # 0..1 mA: 0.5 mA at best, 15.4 kohm; 8.2 V / 16.4 kohm [calc].
    text = SENSOR.replace("gate shut: 1.0 mA", "gate shut: 0..1 mA")
    assert loop_amps(text, "shut") == pytest.approx(0.5e-3, rel=1e-3)
    assert means("shut") == "low current"


def test_a_current_of_nothing_is_refused() -> None:
    with pytest.raises(SheetError, match=r"amps\.gate open: '0 A' is not above zero.*unit A"):
        parse_sheet(SENSOR.replace("2.2 mA", "0 mA"))


def test_the_type_that_takes_more_with_metal() -> None:
    text = SENSOR.replace("shut: 1.0 mA}", "shut: 1.0 mA}, with metal: high")
    text = text.replace("gate open: 2.2", "gate open: 0.8").replace("gate shut: 1.0", "gate shut: 2.6")
    missing = "gate sensor: target missing"
    assert loop_amps(text, "shut", missing) == pytest.approx(0.8e-3, rel=1e-3)
    assert loop_amps(text, "shut", missing, held="gate sensor") == pytest.approx(2.6e-3, rel=1e-3)

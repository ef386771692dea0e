"""Battery: state of charge, weak, flat, a dead cell, and its clamps. Ohm's law by hand."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.sheet.kinds.battery import rested_volts
from tests.sheet.kinds.faulty import circuit_of, solved, volts

SHEET = """
sheet: Bare battery
controls: {key: [off, on]}
runs:
  main: [battery+, key, resistor R1 1 ohm, battery-]
parts:
  battery: {volts: 12.6 V, resistance: 20 mohm}
"""
REST = 1.0 + 0.02 + 3 * 0.03 + 0.02 + 2 * 0.0005
"""Load, own resistance, three implied wires, the key's contact and the clamps [ohm]."""


def at(red: str, black: str = "battery.-", *, fault: str = "", level: int = -1, key: str = "on") -> float:
    return volts(solved(circuit_of(SHEET), {"key": key}, fault, level=level), red, black)


def test_charge_gives_rested_volts() -> None:
    # 12 V lead-acid, rested: about 11.8 V empty, 12.7 V full, straight between; common practice, no source.
    assert rested_volts(0) == pytest.approx(11.8)
    assert rested_volts(100) == pytest.approx(12.7)
    assert rested_volts(50) == pytest.approx(12.25)
    for system, scale in (("12 V", 1), ("24 V", 2)):
        text = SHEET.replace("controls", f"system: {system}\ncontrols").replace(
            "{volts: 12.6 V, resistance: 20 mohm}", "{charge: 60 %}"
        )
        battery = bp.parse_sheet(text).parts["battery"].values
        assert battery["volts"].nominal == pytest.approx(scale * (11.8 + 0.6 * 0.9))
        assert battery["volts"].low < battery["volts"].nominal < battery["volts"].high
        # Full 1 times, empty twice the resistance: 1.4 times at 60 %.
        assert battery["resistance"].nominal == pytest.approx(0.02 * 1.4)


def test_what_is_written_goes_before_what_the_charge_says() -> None:
    text = SHEET.replace("{volts: 12.6 V,", "{charge: 30 %, volts: 12.6 V,")
    battery = bp.parse_sheet(text).parts["battery"].values
    assert (battery["volts"].nominal, battery["resistance"].nominal) == (12.6, 0.02)


def test_sound_it_sags_by_its_own_resistance() -> None:
    assert at("battery.+", key="off") == pytest.approx(12.6, abs=1e-3)
    assert at("battery.+") == pytest.approx(12.6 * (REST - 0.021) / REST, abs=2e-3)


def test_weak_it_has_its_volts_at_rest_and_none_under_load() -> None:
    # Level 3 is 150 times 20 mohm, 3 ohm.
    weak = "battery: weak under load"
    assert at("battery.+", fault=weak, level=3, key="off") == pytest.approx(12.6, abs=1e-3)
    sagged = 12.6 * (REST - 0.021) / (REST + 2.98)
    assert at("battery.+", fault=weak, level=3) == pytest.approx(sagged, rel=2e-3)


def test_flat_it_has_few_volts_at_rest() -> None:
    assert at("battery.+", fault="battery: low charge", level=1, key="off") == pytest.approx(10.5, abs=1e-3)


def test_a_dead_cell_costs_two_volts_at_rest_already() -> None:
    # One of six cells of 2.1 V.
    dead = "battery: one cell dead"
    assert at("battery.+", fault=dead, key="off") == pytest.approx(12.6 * 5 / 6, abs=1e-3)
    assert at("battery.+", fault=dead) == pytest.approx(10.5 * (REST - 0.021) / (REST + 0.04), rel=2e-3)


def test_one_cell_of_a_24_volt_machine_is_one_of_twelve() -> None:
    text = SHEET.replace("controls", "system: 24 V\ncontrols").replace("12.6 V", "25.2 V")
    solution = solved(circuit_of(text), {"key": "off"}, "battery: one cell dead")
    assert volts(solution, "battery.+") == pytest.approx(25.2 * 11 / 12, abs=1e-3)


@pytest.mark.parametrize(
    ("clamp", "red", "black"),
    [("plus", "battery.post +", "battery.+"), ("minus", "battery.-", "battery.post -")],
)
def test_a_corroded_clamp_drops_between_post_and_clamp(clamp: str, red: str, black: str) -> None:
    # Level 2 is 0.3 ohm: 12.6 V / (REST + 0.3) through it.
    fault = f"battery: {clamp} clamp loose or corroded"
    drop = 12.6 / (REST + 0.2995) * 0.3
    assert at(red, black, fault=fault, level=2) == pytest.approx(drop, rel=2e-3)
    assert at(red, black) == pytest.approx(12.6 / REST * 0.0005, rel=2e-3)
    assert at("battery.post +", "battery.post -", fault=fault, level=2) > 12.3


def test_the_drop_from_post_to_clamp_tells_clamp_from_battery() -> None:
    sheet = bp.parse_sheet(SHEET)
    sagged = "battery+ to battery-: 12.6 V, key off\nbattery+ to battery-: 6.0 V, key on"
    clamp = bp.rank(sheet, f"{sagged}\nbattery+ post to battery+: 6.4 V, key on")
    weak = bp.rank(sheet, f"{sagged}\nbattery+ post to battery- post: 6.0 V, key on")
    assert clamp.groups[0].suspects[0].names == ("battery: plus clamp loose or corroded",)
    assert "battery: weak under load" in {n for s in weak.groups[0].suspects for n in s.names}

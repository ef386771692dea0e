"""Lamp: cold and lit filament, holder, bulb of other watts, flashed by a controller. Ohm's law by hand."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.diagnosis.lamp_looks import lamp_looks
from backprobe.diagnosis.predict import chance_of
from tests.sheet.kinds.faulty import amps, circuit_of, ohms, solved

SHEET = """
sheet: Work lamp
controls: {key: [off, on]}
runs:
  main: [battery+, fuse F1 10 A, key, lamp H1 21 W, frame]
parts:
  battery: {volts: 12 V}
"""
LIT = 144 / 21


def lamp_amps(text: str = SHEET, fault: str = "", level: int = -1) -> float:
    solution = solved(circuit_of(text), {"key": "on"}, fault, level=level)
    return amps(solution, "fuse F1.element")


def test_lit_it_takes_its_watts() -> None:
    # 21 W / 12 V = 1.75 A, less what some 0.15 ohm of joints and wires take.
    assert lamp_amps() == pytest.approx(1.75, rel=0.03)


def test_cold_it_has_about_a_tenth_of_its_lit_resistance() -> None:
    # Textbooks give a tungsten filament a tenth to a fifteenth; the ohmmeter sees it cold.
    circuit = circuit_of(SHEET)
    seen = ohms(solved(circuit, {"key": "off"}), "lamp H1.1", "lamp H1.2")
    assert LIT / 15 < seen < LIT / 8
    assert ohms(solved(circuit, {"key": "on"}), "lamp H1.1", "lamp H1.2") < LIT


def test_it_is_lit_whichever_way_it_is_fed() -> None:
    turned = SHEET.replace(
        "[battery+, fuse F1 10 A, key, lamp H1 21 W, frame]",
        "[battery+, fuse F1 10 A, key, H1.2]\n  back: [lamp H1.1, frame]",
    ).replace("parts:", "parts:\n  lamp H1: {watts: 21 W}")
    assert lamp_amps(turned) == pytest.approx(1.75, rel=0.03)


def test_a_burnt_out_bulb_takes_nothing_cold_or_lit() -> None:
    circuit = circuit_of(SHEET)
    assert abs(lamp_amps(fault="lamp H1: burnt out")) < 1e-6
    dead = solved(circuit, {"key": "off"}, "lamp H1: burnt out")
    assert ohms(dead, "lamp H1.1", "lamp H1.2") > 1e8


def test_a_corroded_holder_is_in_series() -> None:
    # Level 4 is 3 ohm: 12 V / (6.857 + 3) ohm = 1.217 A; the lamp sees 8.3 V.
    assert lamp_amps(fault="lamp H1: holder corroded", level=4) == pytest.approx(12 / (LIT + 3), rel=0.03)


def test_a_bulb_of_other_watts_takes_other_amps() -> None:
    # A quarter of the resistance is four times the watts, and the other way.
    assert lamp_amps(fault="lamp H1: bulb of other watts fitted", level=0) == pytest.approx(7.0, rel=0.1)
    assert lamp_amps(fault="lamp H1: bulb of other watts fitted", level=1) == pytest.approx(0.4375, rel=0.03)


FLASHED = """
sheet: Gate lamp
controls: {key: [off, on], gate: [shut, ajar, open]}
runs:
  power: [battery+, fuse F1 10 A, key, controller.battery]
  ground: [controller.ground, frame]
  gate: [controller.gate input, gate switch, frame]
  ajar: [controller.gate input, ajar switch, resistor R1 1 kohm, frame]
  lamp: [controller.lamp output, lamp H1 2 W, frame]
parts:
  gate switch: {closed: {gate: shut}}
  ajar switch: {closed: {gate: ajar}}
  controller:
    gate input: {pull-up: 1 kohm, bands: {0..1 V: shut, 3.5..5.5 V: open, 1.5..3 V: ajar}}
lamps:
  H1: {lit: gate input is open, 2 flashes: gate input is ajar}
"""


@pytest.mark.parametrize(("gate", "seen"), [("shut", "dark"), ("open", "lit"), ("ajar", "2 flashes")])
def test_a_drawn_lamp_follows_the_pattern_that_the_controller_gives_it(gate: str, seen: str) -> None:
    circuit = circuit_of(FLASHED)
    sound = solved(circuit, {"key": "on", "gate": gate})
    burnt = solved(circuit, {"key": "on", "gate": gate}, "lamp H1: burnt out")
    stuck = solved(circuit, {"key": "on", "gate": gate}, "controller: lamp output stuck on")
    for word in ("dark", "lit", "2 flashes"):
        [reading] = bp.parse_readings(f"H1 {word}, key on, gate {gate}", circuit.sheet)
        assert float(chance_of(sound, reading)[0]) == pytest.approx(float(word == seen), abs=0.01)
        assert float(chance_of(burnt, reading)[0]) == pytest.approx(float(word == "dark"), abs=0.01)
        if seen == "dark":
            assert float(chance_of(stuck, reading)[0]) == pytest.approx(float(word == "lit"), abs=0.01)


def test_its_output_is_on_only_while_a_pattern_shows() -> None:
    circuit = circuit_of(FLASHED)
    for gate, word in (("shut", "dark"), ("open", "lit")):
        looks = lamp_looks(solved(circuit, {"key": "on", "gate": gate}), "lamp H1")
        assert float(looks[word][0]) > 0.99

"""Controller terminals: drivers with a limit and a diagnosis pull, clamps, currents and hysteresis.

All numbers are invented; every expected value follows from Ohm's law, written beside it.
"""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.circuit.setup import Attachment
from backprobe.diagnosis.predict import chance_of
from backprobe.errors import SheetError
from backprobe.readings.model import Reading
from backprobe.sheet.anatomy import Band
from backprobe.sheet.model import Pin
from tests.sheet.kinds.faulty import amps, circuit_of, is_true, mode, solved, volts

OUTPUTS = """
sheet: Spreader, gate valve
controls: {key: [off, on], gate: [shut, open]}
runs:
  power:  [battery+, fuse F1 15 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, ring G1, frame]
  high:   [controller.valve output, C1-3, wire W3 2 m 1 mm2, C2-1, coil Y1 8 ohm, ring G2, frame]
  low:    [battery+, fuse F2 5 A, lamp H1 10 W, wire W4 2 m 1 mm2, C1-4, controller.lamp output]
connectors: {C1: {part: controller}, C2: {part: coil Y1}}
parts:
  battery: {volts: 12 V +-0.1 V}
  controller:
    valve output:
      limit: 4 A
      least load: 150 mA
      diagnosis pull: 10 kohm
      bands: {0..1.5 V: load seen, 1.5..7 V: open load, 7..16 V: short to supply}
    lamp output: {side: low}
functions:
  valve: {releases when: gate is open, drives: valve output, guard: key is on}
  light: {releases when: gate is open, drives: lamp output, loads: lamp H1}
lamps:
  fault lamp: {2 flashes: valve output is open load, 3 flashes: valve output is over-current}
"""
CIRCUIT = circuit_of(OUTPUTS)
ON, OFF = {"key": "on", "gate": "open"}, {"key": "on", "gate": "shut"}
VALVE = "C1-3.machine"


def test_an_output_exists_only_while_its_controller_is_plugged_and_powered() -> None:
    assert volts(solved(CIRCUIT, ON), VALVE) > 11
    # Plug off: the harness side hangs on the coil to the frame and reads nothing, though 12 V waits at C1-1.
    off = solved(CIRCUIT, ON, unplugged=["C1"])
    assert volts(off, VALVE) == pytest.approx(0.0, abs=1e-3)
    assert volts(off, "C1-1.machine") == pytest.approx(12.0, abs=0.05)
    # The low-side one reads the supply through its lamp then, asked for or not.
    assert volts(off, "C1-4.machine") == pytest.approx(12.0, abs=0.05)
    assert volts(solved(CIRCUIT, ON), "C1-4.machine") < 0.5
    # Key off: plugged, but without supply it drives nothing.
    assert volts(solved(CIRCUIT, {"key": "off", "gate": "open"}), VALVE) == pytest.approx(0.0, abs=0.01)


def test_a_driver_carries_its_load_below_the_limit() -> None:
    # 12 V over 8 ohm and a few tenths: 1.45 A of 4 A.
    found = solved(CIRCUIT, ON)
    assert amps(found, "controller.valve output driver") == pytest.approx(12 / 8.27, abs=0.03)
    assert not mode(found, "controller.valve output tripped")
    assert not is_true(found, "valve output is over-current")


def test_a_shorted_load_shuts_the_driver_down_and_is_known() -> None:
    # 0.1 ohm to the frame behind 0.1 ohm of driver and some tenths would be tens of amps.
    found = solved(CIRCUIT, ON, "wire W3: shorted to frame", level=0)
    assert mode(found, "controller.valve output tripped")
    assert amps(found, "controller.valve output driver") == pytest.approx(0.0, abs=1e-6)
    assert volts(found, VALVE) == pytest.approx(0.0, abs=0.01)
    assert is_true(found, "valve output is over-current")
    assert not solved(CIRCUIT, ON).chatters[0]


def test_an_output_that_is_off_shows_its_open_load_by_the_diagnosis_pull() -> None:
    # Load there: 5 V x 8 / 10008 = 4 mV. Load open: 5 V, and 10 Mohm of meter takes a thousandth.
    sound, opened = solved(CIRCUIT, OFF), solved(CIRCUIT, OFF, "wire W3: broken")
    assert volts(sound, VALVE, "controller._ground") == pytest.approx(0.004, abs=0.02)
    assert volts(opened, VALVE, "controller._ground") == pytest.approx(5.0, abs=0.01)
    assert is_true(sound, "valve output is load seen")
    assert is_true(opened, "valve output is open load")


def test_an_output_that_drives_shows_its_open_load_by_its_current() -> None:
    # 1.45 A with the coil, next to nothing without it; tripped it gives nothing either, but that is known.
    assert not is_true(solved(CIRCUIT, ON), "valve output is open load")
    assert is_true(solved(CIRCUIT, ON, "wire W3: broken"), "valve output is open load")
    assert not is_true(solved(CIRCUIT, ON, "wire W3: shorted to frame", level=0), "valve output is open load")
    # Without supply the controller says nothing at all.
    off = {"key": "off", "gate": "open"}
    assert not is_true(solved(CIRCUIT, off, "wire W3: broken"), "valve output is open load")


def test_a_short_to_supply_is_seen_while_the_output_is_off_and_not_while_it_drives() -> None:
    fault = "wire W3: shorted to supply"
    assert is_true(solved(CIRCUIT, OFF, fault, level=0), "valve output is short to supply")
    assert not is_true(solved(CIRCUIT, ON, fault, level=0), "valve output is short to supply")
    assert not is_true(solved(CIRCUIT, ON), "valve output is open load")


def test_what_the_controller_says_of_its_output_is_a_reading() -> None:
    lines = "valve dead, key on, gate open, all plugged\nvalve output reads as over-current"
    answer = bp.rank(CIRCUIT.sheet, "state: key on, gate open, all plugged\n" + lines)
    # What draws more than 4 A from the valve output comes before everything that does not.
    heavy = {
        "coil Y1: turns shorted",
        "wire W3: shorted to frame",
        "C1: C1-2 and C1-3 bridged",
        "C1: C1-3 and C1-4 bridged",
    }
    names = [s.name for s in answer.suspects]
    last = max(names.index(n) for n in heavy)
    assert all("short" in n or "bridged" in n for n in names[: last + 1])
    opened = next(s.probability for s in answer.suspects if s.name == "wire W3: broken")
    assert opened < 0.1 * answer.suspects[0].probability
    lamp = bp.rank(CIRCUIT.sheet, "fault lamp 2 flashes, key on, gate shut, all plugged")
    assert any(s.name == "wire W3: broken" for s in lamp.suspects[:6])


INPUTS = """
sheet: Spreader, gate inputs
controls: {gate: [shut, open]}
runs:
  power:  [battery+, fuse F1 5 A, controller.battery]
  ground: [controller.ground, ring G1, frame]
  loop:   [controller.loop input, C1-1, resistor R1 2 kohm, ring G2, frame]
  sense:  [battery+, resistor R2 900 ohm, C1-2, controller.sense input]
  level:  [C1-3, controller.level input]
parts:
  battery: {volts: 12 V +-0.1 V}
  controller:
    loop input:
      pull-up: 800 ohm
      pull-up volts: 7 V
      bands: {0..0.3 mA: broken, 0.3..1.5 mA: off, 2..5 mA: on, 5..9 mA: short}
    sense input: {pull-down: 100 ohm, bands: {0..2 mA: broken, 4..20 mA: sound, 20..40 mA: short}}
    level input:
      pull-down: 50 kohm
      clamp: 9 V
      bands: {0..5 V: low, 5..12 V: {means: high, left below: 4 V}}
"""


def pin(name: str) -> Pin:
    return circuit_of(INPUTS).sheet.parts["controller"].pins[name]


def test_bands_of_current_through_a_pull_up_are_volts_below_it() -> None:
    # U = 7 V - I x 800 ohm: 0.3 mA 6.76 V, 1.5 mA 5.8 V, 2 mA 5.4 V, 5 mA 3 V, 9 mA below nothing.
    bands = {b.meaning: (b.low, b.high) for b in pin("loop input").bands}
    assert bands["off"] == pytest.approx((5.8, 6.76))
    assert bands["on"] == pytest.approx((3.0, 5.4))
    assert bands["short"] == pytest.approx((0.0, 3.0))
    low, high = bands["broken"]
    assert low == pytest.approx(6.76)
    assert high > 7.2
    assert [b.meaning for b in pin("loop input").bands] == ["short", "on", "off", "broken"]


def test_bands_of_current_through_a_sense_resistor_are_volts_across_it() -> None:
    bands = {b.meaning: (b.low, b.high) for b in pin("sense input").bands}
    assert bands["sound"] == pytest.approx((0.4, 2.0))


def test_the_loop_is_read_by_its_current() -> None:
    circuit = circuit_of(INPUTS)
    # 7 V over 2800 ohm is 2.5 mA; open 0 mA; 12 V over 1000 ohm is 12 mA.
    assert is_true(solved(circuit), "loop input is on")
    assert is_true(solved(circuit, None, "C1-1: pin pushed back"), "loop input is broken")
    assert is_true(solved(circuit, None, "resistor R1: open"), "loop input is broken")
    assert is_true(solved(circuit), "sense input is sound")


def test_currents_need_the_resistance_they_flow_through() -> None:
    with pytest.raises(SheetError, match=r"loop input.bands: 'mA' cannot be turned into volts"):
        bp.parse_sheet(INPUTS.replace("      pull-up: 800 ohm\n      pull-up volts: 7 V\n", ""))
    with pytest.raises(SheetError, match=r"are mixed"):
        bp.parse_sheet(INPUTS.replace("5..9 mA: short", "6..7 V: short"))


def level(feed: float) -> tuple[Attachment, ...]:
    """A bench source at the level input."""
    return (Attachment("source", "C1-3.machine", "controller._ground", 100.0, feed),)


def test_a_clamp_holds_the_input_where_its_diode_conducts() -> None:
    circuit = circuit_of(INPUTS)
    below = solved(circuit, attached=level(8.0))
    # 8 V x 50 / 50.1 = 7.984 V; at 14 V the diode takes (14 - 9) x 15 / 115 = 0.65 V above its 9 V.
    assert volts(below, "controller.level input", "controller._ground") == pytest.approx(7.984, abs=2e-3)
    above = solved(circuit, attached=level(14.0))
    assert volts(above, "controller.level input", "controller._ground") == pytest.approx(9.65, abs=0.02)


def test_hysteresis_keeps_the_lower_meaning_for_rules_and_allows_both_to_be_seen() -> None:
    assert pin("level input").bands == (
        Band(0.0, 5.0, "low", (0.0, 4.0)),
        Band(5.0, 12.0, "high", (4.0, 12.0)),
    )
    circuit = circuit_of(INPUTS)
    between = solved(circuit, attached=level(4.5))
    # From rest the volts went up: below 5 V the input still means low.
    assert is_true(between, "level input is low")
    assert not is_true(between, "level input is high")
    assert is_true(solved(circuit, attached=level(5.2)), "level input is high")


def test_a_code_between_the_edges_of_a_hysteresis_may_be_either() -> None:
    circuit = circuit_of(INPUTS)
    for feed, low, high in ((3.0, 1.0, 0.0), (4.5, 0.5, 0.5), (6.0, 0.0, 1.0)):
        found = solved(circuit, attached=level(feed))
        for word, chance in (("low", low), ("high", high)):
            reading = Reading("code", found.stage.setup, subject="level input", seen=word)
            assert chance_of(found, reading)[0] == pytest.approx(chance, abs=0.01)


def test_a_band_that_says_nothing_is_refused() -> None:
    with pytest.raises(SheetError, match="does not say what the band means"):
        bp.parse_sheet(INPUTS.replace("{means: high, left below: 4 V}", "{means: high}"))
    with pytest.raises(SheetError, match="is not below the band"):
        bp.parse_sheet(INPUTS.replace("left below: 4 V", "left below: 6 V"))

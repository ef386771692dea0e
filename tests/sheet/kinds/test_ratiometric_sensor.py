"""Ratiometric sensors: the output as a share of the supply, sound and faulty."""

from __future__ import annotations

import pytest

from tests.sheet.kinds.sensors import levels, solved, volts

TEXT = """
sheet: gate sensor on a feed
system: 12 V
controls: {gate: [open, shut]}
runs:
  power: [battery+, controller.battery]
  ground: [controller.ground, frame]
  feed: [controller.feed, sensor.supply]
  signal: [sensor.output, controller.gate input]
  return: [sensor.ground, controller.sensor ground]
parts:
  battery: {volts: 12.0 V}
  sensor: {kind: ratiometric sensor, supply: 4.5..12 V, output: {gate open: 20 %, gate shut: 70 %}}
  controller:
    feed: {volts: 10 V}
    gate input: {pull-down: 1 Mohm}
"""


def share(gate: str, *faults: str, level: int = 0, held: str = "", text: str = TEXT) -> float:
    """The output as a share of the supply [1]."""
    solution = solved(text, {"gate": gate}, *(f"sensor: {f}" for f in faults), level=level, held=held)
    ground = "sensor.ground"
    return volts(solution, "sensor.output", ground) / volts(solution, "sensor.supply", ground)


def near(value: float) -> object:
    # The input's 1 Mohm takes at most a thousandth; leads inside as little.
    return pytest.approx(value, abs=2e-3)


def test_levels() -> None:
    assert share("open") == near(0.20)
    assert share("shut") == near(0.70)


def test_a_wide_gap_shrinks_the_swing_toward_half_supply() -> None:
    # 0.5 + (0.70 - 0.5)/2 and 0.5 - (0.5 - 0.20)/2.
    assert share("shut", "gap too wide", level=1) == near(0.60)
    assert share("open", "gap too wide", level=1) == near(0.35)


def test_without_a_target_it_rests_at_half_supply() -> None:
    for gate in ("open", "shut"):
        assert share(gate, "target missing") == near(0.5)
        assert share(gate, "shipping keeper left on") == near(0.5)


def test_a_magnet_held_to_it_tells_a_lost_target_from_a_keeper() -> None:
    # What a magnet in the hand gives is not known: the prediction is half supply, give or take much.
    # With the keeper on, or stuck, it is known and does not move.
    solution = solved(TEXT, {"gate": "shut"}, "sensor: target missing", held="sensor")
    circuit = solution.stage.circuit
    by_hand = circuit.spread[circuit.parameter_of["sensor.upper share by hand ohms"]]
    assert by_hand > 1.0
    assert share("shut", "shipping keeper left on", held="sensor") == near(0.5)
    assert share("shut", "output stuck", level=0, held="sensor") == near(0.02)


def test_a_target_out_of_line_moves_all_levels_alike() -> None:
    assert levels(TEXT, "sensor: target out of line") == 6
    # The second severity is 20 % of the supply less, a level between the two states.
    assert share("shut", "target out of line", level=1) == near(0.50)
    assert share("open", "target out of line", level=5) == near(0.50)
    assert share("shut", "drifted", level=3) == near(0.80)


def test_wrong_types() -> None:
    assert share("shut", "wrong family fitted (output the other way round)") == near(0.30)
    assert share("open", "wrong family fitted (output the other way round)") == near(0.80)
    # Half the slope about half supply, then 1.4 times: 0.5 + 0.2 x 1.4 and 0.5 - 0.3 x 1.4.
    assert share("shut", "type of another slope fitted") == near(0.60)
    assert share("shut", "type of another slope fitted", level=2) == near(0.78)
    assert share("open", "type of another slope fitted", level=2) == near(0.08)


def test_a_type_for_8_volts_starves_on_5() -> None:
    # Code B of ISO 16750-2 begins at 8 V [mem].
    text = TEXT.replace("volts: 10 V", "volts: 5 V")
    assert share("shut", text=text) == near(0.70)
    assert share("shut", "type for a higher supply fitted", text=text) == near(0.0)


def test_broken_inside_is_let_go_and_a_lost_ground_floats_up() -> None:
    for gate in ("open", "shut"):
        assert share(gate, "output broken inside") == near(0.0)
        assert share(gate, "supply broken inside") == near(0.0)
    # 10 V less 0.45 V of the substrate, behind the draw of 8.25 V / 8 mA = 1.03 kohm, into 1 Mohm.
    assert share("shut", "ground broken inside") == pytest.approx((10 - 0.45) / 10, abs=0.01)


def test_above_its_most_supply_the_output_is_unsure() -> None:
    assert share("shut", text=TEXT.replace("4.5..12 V", "4.5..5.5 V")) == near(0.0)
    assert share(
        "shut", text=TEXT.replace("4.5..12 V", "least supply: 4.5 V").replace("supply: least", "least")
    ) == near(0.70)

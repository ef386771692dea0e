"""Two sensors on one limited feed: one pulls it down, its neighbour only starves."""

from __future__ import annotations

import backprobe as bp
from tests.sheet.kinds.sensors import solved, volts

TEXT = """
sheet: bar and gate on one feed
system: 12 V
controls: {key: [off, on], gate: [open, shut], bar: [up, down]}
runs:
  power: [battery+, key switch, controller.battery]
  ground: [controller.ground, frame]
  feed: [controller.feed, C1-1, splice S1, C2-1, gate sensor.supply]
  feed 2: [splice S1, C3-1, bar sensor.supply]
  return: [gate sensor.ground, C2-2, splice S2, C1-2, controller.sensor ground]
  return 2: [bar sensor.ground, C3-2, splice S2]
  gate: [gate sensor.output, C2-3, C1-3, controller.gate input]
  bar: [bar sensor.output, C3-3, C1-4, controller.bar input]
parts:
  battery: {volts: 12.4 V}
  gate sensor: {kind: ratiometric sensor, supply: 4.5..12 V, output: {gate open: 20 %, gate shut: 60 %}}
  bar sensor: {kind: ratiometric sensor, supply: 4.5..12 V, output: {bar up: 20 %, bar down: 60 %}}
  controller:
    feed: {volts: 9.0 V, limit: 60 mA}
"""
READY = {"key": "on", "gate": "shut", "bar": "down"}
GUILTY = "bar sensor: pulls its supply down"


def gate_volts(*faults: str, level: int = 0, unplugged: str = "") -> float:
    solution = solved(TEXT, READY, *faults, level=level, unplugged=unplugged)
    return volts(solution, "controller.gate input", "controller.sensor ground")


def test_the_neighbours_signal_falls_and_comes_back_with_the_guilty_one_unplugged() -> None:
    # Sound: 60 % of 9.0 V.
    assert abs(gate_volts() - 5.4) < 0.08
    # 30 ohm takes all of the 60 mA at 1.8 V, below 4.5 V: the gate sensor starves.
    assert abs(gate_volts(GUILTY, level=1)) < 0.05
    assert abs(gate_volts(GUILTY, level=1, unplugged="C3") - 5.4) < 0.08


def test_a_milder_load_lowers_the_signal_in_proportion() -> None:
    # 100 ohm: at the limit of 60 mA the feed settles where 100 ohm, twice the draw (8.25 V / 8 mA =
    # 1031 ohm) and twice the output stage (1000 ohm) share it: 0.06 / (1/100 + 2/1031 + 2/1000) = 4.30 V,
    # below the 4.5 V that both need; without their output stages 0.06 / 0.01194 = 5.03 V. Between the
    # two no state holds, so 300 ohm is taken: 9 V x (1/300 + 0.00394) = 65 mA is limited to 8.25 V.
    expected = 0.06 / (1 / 300 + 2 / 1031 + 2 / 1000)
    assert 4.5 < expected < 9.0
    assert abs(gate_volts(GUILTY, level=3) - 0.6 * expected) < 0.08


def test_the_guilty_one_is_named_and_the_starved_one_is_not() -> None:
    sheet = bp.parse_sheet(TEXT, file="feed")
    readings = """
    state: key on, gate shut, bar down, all plugged
    controller.feed to battery-: 1.9 V
    C1-3 to battery-: 0.02 V
    C1-3 to battery-: 5.38 V, C3 unplugged
    C1-3 to battery-: 0.02 V, C2 and C3 plugged
    """
    answer = bp.rank(sheet, readings)
    leader = answer.groups[0].suspects[0]
    assert leader.name == GUILTY
    blamed = sum(s.probability for s in answer.suspects if s.name.startswith("gate sensor:"))
    assert blamed < 0.05 * leader.probability

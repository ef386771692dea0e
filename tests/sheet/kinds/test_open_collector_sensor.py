"""Open-collector sensors, NPN and PNP: what each fault leaves on the output, by Ohm's law."""

from __future__ import annotations

import pytest

from tests.sheet.kinds.sensors import solved, volts

SHEET = """
sheet: door sensor
system: 12 V
controls: {{door: [open, shut]}}
runs:
  supply: [battery+, sensor.supply]
  signal: [sensor.output, controller.door input]
  ground: [sensor.ground, frame]
  box: [controller.ground, frame]
parts:
  battery: {{volts: 12.0 V}}
  sensor:
    kind: open-collector sensor
    supply: 7..15 V
    draw: 10 mA
    pulled ohms: 50 ohm
    rest ohms: 1 Mohm
    type: {type}
    pulls: {{door: shut}}
  controller:
    door input: {pull}
"""
NPN = SHEET.format(type="NPN", pull="{pull-up: 4.95 kohm, pull-up volts: 5 V, pull-down: 10 Mohm}")
PNP = SHEET.format(type="PNP", pull="{pull-down: 9.95 kohm}")
OUT = ("sensor.output", "battery.-")


def out(text: str, door: str, *faults: str, level: int = 0, held: str = "") -> float:
    return volts(solved(text, {"door": door}, *faults, level=level, held=held), *OUT)


def test_npn_pulls_to_ground_and_pnp_to_supply() -> None:
    # 5 V x 50 / (4950 + 50) = 50 mV; 12 V x 9950 / (9950 + 50) = 11.94 V.
    assert out(NPN, "shut") == pytest.approx(0.05, abs=2e-3)
    assert out(NPN, "open") == pytest.approx(4.97, abs=0.01)
    assert out(PNP, "shut") == pytest.approx(11.94, abs=5e-3)
    # 1 Mohm of leak against 9.95 kohm: 0.12 V.
    assert out(PNP, "open") == pytest.approx(12 * 9950 / 1_009_950, abs=2e-3)


@pytest.mark.parametrize(
    "fault", ["gap too wide", "target missing", "target out of line, switches now and then"]
)
def test_what_fails_before_the_face_is_alike_until_steel_is_held_there(fault: str) -> None:
    assert out(NPN, "shut", f"sensor: {fault}") == pytest.approx(4.97, abs=0.01)
    assert out(NPN, "open", f"sensor: {fault}", held="sensor") == pytest.approx(0.05, abs=2e-3)


@pytest.mark.parametrize("fault", ["shipping keeper left on", "does not switch"])
def test_what_fails_at_the_face_or_inside_does_not_answer_to_steel(fault: str) -> None:
    assert out(NPN, "shut", f"sensor: {fault}") == pytest.approx(4.97, abs=0.01)
    assert out(NPN, "shut", f"sensor: {fault}", held="sensor") == pytest.approx(4.97, abs=0.01)


def test_stuck_on_stays_low_with_the_door_open() -> None:
    # 5 V x 10 / 4960 and 5 V x 300 / 5250.
    assert out(NPN, "open", "sensor: stuck on") == pytest.approx(0.01, abs=2e-3)
    assert out(NPN, "open", "sensor: stuck on", level=1) == pytest.approx(0.2857, abs=3e-3)


def test_a_leak_at_rest_pulls_half_way() -> None:
    # 3 kohm against 4.95 kohm: 5 V x 3 / 7.95 = 1.887 V, in no band of a switch.
    assert out(NPN, "open", "sensor: leaks at rest", level=1) == pytest.approx(1.887, abs=5e-3)


def test_a_ground_broken_inside_lets_the_output_float_up() -> None:
    # The inside rises to the supply through the draw (11 V / 10 mA = 1.1 kohm) and drives the output
    # by its substrate: (12 - 0.45 V) less what 1.15 kohm of (12 - 0.45 - 5) V over 6.1 kohm takes.
    floats = (12 - 0.45) - 1150 * (12 - 0.45 - 5) / (1150 + 4950)
    for door in ("open", "shut"):
        assert out(NPN, door, "sensor: ground broken inside") == pytest.approx(floats, abs=0.05)
    assert floats > 10


def test_a_supply_broken_inside_is_dead_but_grounded() -> None:
    solution = solved(NPN, {"door": "shut"}, "sensor: supply broken inside")
    assert volts(solution, *OUT) == pytest.approx(4.97, abs=0.01)
    assert volts(solution, "sensor.supply") == pytest.approx(12.0, abs=0.02)


def test_crossed_in_its_own_lead_it_drives_its_output_up() -> None:
    # Inside, ground is at 12 V: the substrate lifts the output by 50 ohm behind 11.55 V.
    expected = 5 + (11.55 - 5) * 4950 / 5000
    assert out(NPN, "open", "sensor: supply and ground crossed in its own lead") == pytest.approx(
        expected, abs=0.05
    )


def test_killed_by_its_supply_it_loads_the_supply_and_lets_the_output_go() -> None:
    solution = solved(NPN, {"door": "shut"}, "sensor: killed by a reversed or too high supply", level=1)
    assert volts(solution, *OUT) == pytest.approx(5.0, abs=0.01)
    through = solution.through("sensor.burnt supply side")[0]
    assert through == pytest.approx(12 / 100, rel=0.02)


def test_it_starves_below_and_is_unsure_above_its_supply() -> None:
    # 7 to 15 V: with 6 V or 18 V the output is not driven.
    for supply, works in ((6.0, False), (7.6, True), (14.4, True), (18.0, False)):
        text = NPN.replace("volts: 12.0 V", f"volts: {supply} V")
        assert (out(text, "shut") < 0.1) == works, supply


def test_least_and_most_supply_can_be_said_alone() -> None:
    text = NPN.replace("supply: 7..15 V", "least supply: 13 V")
    assert out(text, "shut") > 4.9
    text = NPN.replace("supply: 7..15 V", "most supply: 11 V")
    assert out(text, "shut") > 4.9


def test_a_rating_is_no_limit() -> None:
    # `supply: 12 V` says what it is sold for: a charging alternator does not stop it.
    text = NPN.replace("supply: 7..15 V", "supply: 12 V").replace("volts: 12.0 V", "volts: 14.6 V")
    assert out(text, "shut") < 0.1


def test_the_other_polarity_pulls_the_other_way() -> None:
    wrong = "sensor: wrong type fitted (NPN for PNP)"
    # To 12 V through 50 ohm against 4.95 kohm to 5 V.
    assert out(NPN, "shut", wrong) == pytest.approx(12 - 7 * 50 / 5000, abs=0.02)
    assert out(NPN, "open", wrong, held="sensor") == pytest.approx(12 - 7 * 50 / 5000, abs=0.02)
    # A PNP input has nothing that pulls up: grounded or let go, it stays low.
    assert out(PNP, "shut", wrong) < 0.2


def test_a_push_pull_in_its_place_drives_the_pull_up_away_at_rest() -> None:
    wrong = "sensor: push-pull type fitted"
    assert out(NPN, "shut", wrong) == pytest.approx(0.05, abs=2e-3)
    assert out(NPN, "open", wrong) == pytest.approx(12 - 7 * 50 / 5000, abs=0.02)


def test_a_type_for_a_higher_supply_starves_on_a_low_feed() -> None:
    text = NPN.replace("supply: 7..15 V", "supply: 4.5..15 V").replace("volts: 12.0 V", "volts: 5.0 V")
    assert out(text, "shut") < 0.1
    assert out(text, "shut", "sensor: type for a higher supply fitted") == pytest.approx(5.0, abs=0.05)

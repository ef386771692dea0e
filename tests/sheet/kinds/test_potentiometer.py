"""Potentiometers: wrong angle, a resistor end to end, slips and breaks; arithmetic beside each."""

from __future__ import annotations

import pytest

from tests.sheet.kinds.sensors import amps, levels, mode_of, solved, volts

TEXT = """
sheet: drive stick
system: 12 V
controls: {stick: [middle, ahead, back]}
runs:
  power: [battery+, controller.battery]
  ground: [controller.ground, frame]
  feed: [controller.feed, pot P1, controller.sensor ground]
  wiper: [P1.wiper, controller.stick input]
parts:
  battery: {volts: 12.0 V}
  pot P1: {track: 4 kohm, angle: 240 deg, levels: {stick middle: 50 %, stick ahead: 90 %, stick back: 10 %}}
  controller:
    feed: {volts: 8 V}
    stick input: {pull-down: 10 Mohm}
"""
POT = "potentiometer P1"


def wiper(stick: str, *faults: str, level: int = 0) -> float:
    solution = solved(TEXT, {"stick": stick}, *(f"{POT}: {f}" for f in faults), level=level)
    return volts(solution, f"{POT}.wiper", f"{POT}.3")


def near(value: float) -> object:
    return pytest.approx(value, abs=0.01)


def test_levels_of_the_track() -> None:
    assert [wiper(s) for s in ("back", "middle", "ahead")] == [near(0.8), near(4.0), near(7.2)]


def test_a_pot_of_340_degrees_for_one_of_240_swings_less_about_the_middle() -> None:
    # level' = 0.5 + (0.9 - 0.5) x 240/340 = 0.7824: of 8 V 6.259 V, and 1.741 V the other way.
    circuit = solved(TEXT, {"stick": "middle"}).stage.circuit
    grid = mode_of(circuit, f"{POT}: another angle fitted").changes[f"{POT}.lower track at stick ahead ohms"]
    assert grid == pytest.approx([4000 * (0.5 + 0.4 * 240 / a) for a in (270, 300, 340)])
    assert wiper("ahead", "another angle fitted", level=2) == near(6.259)
    assert wiper("back", "another angle fitted", level=2) == near(1.741)
    assert wiper("middle", "another angle fitted", level=2) == near(4.0)


def test_a_narrower_pot_reaches_its_end_early() -> None:
    # 0.5 + 0.4 x 340/240 is beyond the end of the track; half a percent of it is kept.
    text = TEXT.replace("240 deg", "340 deg")
    solution = solved(text, {"stick": "ahead"}, f"{POT}: another angle fitted")
    assert volts(solution, f"{POT}.wiper", f"{POT}.3") == near(0.995 * 8)


def test_a_resistor_end_to_end_changes_the_current_and_not_the_ratio() -> None:
    fault = f"{POT}: resistor put end to end across it"
    plain, added = (solved(TEXT, {"stick": "ahead"}, *f) for f in ((), (fault,)))
    assert volts(added, f"{POT}.wiper", f"{POT}.3") == near(7.2)
    # 8 V / 4 kohm = 2 mA; 2 kohm beside it takes 4 mA more.
    lower = f"{POT}.upper track at stick ahead"
    assert amps(plain, lower) == pytest.approx(2e-3, rel=2e-3)
    assert amps(added, lower) + amps(added, f"{POT}.resistor end to end") == pytest.approx(6e-3, rel=2e-3)


def test_slipped_turned_and_open() -> None:
    assert wiper("middle", "slipped on its shaft", level=0) == near(8 * 0.3)
    assert wiper("ahead", "works the other way round") == near(0.8)
    assert wiper("ahead", "track open") == near(0.0)
    # Beside terminal 3: the wiper rises to the whole feed.
    assert wiper("ahead", "track open beside terminal 3") == near(8.0)
    # A lifted wiper leaves the input to its own pull-down; what stands for open leaks some millivolts.
    solution = solved(TEXT, {"stick": "ahead"}, f"{POT}: wiper lifts", level=99)
    assert volts(solution, "controller.stick input", "controller.ground") == pytest.approx(0.0, abs=0.03)


def test_a_drifted_track_keeps_its_ratio() -> None:
    for level in range(levels(TEXT, f"{POT}: track drifted")):
        assert wiper("ahead", "track drifted", level=level) == near(7.2)

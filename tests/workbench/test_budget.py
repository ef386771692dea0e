"""Budgets against sums by hand, on invented circuits with small wires."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.workbench.budget import Budget

HEAD = """\
sheet: Rotary hoe, blade circuit
system: 12 V
controls: {key: [off, on], seat: [empty, seated]}
runs:
"""
PLAIN = (
    HEAD
    + """\
  main: [battery+, fuse F1 7.5 A, key switch, seat switch, coil Y1 3 ohm +-10 %, frame]
  beam: [battery+, fuse F2 5 A, lamp H1 24 W, frame]
"""
)
BOX = """\
sheet: Rotary hoe, box
system: 12 V
controls: {key: [off, on]}
runs:
  power: [battery+, fuse F1 10 A, key switch, box.battery]
  ground: [box.ground, frame, strap, battery-]
  feed: [box.feed, S1.supply]
  more: [box.feed, S2.supply]
  back: [S1.ground, box.sensor ground, S2.ground]
  out: [S1.output, box.bar input]
  other: [S2.output, box.gate input]
  valve: [box.valve output, coil Y1 6 ohm, frame]
parts:
  box:
    kind: controller
    feed: {volts: 5 V +-1 %, limit: 30 mA}
    valve output: {limit: 1.5 A}
    bar input: {pull-down: 40 kohm, bands: {0..2 V: open, 2.5..5.5 V: shut}}
    gate input: {pull-down: 40 kohm, bands: {0..2 V: open, 2.5..5.5 V: shut}}
  S1: {kind: ratiometric sensor, supply: 5 V, draw: 20 mA, output: {key on: 60 %}}
  S2: {kind: ratiometric sensor, supply: 5 V, draw: 20 mA, output: {key on: 60 %}}
functions:
  valve: {releases when: bar input is shut, drives: valve output}
"""


def made(text: str, state: str = "") -> Budget:
    return bp.budget(bp.parse_sheet(text), state)


def test_a_coil_against_its_fuse() -> None:
    found = made(PLAIN, "key on, seat seated")
    fuse = next(f for f in found.fuses if f.name == "fuse F1")
    # 12.6 V / 3 ohm = 4.2 A rested, 14 V / 3 ohm = 4.67 A running, 14 V / 2.7 ohm = 5.19 A, less the wires.
    assert found.volts == pytest.approx((12.6, 14))
    assert fuse.rested == pytest.approx(4.2, rel=0.08)
    assert fuse.running == pytest.approx(4.67, rel=0.08)
    assert fuse.most == pytest.approx(5.19, rel=0.1)
    assert fuse.rested < fuse.running < fuse.most < 5.19
    assert fuse.share == pytest.approx(fuse.running / 7.5)
    load = next(d for d in found.loads if d.name == "coil Y1")
    assert load.watts == pytest.approx(load.running**2 * 3, rel=1e-6)
    assert not [f for f in found.findings if f.wrong]


def test_ohms_law_holds_for_every_load_and_drops_add_up() -> None:
    found = made(PLAIN, "key on, seat seated")
    for load in found.loads:
        assert load.volts == pytest.approx(load.running * load.ohms, rel=1e-6)
    main = next(r for r in found.runs if r.name == "main")
    load = next(d for d in found.loads if d.name == "coil Y1")
    battery = 14 - sum(f.running for f in found.fuses) * 0.02
    # Kirchhoff: what the run loses and what the coil sees are what the posts give, the strap aside.
    assert main.drop + load.volts == pytest.approx(battery, abs=0.03)
    assert main.worst_watts == pytest.approx(main.worst_drop * main.amps, rel=1e-6)


def test_a_coil_that_would_blow_its_fuse_is_found_although_the_fuse_would_open() -> None:
    found = made(PLAIN.replace("3 ohm +-10 %", "0.8 ohm"), "key on, seat seated")
    fuse = next(f for f in found.fuses if f.name == "fuse F1")
    assert fuse.share > 1.6
    finding = next(f for f in found.findings if f.field == "fuse F1")
    assert finding.wrong
    assert finding.line == 5
    assert "7.50 A" in finding.arithmetic
    assert "never a larger fuse" in finding.right


def test_without_a_state_it_takes_one_in_which_something_flows() -> None:
    found = made(PLAIN.replace("3 ohm +-10 %", "0.8 ohm"))
    assert dict(found.setup.state) == {"key": "on", "seat": "seated"}


def test_a_lamp_draws_ten_times_as_much_cold() -> None:
    found = made(PLAIN, "key on, seat seated")
    fuse = next(f for f in found.fuses if f.name == "fuse F2")
    # 24 W at 12 V is 6 ohm: 14 V / 6 ohm = 2.33 A, cold 0.6 ohm: below 23 A by its wires.
    assert fuse.running == pytest.approx(2.33, rel=0.05)
    assert 12 < fuse.inrush < 23.4


def test_a_feed_is_asked_for_the_sum_of_its_sensors() -> None:
    found = made(BOX, "key on")
    feed = next(f for f in found.feeds if f.name == "box.feed")
    # Two sensors of 20 mA at 5 V on a feed of 30 mA, and their dividers of 1 kohm.
    assert feed.running == pytest.approx(0.040, rel=0.35)
    assert feed.running > 0.030
    finding = next(f for f in found.findings if f.field == "box.feed")
    assert finding.wrong
    assert "30.0 mA" in finding.arithmetic


def test_a_driver_is_held_against_its_limit() -> None:
    found = made(BOX.replace("limit: 30 mA", "limit: 300 mA"), "key on")
    driver = next(d for d in found.drivers if d.name == "box.valve output")
    # 14 V / 6.1 ohm = 2.3 A asked of 1.5 A.
    assert driver.running == pytest.approx(2.3, rel=0.08)
    assert driver.share == pytest.approx(driver.running / 1.5)
    assert [f.field for f in found.findings if f.wrong] == ["box.valve output"]


def test_parked_amperes_empty_the_battery_in_days() -> None:
    found = bp.budget(bp.parse_sheet(PLAIN), "key on, seat seated", capacity=60)
    # The lamp has no switch: 12.6 V / 6 ohm = 2.1 A for ever, 60 Ah / 2.1 A = 28.6 h.
    assert found.parked == pytest.approx(2.1, rel=0.05)
    assert found.days == pytest.approx(60 / found.parked / 24)


def test_a_thin_long_wire_is_named_as_the_one_that_loses_most() -> None:
    text = PLAIN.replace("key switch, seat", "key switch, wire 30 m 0.5 mm2 RD, seat")
    found = made(text, "key on, seat seated")
    finding = next(f for f in found.findings if f.field == "runs.main")
    assert not finding.wrong
    assert "wire" in finding.right


def test_a_machine_without_a_battery_has_a_budget_too() -> None:
    text = """\
sheet: Hand mower, clutch
system: 12 V
controls: {blade switch: [released, pushed]}
runs:
  feed: [alternator case, alternator stud, fuse F1 10 A, blade switch, coil clutch 4 ohm, frame]
  back: [alternator case, frame]
"""
    found = made(text, "blade switch pushed")
    assert found.parked == 0
    assert found.fuses[0].running == pytest.approx(found.volts[1] / 4, rel=0.15)


SHORT = "wire 0.2 m 4 mm2 RD"


@pytest.mark.parametrize(
    ("old", "new", "fuse", "says"),
    [
        # 14 V / 3 ohm, less its wires, is about 4.4 A: 87 % of 5 A holds, but warm.
        ("F1 7.5 A", "F1 5 A", "fuse F1", "for hours 80 %"),
        # 14 V / (1.2 + about 0.2) ohm is about 9.8 A of 7.5 A.
        ("3 ohm +-10 %", "3 ohm +-60 %", "fuse F1", "lowest ohms"),
        # 24 W is 6 ohm, cold 0.6 ohm: 14 V / 0.7 ohm = 20 A of 3 A.
        ("fuse F2 5 A", f"{SHORT}, fuse F2 3 A, {SHORT}", "fuse F2", "cold filaments"),
    ],
)
def test_what_is_worth_a_look_names_its_sum(old: str, new: str, fuse: str, says: str) -> None:
    assert old in PLAIN
    text = PLAIN.replace(old, new).replace("lamp H1 24 W, frame", f"lamp H1 24 W, {SHORT}, frame")
    hits = [f for f in made(text, "key on, seat seated").findings if f.field == fuse]
    assert hits
    assert says in hits[0].arithmetic
    assert not hits[0].wrong


def test_a_breaker_is_held_against_its_rating_without_a_fuse_s_times() -> None:
    text = PLAIN.replace("fuse F1 7.5 A", "circuit breaker Q1 3 A")
    found = made(text, "key on, seat seated")
    breaker = next(f for f in found.fuses if f.kind == "circuit breaker")
    # About 4.4 A of 3 A, although it would have tripped.
    assert breaker.share == pytest.approx(4.4 / 3, rel=0.05)
    assert breaker.time is None
    assert next(f for f in found.findings if f.field == breaker.name).wrong


def test_a_state_may_be_words_a_mapping_or_a_setup() -> None:
    sheet = bp.parse_sheet(PLAIN)
    by_words = bp.budget(sheet, "key on, seat seated")
    by_names = bp.budget(sheet, {"key": "on", "seat": "seated"})
    by_setup = bp.budget(bp.Engine(sheet), by_words.setup)
    assert by_words.fuses == by_names.fuses == by_setup.fuses


def test_an_unknown_state_is_refused() -> None:
    with pytest.raises(bp.ReadingError):
        made(PLAIN, "key sideways")

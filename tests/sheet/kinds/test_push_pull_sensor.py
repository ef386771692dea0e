"""Push-pull sensors: driven both ways, never let go; volts by Ohm's law."""

from __future__ import annotations

import pytest

from tests.sheet.kinds.sensors import solved, volts

SHEET = """
sheet: bar sensor
system: 12 V
controls: {{bar: [up, down]}}
runs:
  supply: [battery+, bar sensor.supply]
  signal: [bar sensor.output, controller.bar input]
  ground: [bar sensor.ground, frame]
  box: [controller.ground, frame]
parts:
  battery: {{volts: 12.0 V}}
  bar sensor:
    kind: push-pull sensor
    supply: 7..15 V
    driven ohms: 100 ohm
    high: {{bar: down}}
    target gives: {gives}
  controller:
    bar input: {{pull-up: 10 kohm, pull-up volts: 6 V, pull-down: 10 kohm}}
"""
TEXT = SHEET.format(gives="high")
LET_GO = 3.0
"""Volts of the input alone: 6 V halved by two times 10 kohm, 5 kohm behind it."""
HIGH = 12 - 9 * 100 / 5100
LOW = LET_GO * 100 / 5100


def out(bar: str, *faults: str, level: int = 0, held: str = "", text: str = TEXT) -> float:
    return volts(
        solved(text, {"bar": bar}, *(f"bar sensor: {f}" for f in faults), level=level, held=held),
        "bar sensor.output",
    )


def near(value: float) -> object:
    return pytest.approx(value, abs=0.02)


def test_it_drives_both_ways() -> None:
    assert out("down") == near(HIGH)
    assert out("up") == near(LOW)
    assert out("up", held="bar sensor") == near(HIGH)


@pytest.mark.parametrize(
    "fault", ["gap too wide", "target missing", "target out of line, switches now and then"]
)
def test_with_nothing_before_the_face_it_stays_as_without_a_target(fault: str) -> None:
    assert out("down", fault) == near(LOW)
    assert out("down", fault, held="bar sensor") == near(HIGH)


@pytest.mark.parametrize("fault", ["shipping keeper left on", "does not switch"])
def test_a_blind_one_does_not_answer_to_steel(fault: str) -> None:
    assert out("down", fault) == near(LOW)
    assert out("down", fault, held="bar sensor") == near(LOW)


def test_the_type_whose_target_gives_low() -> None:
    text = SHEET.format(gives="low")
    assert out("up", text=text) == near(LOW)
    assert out("up", "target missing", text=text) == near(HIGH)
    assert out("down", held="bar sensor", text=text) == near(LOW)


def test_stuck_weak_and_broken() -> None:
    assert out("up", "stuck on") == near(HIGH)
    # Thirty times 100 ohm against 5 kohm behind 3 V: 12 - 9 x 3/8 and 3 x 3/8.
    assert out("down", "output weak", level=1) == near(12 - 9 * 3 / 8)
    assert out("up", "output weak", level=1) == near(3 * 3 / 8)
    for bar in ("up", "down"):
        assert out(bar, "output broken inside") == near(LET_GO)


def test_an_open_collector_in_its_place_lets_go_where_it_should_drive() -> None:
    low_only, high_only = (f"open-collector type fitted (only pulls {w})" for w in ("low", "high"))
    assert (out("down", low_only), out("up", low_only)) == (near(LET_GO), near(LOW))
    assert (out("down", high_only), out("up", high_only)) == (near(HIGH), near(LET_GO))


def test_two_controls_that_must_both_stand_right() -> None:
    text = TEXT.replace("{bar: [up, down]}", "{bar: [up, down], seat: [empty, seated]}")
    text = text.replace("high: {bar: down}", "high: {bar: down, seat: seated}")
    for seat, bar, expected in (("seated", "down", HIGH), ("empty", "down", LOW), ("seated", "up", LOW)):
        solution = solved(text, {"bar": bar, "seat": seat})
        assert volts(solution, "bar sensor.output") == near(expected)

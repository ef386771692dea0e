"""Speed pick-ups with and without a pull-up of their own; volts by Ohm's law."""

from __future__ import annotations

import pytest

from tests.sheet.kinds.sensors import solved, volts

SHEET = """
sheet: speed of the brush
system: 12 V
controls: {{wheel: [gap, tooth]}}
runs:
  supply: [battery+, brush pick-up.supply]
  signal: [brush pick-up.output, controller.speed input]
  ground: [brush pick-up.ground, frame]
  box: [controller.ground, frame]
parts:
  battery: {{volts: 12.0 V}}
  brush pick-up: {{kind: speed pick-up, supply: 6..15 V, pulls: {{wheel: tooth}}, pulled ohms: 40 ohm{own}}}
  controller:
    speed input: {pull}
"""
BY_BOX = SHEET.format(own="", pull="{pull-up: 4 kohm, pull-up volts: 9 V}")
BY_ITSELF = SHEET.format(own=", pull-up ohms: 2 kohm", pull="{pull-down: 22 kohm}")


def out(text: str, wheel: str, *faults: str, level: int = 0, held: str = "") -> float:
    names = (f"brush pick-up: {f}" for f in faults)
    return volts(solved(text, {"wheel": wheel}, *names, level=level, held=held), "brush pick-up.output")


def near(value: float) -> object:
    return pytest.approx(value, abs=0.04)


def test_pulled_up_by_the_controller() -> None:
    # 9 V x 40 / 4040 at a tooth; 9 V less the leak of 1 Mohm in a gap.
    assert out(BY_BOX, "tooth") == near(0.089)
    assert out(BY_BOX, "gap") == near(9.0)


def test_pulled_up_by_itself() -> None:
    # 12 V x 22 / 24 in a gap; 12 V x 40 / 2040 at a tooth.
    assert out(BY_ITSELF, "gap") == near(11.0)
    assert out(BY_ITSELF, "tooth") == near(0.235)
    assert out(BY_ITSELF, "gap", "own pull-up open") == near(0.0)


def test_one_with_a_pull_up_lifts_the_controllers_own() -> None:
    # 12 V through 1 kohm against 9 V through 4 kohm: 12 - 3/5 V.
    assert out(BY_BOX, "gap", "type with a pull-up of its own fitted") == near(11.4)


def test_a_wheel_out_of_reach_never_pulls_and_steel_by_hand_does() -> None:
    for fault in ("gap too wide", "target missing"):
        assert out(BY_BOX, "tooth", fault) == near(9.0)
        assert out(BY_BOX, "gap", fault, held="brush pick-up") == near(0.089)

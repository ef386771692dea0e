"""A sensor that is only named: no level, no state, no number, and still a sheet that ranks."""

from __future__ import annotations

import pytest

import backprobe as bp

THREE_WIRES = ("open-collector sensor", "push-pull sensor", "ratiometric sensor", "speed pick-up")
TWO_WIRES = ("two-wire sensor", "coil pick-up", "sender", "potentiometer")


@pytest.mark.parametrize("kind", THREE_WIRES)
def test_three_wires_and_nothing_said(kind: str) -> None:
    sheet = bp.parse_sheet(
        f"""
sheet: bare {kind}
runs:
  supply: [battery+, eye.supply]
  signal: [eye.output, resistor R1 10 kohm, frame]
  ground: [eye.ground, frame]
parts:
  eye: {{kind: {kind}}}
""",
        file="bare",
    )
    answer = bp.rank(sheet, "eye.supply to battery-: 12.6 V\neye.supply to battery-: 12.6 V")
    assert answer.suspects
    assert bp.next_checks(answer)


@pytest.mark.parametrize("kind", TWO_WIRES)
def test_two_wires_and_nothing_said(kind: str) -> None:
    sheet = bp.parse_sheet(
        f"""
sheet: bare {kind}
runs:
  loop: [battery+, resistor R1 1 kohm, eye, frame]
parts:
  eye: {{kind: {kind}}}
""",
        file="bare",
    )
    answer = bp.rank(sheet, "before eye to battery-: 12.55 V")
    assert any(s.name.startswith("eye:") and "open" in s.name for s in answer.suspects)

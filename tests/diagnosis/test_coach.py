"""What to mind before a reading is believed, and only where it applies."""

from __future__ import annotations

import pytest

import backprobe as bp

SHEET = """
sheet: Vine lifter, hold valve
system: 24 V
controls: {key: [off, on], gate: [open, shut]}
runs:
  power:  [battery+, fuse F1 10 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, wire 1 m 2.5 mm2, ring G1, frame, strap, battery-]
  guard:  [key switch, C4-1, gate switch, C4-2, wire 3 m 0.75 mm2, C1-3, controller.gate input]
  valve:  [controller.hold output, C1-4, wire 4 m 1.5 mm2, C3-1, coil Y1 36 ohm, C3-2, wire, ring G2, frame]
connectors: {C1: {part: controller}, C3: {part: coil Y1}, C4: {part: gate switch}}
parts:
  gate switch: {closed: {gate: shut}}
  controller: {gate input: {pull-down: 20 kohm, bands: {0..6 V: open, 12..30 V: shut}}}
functions:
  hold: {releases when: gate input is shut, drives: hold output, guard: gate is shut}
"""
ON = "key on, gate shut"


@pytest.fixture(scope="module")
def engine() -> bp.Engine:
    return bp.Engine(bp.parse_sheet(SHEET))


CASES = {
    # key on: battery volts stand between the leads
    f"ohms C1-1 to frame, {ON}": {
        "live",
    },
    # a ground path that carries the controller's and the valve's current
    f"ohms G2 lug to battery-, {ON}": {"live"},
    # the coil alone, off its plug: 36 ohm, whatever the key says
    f"ohms C3-1 part side to C3-2 part side, {ON}, C3 unplugged": set(),
    # a few milliohm
    "ohms G2 lug to frame": {"leads"},
    "G2 lug to frame: 0.2 ohm, leads taken off": set(),
    # an output without its controller
    f"C3-1 to battery-, {ON}, C1 unplugged": {"output", "unplugged"},
    # an open plug shows supply without a load
    f"C3-1 machine side to battery-, {ON}, C3 unplugged": {"load"},
    f"C3-1 to frame, {ON}": {"frame"},
    f"C3-1 to battery-, {ON}": set(),
    "coil Y1 works on an outside 24 V battery, C3 unplugged": {"outside"},
}


@pytest.mark.parametrize("line", CASES)
def test_only_what_applies_is_said(line: str, engine: bp.Engine) -> None:
    assert {a.kind for a in bp.coach(engine, line)} == CASES[line]


def test_unplugged_is_said_with_both_values(engine: bp.Engine) -> None:
    said = {a.kind: a.text for a in bp.coach(engine, f"C3-1 to battery-, {ON}, C1 unplugged")}
    assert "shows 0 V here, plugged 2" in said["unplugged"]
    assert "Plug C1 on and read at its rear" in said["output"]


def test_a_lifted_return_shows_supply(engine: bp.Engine) -> None:
    """With the ring off, the coil's far end is joined to the supply through the coil."""
    said = {a.kind: a.text for a in bp.coach(engine, f"C3-2 to battery-, {ON}, G2 unplugged")}
    assert "with ring G2 off a sound circuit shows 2" in said["unplugged"]


def test_a_floating_point_wants_a_load(engine: bp.Engine) -> None:
    said = {
        a.kind: a.text for a in bp.coach(engine, f"C3-1 machine side to battery-, {ON}, C1 and C3 unplugged")
    }
    assert "ghost" in said


def test_sheet_reading_and_check_are_taken_alike(engine: bp.Engine) -> None:
    answer = bp.rank(engine, f"hold dead, {ON}, all plugged")
    check = next(c for c in bp.next_checks(answer) if c.candidate.red is not None)
    assert bp.coach(engine, check) == bp.coach(engine, check.candidate.as_reading())
    line = f"C3-1 to frame: 24.1 V, {ON}, all plugged"
    reading = bp.parse_reading(line, engine.sheet)
    assert bp.coach(engine.sheet, line) == bp.coach(engine, reading)


def test_a_whole_setup(engine: bp.Engine) -> None:
    setup = bp.make_setup(engine.sheet, {"key": "on"}, frozenset({"C1"}))
    assert [a.kind for a in bp.coach_setup(engine, setup, "frame")] == ["output", "load", "frame"]
    assert bp.coach_setup(engine, bp.make_setup(engine.sheet, {"key": "on"})) == ()


def test_nothing_said_runs_a_machine_past_its_guard(engine: bp.Engine) -> None:
    [advice] = bp.coach(engine, f"hold works, jumper C4-1 to C4-2, {ON}")
    assert advice.text.startswith("For this test only, and never to run the machine")

"""Metal bodies as points of their own: a lost engine strap raises the engine. Ohm's law by hand."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.readings.points import find_point, reachable_points
from tests.sheet.kinds.faulty import circuit_of, solved, volts

SHEET = """
sheet: Two bodies
controls: {key: [off, on]}
bodies: [engine, cab]
runs:
  valve: [battery+, key, coil Y1 10 ohm, ring G3, engine]
  lamp: [battery+, key, resistor R1 20 ohm, ring G4, cab]
  engine strap: [engine, strap E1, frame]
  cab strap: [cab, strap E2, frame]
parts:
  battery: {volts: 12 V}
"""


def test_sound_all_metal_is_at_nought() -> None:
    solution = solved(circuit_of(SHEET), {"key": "on"})
    for body in ("engine", "cab", "frame"):
        assert abs(volts(solution, body)) < 0.01


def test_a_lost_engine_strap_raises_the_engine_and_not_the_cab() -> None:
    solution = solved(circuit_of(SHEET), {"key": "on"}, "strap E1: off or broken")
    # Nothing else takes the engine's current away: it stands at the battery's volts, the valve has none.
    assert volts(solution, "engine") == pytest.approx(12, abs=0.05)
    assert abs(volts(solution, "coil Y1.1", "coil Y1.2")) < 0.01
    assert abs(volts(solution, "cab")) < 0.01


def test_a_corroded_engine_strap_raises_it_by_current_times_ohms() -> None:
    # Level 6 is 10 ohm in series with 10 ohm of coil and some 0.1 ohm: half the volts each.
    solution = solved(
        circuit_of(SHEET), {"key": "on"}, "strap E1: bad lug or strap (high resistance)", level=6
    )
    assert volts(solution, "engine", "frame") == pytest.approx(12 * 10 / 20.1, rel=0.01)
    assert volts(solution, "ring G3.lug", "engine") == pytest.approx(0.6 * 0.002, rel=0.05)


@pytest.mark.parametrize(
    ("said", "terminal"),
    [
        ("engine", "engine"),
        ("bare engine", "engine"),
        ("engine block", "engine"),
        ("Engine metal", "engine"),
        ("body cab", "cab"),
        ("chassis", "frame"),
        ("body", "frame"),
    ],
)
def test_a_lead_touches_them_by_name(said: str, terminal: str) -> None:
    point = find_point(said, bp.parse_sheet(SHEET))
    assert point is not None
    assert point.terminal == terminal


def test_they_are_offered_as_points_and_read_as_such() -> None:
    sheet = bp.parse_sheet(SHEET)
    assert {"engine", "cab", "frame"} <= {p.name for p in reachable_points(sheet)}
    answer = bp.rank(sheet, "coil Y1 dead, key on\nbare engine to frame: 11.9 V, key on")
    assert answer.groups[0].suspects[0].names[0].startswith("strap E1: ")


def test_what_nobody_drew_is_strapped_to_the_frame() -> None:
    sheet = bp.parse_sheet(SHEET.replace("  engine strap: [engine, strap E1, frame]\n", ""))
    assert [i.text for i in sheet.runs["engine return"].items] == ["engine", "strap engine to frame", "frame"]
    assert sheet.parts["strap engine to frame"].implied


def test_a_body_may_stand_on_another_or_on_the_battery() -> None:
    text = SHEET.replace("[cab, strap E2, frame]", "[cab, strap E2, engine]")
    text = text.replace("[engine, strap E1, frame]", "[engine, strap E1, battery-]")
    sheet = bp.parse_sheet(text)
    assert not [p for p in sheet.parts if p.startswith("strap ") and sheet.parts[p].implied]
    solution = solved(circuit_of(text), {"key": "on"}, "strap E1: off or broken")
    assert volts(solution, "cab", "engine") < 0.01 < volts(solution, "cab")


def test_two_bodies_side_by_side_have_a_strap_between_them() -> None:
    sheet = bp.parse_sheet(SHEET.replace("ring G4, cab]", "ring G4, cab, engine]"))
    assert "strap cab to engine" in [i.part for i in sheet.runs["lamp"].items]


def test_a_part_that_meets_a_body_has_a_lug() -> None:
    sheet = bp.parse_sheet(SHEET.replace("ring G3, engine", "engine"))
    assert sheet.runs["valve"].items[-2].part == "ground lug of coil Y1"


def test_a_strap_at_the_end_of_a_run_brings_its_body_along() -> None:
    sheet = bp.parse_sheet(SHEET.replace("bodies: [engine, cab]\n", ""))
    assert sheet.bodies == ("engine", "cab")


def test_without_bodies_all_metal_is_the_frame() -> None:
    sheet = bp.sketch("battery+ > coil Y1 9 ohm > chassis; battery+ > lamp H1 5 W > ground")
    assert sheet.bodies == ()
    assert [r.items[-1].enter for r in list(sheet.runs.values())[:2]] == ["frame", "frame"]


@pytest.mark.parametrize(
    ("bodies", "said"),
    [
        ("engine", "bodies: is not a list of names"),
        ("[frame, engine, cab]", "'frame' is the frame or a post by any other name"),
        ("[chassis, engine, cab]", "'chassis' is the frame or a post"),
        ("[engine, cab, Engine]", "'Engine' stands twice"),
        ("[engine, cab, C1-3]", "'C1-3' is no name for a metal body"),
        ("[engine, cab, lamp]", "'lamp' is no name for a metal body"),
        ("[engine, cab, boom]", "'boom' is on no run"),
    ],
)
def test_what_is_wrong_with_bodies_is_said(bodies: str, said: str) -> None:
    with pytest.raises(bp.SheetError, match=said.replace("[", r"\[")):
        bp.parse_sheet(SHEET.replace("[engine, cab]", bodies, 1))


def test_an_unknown_body_is_refused() -> None:
    with pytest.raises(bp.SheetError, match="'bonnet' is neither a point nor a known part"):
        bp.sketch("battery+ > coil Y1 9 ohm > bonnet")

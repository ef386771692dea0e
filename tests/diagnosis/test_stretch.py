"""Look-alikes in a row are said as a stretch of wiring, which the next check halves.

To halve what is left is common practice, no source. Circuits are invented; where the stretch ends follows
by hand: upstream of a break all points stand at the supply, downstream of it all stand at the return.
"""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.demo.story import demo_sheets
from backprobe.diagnosis.answer import Group
from backprobe.diagnosis.stretch import cuts, stretches
from backprobe.report.data import answer_data
from backprobe.report.schemas import SCHEMAS
from backprobe.report.stretch_words import ALIKE, group_words
from backprobe.report.words import answer_text, brief_text, headline
from tests.cli.helpers import misfits

CHAIN = """
sheet: Row of switches
system: 12 V
controls: {key: [off, on]}
runs:
  row:  [battery+, fuse F1 5 A, C1-1, wire 1 m 1 mm2, C2-1, bar switch, C2-2, wire 1 m 1 mm2, C3-1, key, C3-2,
         wire 2 m 1 mm2, C4-1, coil Y1 12 ohm, C4-2, ring G1, frame]
  back: [frame, strap, battery-]
connectors: {C2: {part: bar switch}, C3: {part: key}, C4: {part: coil Y1}}
parts:
  bar switch: {kind: switch, closed: {key: [off, on]}}
"""
DEAD = "state: key on, all plugged\nY1 dead\n"


def leading(sheet: bp.Sheet, text: str) -> tuple[bp.Answer, tuple[tuple[str, str], ...]]:
    answer = bp.rank(sheet, text)
    return answer, tuple((s.start, s.end) for s in stretches(answer, answer.groups[0]))


def test_between_the_last_live_point_and_the_first_dead_one() -> None:
    sheet = bp.parse_sheet(CHAIN)
    answer, found = leading(sheet, DEAD + "C1-1 to battery-: 12.5 V\nC4-1 to battery-: 0 V")
    assert len(answer.groups[0].suspects) > 8
    # C1-1 is live and C4-1 dead at its rear: the break is behind the one and before the other.
    assert found == (("C1-1", "C4-1"),)
    [stretch] = stretches(answer, answer.groups[0])
    held = {n.partition(":")[0] for s in stretch.suspects for n in s.names}
    assert {"bar switch", "C2-1", "C3-2"} <= held
    assert not held & {"fuse F1", "coil Y1", "C4-2", "ring G1"}


def test_the_next_check_cuts_it_down_and_the_next_stretch_is_shorter() -> None:
    sheet = bp.parse_sheet(CHAIN)
    text = DEAD + "C1-1 to battery-: 12.5 V\nC4-1 to battery-: 0 V\n"
    answer, _ = leading(sheet, text)
    found = stretches(answer, answer.groups[0])
    checks = bp.next_checks(answer)
    assert cuts(checks[0], found)
    data = answer_data(answer, checks)
    assert not misfits(data, SCHEMAS["rank"])
    assert [(s["start"], s["end"]) for s in data["groups"][0]["series"]] == [("C1-1", "C4-1")]  # type: ignore[index, call-overload, union-attr]
    said = " ".join(answer_text(answer, checks).split())
    assert "What lies from C1-1 to C4-1 looks alike. The next check cuts that down." in said
    after, shorter = leading(sheet, text + "C3-1 to battery-: 0 V")
    assert shorter == (("C1-1", "C3-1"),)
    assert len(after.groups[0].suspects) < len(answer.groups[0].suspects)


def test_the_list_is_folded_and_the_headline_says_where() -> None:
    sheet = bp.parse_sheet(CHAIN)
    answer, _ = leading(sheet, DEAD + "C1-1 to battery-: 12.5 V\nC4-1 to battery-: 0 V")
    count = len(answer.groups[0].suspects)
    assert headline(answer).startswith(
        f"Still {count} possibilities, in series from C1-1 to C4-1. First guess: "
    )
    said = " ".join(answer_text(answer).split())
    assert "somewhere from C1-1 to C4-1:" in said
    assert f"and {count - 3} less likely ones" in said
    brief = " ".join(brief_text(answer).split())
    assert "somewhere from C1-1 to C4-1: " in brief
    assert f"or {count - 3} others" in brief


def test_of_two_ways_between_the_same_points_each_is_named_by_what_it_goes_through() -> None:
    text = """
sheet: Pair with two ends
controls: {key: [off, on]}
runs:
  high: [C1-1, splice S1, C2-1]
  low: [C1-2, splice S2, C2-2]
  one: [C1-1, terminator one, C1-2]
  two: [C2-1, terminator two, C2-2]
  box: [splice S1, C3-1, box.high]
  box back: [box.low, C3-2, splice S2]
parts: {terminator one: {kind: terminator}, terminator two: {kind: terminator}, box: {kind: bus node}}
"""
    # 120 ohm where 60 belong: one end or its wires are missing, and nobody can say which.
    answer = bp.rank(bp.parse_sheet(text), "state: key off, all plugged\nC3-1 to C3-2: 121 ohm")
    found = stretches(answer, answer.groups[0])
    assert {s.through for s in found} == {"terminator one", "terminator two"}
    assert {frozenset((s.start, s.end)) for s in found} == {frozenset(("splice S1", "splice S2"))}
    assert " through terminator one" in " ".join(answer_text(answer).split())


def test_of_a_relay_only_the_way_in_question_counts() -> None:
    sheet = demo_sheets()["dumper"]
    head = "state: key start, seat seated, lever neutral, brake set, all plugged\nstarter dead\n"
    relay = "relay K2 does not click, C6 unplugged\nC9-2 to frame: 12.34 V, C6 unplugged\n"
    answer, found = leading(sheet, head + relay)
    assert found == (("C9-2", "ring G4"),)
    [stretch] = stretches(answer, answer.groups[0])
    names = {n for s in stretch.suspects for n in s.names}
    assert "relay K2: coil open" in names
    assert "relay K2: contact burnt" not in names


@pytest.mark.parametrize("line", ["gate lamp 3 flashes", "C2-3 to battery-: 4.18 V"])
def test_what_branches_is_no_stretch(line: str) -> None:
    # Supply, signal and ground of one sensor: three rows, none of which holds most of what is possible.
    state = "state: key on, gate shut, boom button pressed, all plugged\nboom dead\n"
    answer, found = leading(demo_sheets()["sprayer"], state + line)
    assert len(answer.groups[0].suspects) > 8
    assert found == ()
    assert "one of these, alike by these readings:" in answer_text(answer)


def test_few_are_named_one_by_one() -> None:
    sheet = bp.parse_sheet(CHAIN)
    answer, found = leading(sheet, DEAD + "C1-1 to battery-: 12.5 V\nC4-1 to battery-: 0 V")
    assert found
    few = Group(answer.groups[0].suspects[:3])
    assert stretches(answer, few) == ()
    assert group_words(answer, few) == ALIKE

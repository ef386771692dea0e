"""Cautions name what a sheet has, and only what can happen in the state of the check."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.circuit.setup import Setup
from backprobe.diagnosis.at_switch import across_switches
from backprobe.diagnosis.cautions import CRANKS, MOVES, cautions_of, may_move
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.checks import Candidate
from backprobe.diagnosis.coach import coach
from backprobe.diagnosis.guard_tries import EITHER_ALONE, LET_GO, guard_tries
from backprobe.diagnosis.seen import FALSE_SIGN, by_eye
from backprobe.diagnosis.split import splitting_check
from backprobe.diagnosis.stop import one_part, stop_rule
from backprobe.readings.points import find_point
from backprobe.report.check_words import (
    off_again,
    plug_words,
    repair_advice,
    side_words,
    stop_words,
    why_words,
    worth_doing,
)
from backprobe.report.layout import percent
from backprobe.report.words import answer_text, headline
from tests.jobs.test_repairs import READ, SHEET

REST = {"key": "off", "brake": "released", "seat": "empty"}
START = {"key": "start", "brake": "set", "seat": "seated"}
LEVER = SHEET.replace("seat: [empty, seated]}", "seat: [empty, seated], lever: [neutral, forward]}")
CONTACT = SHEET.replace(
    "functions:",
    "  crank: [battery+, fuse F2 40 A, relay contact K1, C6-1, coil M1 1.3 ohm, frame]\nfunctions:",
).replace("relay K1: {loads: relay K1", "starter: {loads: coil M1")


@pytest.fixture(scope="module")
def engine() -> bp.Engine:
    return bp.Engine(bp.parse_sheet(SHEET))


def setup(state: dict[str, str], *unplugged: str) -> Setup:
    return Setup(tuple(sorted(state.items())), frozenset(unplugged))


def told(engine: bp.Engine, state: dict[str, str], *unplugged: str, black: str = "battery-") -> str:
    where = setup(state, *unplugged)
    ends = [find_point(name, engine.sheet, where.unplugged) for name in ("before brake switch", black)]
    return " ".join(cautions_of(Candidate("volts", where, ends[0], ends[1]), engine, where))


def test_with_the_key_off_nothing_can_move(engine: bp.Engine) -> None:
    assert not may_move(engine, setup(REST))
    assert MOVES not in told(engine, REST)
    assert "crank" not in told(engine, REST)


def test_a_guard_that_is_open_may_be_what_is_faulty(engine: bp.Engine) -> None:
    assert may_move(engine, setup({**START, "seat": "empty"}))


def test_no_lever_is_named_on_a_machine_without_one(engine: bp.Engine) -> None:
    assert CRANKS.removesuffix(".") in told(engine, START)
    assert "lever" not in told(engine, START)
    other = bp.Engine(bp.parse_sheet(LEVER))
    assert "lever in neutral" in told(other, {**START, "lever": "neutral"})


def test_holding_the_key_with_somebody_seated_needs_a_second_person(engine: bp.Engine) -> None:
    keeps = (
        "second person: one keeps key start, brake set (if it is a pedal) and seat seated, the other reads"
    )
    assert keeps in told(engine, START)
    assert "second person" not in told(engine, {**START, "key": "on"})
    assert "second person" not in told(engine, {**START, "seat": "empty"})


def test_the_starter_is_kept_still_where_the_sheet_has_a_plug_for_it(engine: bp.Engine) -> None:
    assert "small wire off the starter" in told(engine, START)
    other = bp.Engine(bp.parse_sheet(CONTACT))
    assert "Unplug C6 first" in told(other, START)
    # With that plug off it cannot crank any more, and nobody is frightened.
    assert "crank" not in told(other, START, "C6")


def test_wheels_are_blocked_before_the_brake_is_released(engine: bp.Engine) -> None:
    at = setup(REST, "C1")
    ends = [find_point(n, engine.sheet, at.unplugged) for n in ("before brake switch", "after brake switch")]
    found = cautions_of(Candidate("ohms", at, ends[0], ends[1]), engine, setup(START))
    assert "Wheels blocked before the brake is released." in found


def test_a_proposed_check_is_not_contradicted_by_a_note_on_its_own_lead(engine: bp.Engine) -> None:
    line = "before brake switch to frame: 12.5 V, key start, brake set, seat seated, all plugged"
    reading = bp.parse_readings(line, engine.sheet)[0]
    assert "frame" in {a.kind for a in coach(engine, reading)}
    assert "frame" not in {a.kind for a in coach(engine, reading, asked=True)}
    ends = [find_point(n, engine.sheet) for n in ("before brake switch", "frame")]
    check = Candidate("volts", setup(START), ends[0], ends[1])
    assert "frame" not in {a.kind for a in coach(engine, check)}


def test_black_goes_to_the_battery_where_the_frame_would_tell_hardly_more(engine: bp.Engine) -> None:
    first = bp.next_checks(bp.rank(engine, READ[0]))[0].candidate
    assert first.black is not None
    assert first.black.name == "battery-"


def test_nobody_sees_what_is_worn_inside_a_switch(engine: bp.Engine) -> None:
    lines = "\n".join(READ)
    before = {s.name: s.probability for s in bp.rank(engine, lines).suspects}
    after = {
        s.name: s.probability for s in bp.rank(engine, f"{lines}\nlooked at brake switch: fine").suspects
    }
    name = "brake switch: does not close"
    assert after[name] == pytest.approx(before[name], rel=0.05)
    look = Candidate("looked", setup(START), part="brake switch")
    assert "inside" in {a.kind for a in coach(engine, look)}


def test_a_wrong_contact_set_weighs_little_unless_somebody_worked_there() -> None:
    sheet = bp.parse_sheet(SHEET)

    def share(*circumstances: str) -> float:
        catalogue = bp.Engine(sheet, circumstances).catalogue
        at = {m.name: k for k, m in enumerate(catalogue.modes)}
        wrong = at["brake switch: wrong contact set fitted (NO for NC)"]
        return catalogue.prior_of(wrong) / catalogue.prior_of(at["brake switch: does not close"])

    assert share() < 0.05
    assert share("after repair") > 5 * share()


def test_ohms_in_both_positions_tell_a_wrong_contact_set_from_a_dead_contact(engine: bp.Engine) -> None:
    answer = bp.rank(engine, "\n".join(READ))
    group = answer.groups[0]
    pair = [s for s in group.suspects if "does not close" in s.name or "wrong contact set" in s.name]
    split = splitting_check(answer, (), type(group)(tuple(pair)))
    assert split is not None
    candidate = split.check.candidate
    assert candidate.kind == "ohms"
    assert dict(candidate.setup.state)["key"] == "off"
    assert split.separated == pytest.approx(1)
    states = {dict(c.candidate.setup.state)["brake"] for c in across_switches(answer, group)}
    assert states == {"released", "set"}


def test_one_part_that_is_likely_enough_may_be_repaired(engine: bp.Engine) -> None:
    answer = bp.rank(engine, "\n".join(READ))
    checks = bp.next_checks(answer)
    stop = stop_rule(answer, checks)
    assert stop is not None
    of_part = sum(s.probability for s in answer.suspects if s.name.startswith("brake switch:"))
    assert stop.chance == pytest.approx(of_part)
    assert stop.parts == ("brake switch",)
    said = stop_words(stop)
    assert f"you lose {stop.suspect.minutes:.0f} min" in said
    assert "on average" not in said


def test_a_check_says_in_a_line_why_it_is_asked_for(engine: bp.Engine) -> None:
    check = bp.next_checks(bp.rank(engine, READ[0]))[0]
    said = why_words(check)
    assert said.startswith("Tells ")
    likeliest = max(check.outcomes, key=lambda o: o.chance)
    assert likeliest.means[0] in said


def test_each_guard_is_tried_on_its_own(engine: bp.Engine) -> None:
    tries = guard_tries(engine)
    assert [t.open_guard for t in tries] == ["brake released", "seat empty", ""]
    assert [t.works for t in tries] == [False, False, True]
    for t in tries:
        assert t.setup is not None
        assert dict(t.setup.state)["key"] != "off"


def test_where_one_guard_stands_in_for_another_both_are_opened_together() -> None:
    either = SHEET.replace("guard: brake is set and seat is seated", "guard: brake is set or seat is seated")
    tries = guard_tries(bp.Engine(bp.parse_sheet(either)))
    assert [t.open_guard for t in tries] == ["brake released and seat empty", ""]
    assert [t.both for t in tries] == [EITHER_ALONE, ""]


def test_a_pair_that_stands_in_for_one_another_is_tried_beside_a_guard_that_stands_alone() -> None:
    lever = SHEET.replace("seat: [empty, seated]", "seat: [empty, seated], lever: [neutral, drive, creep]")
    lever = lever.replace("seat switch, ", "seat switch, lever switch, ")
    lever = lever.replace("functions:", "parts:\n  lever switch: {closed: {lever: neutral}}\nfunctions:")
    for rule, told in {
        "brake is set and seat is seated and lever is neutral": [
            "brake released",
            "seat empty",
            "lever drive",
            "lever creep",
            "",
        ],
        "(brake is set or seat is seated) and lever is neutral": [
            "lever drive",
            "lever creep",
            "brake released and seat empty",
            "",
        ],
        "brake is set or seat is seated or lever is neutral": [
            "brake released and seat empty and lever drive",
            "brake released and seat empty and lever creep",
            "",
        ],
        "seat is seated or lever is neutral": [
            "seat empty and lever drive",
            "seat empty and lever creep",
            "",
        ],
    }.items():
        guarded = lever.replace("brake is set and seat is seated", rule)
        tries = guard_tries(bp.Engine(bp.parse_sheet(guarded)))
        assert [t.open_guard for t in tries] == told, rule


CROSSED = """\
sheet: Two-way switch between seat and brake
system: 12 V
controls: {brake: [released, set], seat: [empty, seated]}
runs:
  feed: [battery+, fuse F1 10 A, change.common]
  one: [change.NO, other.NO]
  two: [change.NC, other.NC]
  out: [other.common, coil Y1 9 ohm, frame]
parts:
  change: {kind: changeover switch, actuated: {brake: set}}
  other: {kind: changeover switch, actuated: {seat: seated}}
functions:
  lift: {loads: coil Y1, guard: GUARD}
"""


def test_two_open_guards_that_let_go_what_each_alone_holds_are_tried_together() -> None:
    tries = guard_tries(
        bp.Engine(bp.parse_sheet(CROSSED.replace("GUARD", "brake is set and seat is seated")))
    )
    assert [t.open_guard for t in tries] == [
        "brake released",
        "seat empty",
        "brake released and seat empty",
        "",
    ]
    assert [t.both for t in tries] == ["", "", LET_GO, ""]
    assert not tries[2].works


def test_a_second_way_to_run_that_is_meant_must_run_as_well() -> None:
    rule = "(brake is set and seat is seated) or (brake is released and seat is empty)"
    tries = guard_tries(bp.Engine(bp.parse_sheet(CROSSED.replace("GUARD", rule))))
    # At rest both are open, and it is meant to run so.
    assert sorted(dict(t.setup.state)["seat"] for t in tries if t.works and t.setup) == ["empty", "seated"]
    assert sum(not t.works for t in tries) == 2


def test_what_keeps_the_engine_still_comes_first_and_the_one_in_the_seat_stays(engine: bp.Engine) -> None:
    said = told(engine, START)
    assert said.startswith("Where relay K1 feeds a starter, take the small wire off")
    # "Nobody near" beside "one keeps the seat seated" would be two orders that cannot both be followed.
    assert "nobody near but the one in the seat." in said
    assert "nobody near." in told(engine, {**START, "seat": "empty"})


def test_a_pedal_is_held_too() -> None:
    named = SHEET.replace("brake: [released, set]", "brake pedal: [released, set]")
    named = named.replace("brake is set", "brake pedal is set")
    named = named.replace("functions:", "parts:\n  brake switch: {closed: {brake pedal: set}}\nfunctions:")
    pedal = bp.Engine(bp.parse_sheet(named))
    state = {"key": "start", "brake pedal": "set", "seat": "empty"}
    where = setup(state)
    ends = [find_point(n, pedal.sheet) for n in ("C1-1", "battery-")]
    found = " ".join(cautions_of(Candidate("volts", where, ends[0], ends[1]), pedal, where))
    assert "one keeps key start and brake pedal set" in found
    assert "nobody near but the one who holds the controls" in found


OWN = (
    CONTACT
    + "cautions: [Unplug C6 before the key is held in start for a check., Boom on the ground first.]\n"
)


def test_a_caution_of_the_sheet_on_cranking_stands_only_where_somebody_holds_the_key() -> None:
    own = bp.Engine(bp.parse_sheet(OWN))
    assert "Unplug C6" in told(own, START)
    assert told(own, START).startswith("Unplug C6")
    assert "Unplug C6" not in told(own, START, "C6")
    assert "Unplug C6" not in told(own, REST)
    look = Candidate("looked", setup(START), part="brake switch")
    said = cautions_of(look, own, setup(START))
    assert "Unplug C6" not in " ".join(said)
    # What has nothing to do with the key stands everywhere.
    assert "Boom on the ground first." in said
    assert "Boom on the ground first." in told(own, REST)


def test_nobody_looks_into_a_wire(engine: bp.Engine) -> None:
    modes = {m.name: m for m in engine.catalogue.modes}
    # Less than by chance: a look that finds something found something else.
    assert (
        by_eye(engine, modes["wire W1: corroded inside"])
        < FALSE_SIGN
        < by_eye(engine, modes["wire W1: broken"])
    )


ACROSS = "before brake switch to after brake switch: 12.5 V"


def test_nearly_all_belief_in_one_part_is_said_in_one_number(engine: bp.Engine) -> None:
    answer = bp.rank(engine, "\n".join([*READ, ACROSS]))
    of_part = sum(s.probability for s in answer.suspects if s.name.startswith("brake switch:"))
    found = one_part(answer)
    assert found is not None
    assert found[0] == "brake switch"
    assert found[1] == pytest.approx(of_part)
    # Several faults of it are left, none of them as sure as the part.
    assert len(answer.groups[0].suspects) > 1
    assert answer.groups[0].suspects[0].probability < of_part - 0.05
    assert headline(answer) == f"It is the brake switch: {percent(of_part)}."
    checks = bp.next_checks(answer)
    stop = repair_advice(answer, checks)
    assert stop is not None
    assert not stop.may
    said = " ".join(answer_text(answer, checks).split())
    assert "Repair: brake switch." in said
    assert ("A further check would only tell what is wrong in it: " in said) == bool(worth_doing(checks))


def test_two_parts_are_not_one(engine: bp.Engine) -> None:
    answer = bp.rank(engine, "\n".join(READ[:-1]))
    assert one_part(answer) is None
    assert headline(answer).startswith("Still ")


def test_the_plug_of_a_cavity_is_named(engine: bp.Engine) -> None:
    sheet = bp.parse_sheet(CONTACT.replace("functions:", "connectors:\n  C6: {part: coil M1}\nfunctions:"))
    assert plug_words("C6-1", sheet) == "the plug of coil M1"
    # Between two parts a lead at a plug that is on could be meant for either side.
    assert side_words("C6-1", sheet) == "wire towards relay contact K1"
    assert side_words("fuse F2", sheet) == side_words("frame", sheet) == ""
    assert plug_words("fuse F1", sheet) == ""


def test_what_comes_off_again_is_said_only_of_what_was_put_on(engine: bp.Engine) -> None:
    def after(kind: str) -> list[str]:
        return off_again(Check(Candidate(kind, setup(START), part="brake switch"), 0.0, 1.0, (), ()))

    assert after("looked") == after("volts") == []
    assert after("swapped") == ["A part that is fitted for a test comes off again."]


def test_the_ends_of_a_coil_are_told_by_the_way_the_current_goes() -> None:
    # Terminals as in DIN 72552 [mem]: 86 and 85 of a coil; which of them is grounded differs.
    sheet = bp.sketch("battery+ > fuse F1 10 A > key > relay coil K1 > frame")
    assert plug_words("relay K1.86", sheet) == "the supply side of its coil"
    assert plug_words("relay K1.85", sheet) == "the ground side of its coil"
    assert plug_words("relay K1.30", sheet) == ""

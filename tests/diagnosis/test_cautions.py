"""Cautions name what a sheet has, and only what can happen in the state of the check."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.circuit.setup import Setup
from backprobe.diagnosis.at_switch import across_switches
from backprobe.diagnosis.cautions import CRANKS, MOVES, cautions_of, may_move
from backprobe.diagnosis.checks import Candidate
from backprobe.diagnosis.coach import coach
from backprobe.diagnosis.guard_tries import guard_tries
from backprobe.diagnosis.split import splitting_check
from backprobe.diagnosis.stop import stop_rule
from backprobe.readings.points import find_point
from backprobe.report.check_words import stop_words, why_words
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
    assert CRANKS in told(engine, START)
    assert "lever" not in told(engine, START)
    other = bp.Engine(bp.parse_sheet(LEVER))
    assert "lever in neutral" in told(other, {**START, "lever": "neutral"})


def test_holding_the_key_with_somebody_seated_needs_a_second_person(engine: bp.Engine) -> None:
    assert "second person: one keeps key start and seat seated" in told(engine, START)
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

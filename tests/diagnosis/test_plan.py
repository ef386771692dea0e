"""The plan ahead of time, on the invented fleet and on typed circuits."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.demo.story import NAMES, demo_jobs, demo_sheets
from backprobe.diagnosis.checks import is_safe
from backprobe.diagnosis.plan import End, Plan, Step, make_plan, minutes_of
from backprobe.readings.lines import context_after, parse_reading
from backprobe.readings.model import Reading
from backprobe.report.plan_words import ends, outcome_words, plan_text

SKETCH = "battery+ > fuse F2 7.5 A > key > C4-1 > bar switch > C4-2 > relay coil K3 92 ohm > frame"
DEAD = "relay K3 dead, key on, bar down, all plugged"


@pytest.fixture(scope="module")
def chain() -> Plan:
    return bp.plan(bp.sketch(SKETCH), DEAD)


@pytest.fixture(scope="module")
def sprayer() -> Plan:
    return bp.plan(demo_sheets()["sprayer"])


@pytest.fixture(scope="module")
def dumper() -> Plan:
    return bp.plan(demo_sheets()["dumper"], depth=2, steps=3)


def walk(plan: Plan, fault: str) -> End:
    """Follow the plan by what a fault would show."""
    place = plan.first
    while isinstance(place, Step):
        c = place.check.candidate
        assert c.kind == "volts"
        assert c.red is not None
        assert c.black is not None
        told = bp.predict(plan.engine, c.setup, points=[c.red.name], black=c.black.name, fault=fault)
        volts = told[0].volts
        place = next(b.then for b in place.branches if b.shown.low <= volts <= b.shown.high)
    return place


def test_branches_share_what_arrives_and_minutes_add_up(sprayer: Plan) -> None:
    assert sprayer.steps
    for step in sprayer.steps:
        assert sum(b.probability for b in step.branches) == pytest.approx(1)
        ahead = step.minutes + sum(b.probability * minutes_of(b.then) for b in step.branches)
        assert step.ahead == pytest.approx(ahead)
    assert sprayer.minutes == pytest.approx(minutes_of(sprayer.first))
    assert 0 < sprayer.check_minutes < sprayer.minutes < sprayer.without


def test_numbers_of_the_steps_run_through(sprayer: Plan) -> None:
    assert [s.number for s in sprayer.steps] == list(range(1, len(sprayer.steps) + 1))


@pytest.mark.parametrize(
    ("fault", "not_named"),
    [
        ("fuse F2: blown", "relay K3"),
        ("key switch: does not close", "fuse F2"),
        ("bar switch: does not close", "key switch"),
        ("wire C4-2 to relay K3: broken", "bar switch"),
        ("relay K3: coil open", "bar switch"),
    ],
)
def test_the_plan_leads_a_fault_of_the_chain_to_an_end_that_names_it(
    chain: Plan, fault: str, not_named: str
) -> None:
    end = walk(chain, fault)
    names = [s.cause.name for s in end.suspected]
    assert fault in names
    assert not any(n.startswith(not_named) for n in names)


def test_no_step_opens_a_guard_while_its_function_is_asked_for(sprayer: Plan, dumper: Plan) -> None:
    for plan in (sprayer, dumper):
        for step in plan.steps:
            setup = step.check.candidate.setup
            bare = bp.Setup(setup.state, setup.unplugged)
            # The state of the complaint itself is left to the mechanic.
            assert is_safe(plan.engine.sheet, plan.start, bare) or setup.state == plan.start.state


def test_a_plug_taken_off_in_the_plan_has_its_caution(sprayer: Plan) -> None:
    off = [s for s in sprayer.steps if s.check.candidate.setup.unplugged - s.before.unplugged]
    for step in off:
        assert any("before" in c and "unplugged" in c for c in step.check.cautions)


def test_a_controller_stands_last_among_what_is_repaired(sprayer: Plan) -> None:
    for end in ends(sprayer.first):
        boxed = [s.cause.last for s in end.suspected]
        assert boxed == sorted(boxed)


def test_depth_and_steps_are_kept(dumper: Plan) -> None:
    def deep(place: Step | End) -> int:
        return 0 if isinstance(place, End) else 1 + max(deep(b.then) for b in place.branches)

    assert 0 < len(dumper.steps) <= 3
    assert deep(dumper.first) <= 2


def test_more_readings_leave_a_shorter_plan(chain: Plan) -> None:
    told = bp.plan(chain.engine, f"{DEAD}\nC4-1 to battery-: 12.5 V, key on, bar down, all plugged")
    assert told.minutes < chain.minutes
    assert told.without < chain.without


def test_without_a_complaint_a_function_is_taken_to_be_dead(sprayer: Plan) -> None:
    assert sprayer.assumed
    assert [(r.subject, r.seen) for r in sprayer.readings] == [("boom", "dead")]


def test_the_page_is_narrow_and_names_every_outcome(sprayer: Plan) -> None:
    text = plan_text(sprayer)
    assert all(len(line) <= 80 for line in text.splitlines())
    assert len(text.splitlines()) < 100
    first = sprayer.first
    assert isinstance(first, Step)
    flat = " ".join(text.split())
    for branch in first.branches:
        if branch.probability > 0.02:
            assert outcome_words(branch.shown, first.check.candidate.kind) in flat


@pytest.mark.parametrize("name", NAMES)
def test_a_plan_begun_midway_believes_what_the_answer_believes(name: str) -> None:
    """Wear beside the cause and a reading that is a slip are no faults to a plan either."""
    story = next(s for s in demo_jobs() if s.name == name)
    engine = bp.Engine(story.sheet, story.circumstances)
    readings: list[Reading] = []
    for step in story.steps:
        readings.append(parse_reading(step.line, story.sheet, context_after(readings)))
    answer, place = bp.rank(engine, readings), make_plan(engine, readings).first
    while isinstance(place, Step):
        place = max(place.branches, key=lambda b: b.probability).then
    believed = {s.name for g in answer.groups[:1] for s in g.suspects}
    assert {s.cause.name for s in place.suspected} <= believed

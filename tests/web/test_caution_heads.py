"""Headlines of cautions: one line each, known for all that the engine says, the first clause of the rest."""

from __future__ import annotations

import pytest

from backprobe.circuit.setup import Setup
from backprobe.diagnosis import cautions
from backprobe.web.caution_view import HEADS, head_of, try_cautions
from backprobe.web.desk import Work
from backprobe.web.texts import texts
from tests.jobs.test_repairs import READ
from tests.jobs.test_repairs import SHEET as STARTS
from tests.web.helpers import SHEET, at_work

WIDEST = 28
"""Letters that one line of a phone shows beside the sign that it opens."""
EN, DE = texts("en"), texts("de")
SAID = (
    (cautions.BEFORE_UNPLUGGING.format(name="C6"), "Key off before C6"),
    (cautions.CRANKS, "The engine may crank"),
    (cautions.CRANKS_IN_NEUTRAL.format(control="lever"), "The engine may crank"),
    (cautions.HELPER.format(list="key start and seat seated"), "Needs a second person"),
    (cautions.NO_CRANKING.format(name="C6"), "Unplug C6 first: no cranking"),
    (cautions.SMALL_WIRE.format(relay="relay K2"), "Small starter wire off first"),
    (cautions.ROLLS.format(control="brake"), "Block the wheels first"),
    (cautions.MOVES, "The function may move"),
    (cautions.OHMS_DEAD, "Ohms only with the key off"),
    (cautions.STEEL, "Steel held: machine still"),
)


@pytest.mark.parametrize(("caution", "head"), SAID)
def test_what_the_engine_says_has_its_headline(caution: str, head: str) -> None:
    assert head_of(caution, EN) == head
    german = head_of(caution, DE)
    assert german != head
    assert max(len(head), len(german)) <= WIDEST


def test_every_headline_is_of_a_caution_that_is_said() -> None:
    assert {head for _, head in HEADS} == {h.replace("C6", "{name}") for _, h in SAID}


@pytest.mark.parametrize(
    ("caution", "head"),
    [
        ("Y2 holds the boom: support it before C3 is pulled.", "Y2 holds the boom"),
        ("Unplug C6 before the key is held in start.", "Unplug C6 before the key is held in start"),
        ("Bar on the ground, nobody near.", "Bar on the ground"),
    ],
)
def test_what_a_sheet_says_is_headed_by_its_first_clause(caution: str, head: str) -> None:
    assert head_of(caution, EN) == head


def test_when_it_is_tried_again_only_what_keeps_the_engine_still_is_left_out() -> None:
    own = (
        "Where the bar is raised, block it before anybody goes near.",
        "Unplug C9 of the header: the blades turn on.",
        "Needs a second key for the gate.",
    )
    listed = "[{}]".format(", ".join(f"'{c}'" for c in own))
    text = SHEET.replace("[Cutter bar on the ground before the bar circuit is worked on.]", listed)
    assert own[0] in text
    with at_work(text=text) as (_, job):
        assert set(own) <= {*try_cautions(Work(job), Setup((("key", "on"), ("bar", "down"))))}
    with at_work(*READ, text=STARTS) as (_, job):
        setup = job.readings()[0].setup
        work = Work(job)
        kept = [c for c in cautions.state_cautions(work.engine, setup) if c not in try_cautions(work, setup)]
        assert [head_of(c, EN) for c in kept] == ["Small starter wire off first", "Needs a second person"]
        assert any(c.startswith("The engine may crank") for c in try_cautions(work, setup))

"""Once it works after a repair nothing is ranked anew: the finding is what was read before the repair."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

import backprobe as bp
from backprobe.demo.story import demo_jobs
from backprobe.jobs.job import Job
from backprobe.jobs.proving import SMALL_WIRE, ticks_of
from backprobe.jobs.standing import standing_of
from backprobe.report.repair_words import tick_words
from backprobe.report.words import headline
from backprobe.sheet.reader import parse_sheet
from tests.jobs.test_repairs import READ, SHEET, ticked
from tests.web.helpers import at_work, visitor, words
from tests.web.test_repair_page import home, kept, send
from tests.web.test_tools_numbers import asked
from tests.web.test_tools_numbers import plain as plain_words

ACROSS = "before brake switch to after brake switch: 12.5 V"


@pytest.fixture
def repaired() -> Iterator[tuple[TestClient, Job, str]]:
    """A job repaired and seen to work, and what its readings said before."""
    with at_work(*READ, ACROSS, text=SHEET) as (client, job):
        found = headline(job.answer())
        job.repaired("brake switch: replaced")
        job.read("relay K1 works")
        yield client, job, found


def plain(client: TestClient, job: Job, where: str) -> str:
    return words(client.get(f"/job/{job.record.id}/{where}").text).replace("\u00a0", " ")


@pytest.mark.parametrize("where", ["report", "suspects"])
def test_the_finding_is_that_of_before_the_repair(repaired: tuple[TestClient, Job, str], where: str) -> None:
    client, job, found = repaired
    for guards in ("not tried", "ticked by hand, 2 of 2"):
        page = plain(client, job, where)
        assert f"Found before the repair {found} Repaired brake switch: replaced Works since relay K1" in page
        assert f"Guards tried {guards}" in page
        assert "as the circuit was built" not in page
        assert "battery: weak" not in page
        assert "; repair:" not in page
        assert 'name="part"' not in client.get(f"/job/{job.record.id}/{where}").text
        if kept(job).record.is_open:
            kept(job).close("repaired and tried", ticked(job))


@pytest.mark.parametrize("where", ["circuit", "trial", "hearsay"])
def test_every_page_that_ranks_says_the_same(repaired: tuple[TestClient, Job, str], where: str) -> None:
    client, job, found = repaired
    kept(job).read("after brake switch to battery-: 12.4 V")
    page = plain(client, job, where)
    assert f"Found before the repair {found} Repaired brake switch: replaced Works since relay K1" in page
    assert "no suspect rests on it: 7: relay K1 works; 8: after brake switch to battery-: 12.4 V" in page


def test_the_drawing_and_a_trial_suspect_what_the_repair_was_made_by(
    repaired: tuple[TestClient, Job, str],
) -> None:
    client, job, _ = repaired
    drawn = plain(client, job, "circuit")
    assert "Suspects in the drawing 1 brake switch: does not close" in drawn
    assert "The leads stand where the next check wants them" not in drawn
    again = asked(client, f"/job/{job.record.id}/trial", {"claim": "replace brake switch"})
    assert "Cures it if it is: brake switch: does not close (83" in plain_words(again)


def test_where_the_guards_were_not_tried_the_report_says_so(repaired: tuple[TestClient, Job, str]) -> None:
    client, job, _ = repaired
    kept(job).close("handed on")
    assert "Guards tried not tried" in plain(client, job, "report")
    card = words(home(client, job))
    assert "It was closed without trying the guards." in card
    assert "Try every guard" not in card


@pytest.mark.parametrize("where", ["report", "suspects"])
def test_a_repair_without_a_try_is_called_so(where: str) -> None:
    with at_work(*READ, ACROSS, text=SHEET) as (client, job):
        found = headline(job.answer())
        job.repaired("brake switch: replaced")
        job.close("handed on")
        page = plain(client, job, where)
        assert f"Found before the repair {found} Repaired brake switch: replaced" in page
        assert "Works since not tried since the repair" in page
        assert "Nothing read yet" not in page
        assert "Works since not tried since the repair" in words(home(client, job))


def test_still_dead_the_readings_of_now_are_ranked() -> None:
    with at_work(*READ, ACROSS, text=SHEET) as (client, job):
        job.repaired("brake switch: replaced")
        job.read("relay K1 dead")
        page = plain(client, job, "report")
        assert "Found before the repair" not in page
        assert headline(job.answer()) in page


def test_nothing_read_before_the_repair_blames_nobody() -> None:
    with at_work(text=SHEET) as (client, job):
        job.repaired("brake switch: replaced")
        for where in ("report", "suspects"):
            page = plain(client, job, where)
            assert "Found before the repair Nothing was read before the repair." in page
            assert "fails most often" not in page


def test_parts_repaired_together_share_the_finding_and_one_in_vain_counts() -> None:
    with at_work(*READ, text=SHEET) as (_, job):
        before = job.readings()
        job.repaired("seat switch: replaced")
        job.repaired("brake switch: replaced")
        assert job.evidence_before_repair() == before
        job.read("relay K1 dead")
        job.read("before ring G5 to battery-: 11.9 V")
        job.repaired("ring G5: cleaned")
        found = job.evidence_before_repair()
        assert [r.kind for r in found] == ["works", "volts", "swapped", "swapped"]
        assert [r.subject for r in found[2:]] == ["seat switch", "brake switch"]


def test_who_repairs_first_and_says_so_later_has_found_the_same() -> None:
    with at_work(*READ, text=SHEET) as (_, job):
        before = job.readings()
        job.read("relay K1 works")
        job.repaired("brake switch: replaced")
        assert job.evidence_before_repair() == before


def test_it_works_since_the_first_try_that_still_stands() -> None:
    with at_work(*READ, text=SHEET) as (_, job):
        job.repaired("brake switch: replaced")
        job.read("relay K1 works")
        job.read("relay K1 dead")
        assert standing_of(job).worked is None
        first = job.read("relay K1 works")
        job.read("relay K1 works")
        assert standing_of(job).entry == first.number


def test_the_tries_come_in_the_order_in_which_they_are_safe() -> None:
    with at_work(*READ, text=SHEET) as (client, job):
        job.repaired("brake switch: replaced")
        job.read("relay K1 works")
        page = home(client, job)
        card = words(page[page.index('id="proving"') :])
        order = [
            "Everything that was unplugged",
            "with the small wire off the starter: listen for the click",
            "brake released, seat seated: relay K1 must NOT click",
            "brake set, seat empty: relay K1 must NOT click",
            "Then the states in which it must run.",
            "brake set, seat seated: relay K1 must click",
            "The small wire is back on the starter.",
            "No jumper, stand-in or resistor is left",
        ]
        places = [card.index(text) for text in order]
        assert places == sorted(places)
        # Who tries the guards is where the engine may turn.
        caution = card[: places[0]]
        assert re.search(r"wheels blocked, nobody near but the one in the seat", caution)


def test_what_goes_back_on_stands_on_the_page_under_the_states_that_must_run() -> None:
    starts = f"{SHEET}parts:\n  key switch: {{closed: {{key: start}}}}\n"
    with at_work(*READ, text=starts) as (client, job):
        job.repaired("brake switch: replaced")
        job.read("relay K1 works")
        card = words(home(client, job))
        assert "Then the states in which it must run. The small wire is back on the starter." in card


def test_the_small_wire_goes_back_before_the_engine_is_meant_to_crank() -> None:
    starts = parse_sheet(f"{SHEET}parts:\n  key switch: {{closed: {{key: start}}}}\n")
    assert SMALL_WIRE in [t.key for t in ticks_of(bp.Engine(starts))]
    for sheet in (starts, *(story.sheet for story in demo_jobs())):
        ticks = ticks_of(bp.Engine(sheet))
        told = [tick_words(t, sheet) for t in ticks]
        must = [k for k, t in enumerate(ticks) if t.works]
        assert all(k < must[0] for k, t in enumerate(ticks) if t.tries and not t.works)
        cranking = [k for k, text in enumerate(told) if "the engine must crank" in text]
        assert cranking or sheet is not starts
        for wire in (k for k, t in enumerate(ticks) if t.key == SMALL_WIRE):
            assert all(wire < k for k in cranking)
            assert all(k < wire for k in must if k not in cranking)


def test_once_closed_the_card_asks_for_nothing() -> None:
    with at_work(*READ, text=SHEET) as (client, job):
        job.repaired("brake switch: replaced")
        job.read("relay K1 works")
        assert "Try every guard" in words(home(client, job))
        page = words(
            send(client, job, "close", proving="1", reason="repaired and tried", tick=list(ticked(job)))
        )
        assert "Try every guard" not in page
        assert "Every guard was tried before it was closed" in page


@pytest.mark.parametrize(("language", "said"), [("en", "Repaired: ring G5."), ("de", "Repariert: ring G5.")])
def test_a_repair_without_words_is_said_once(language: str, said: str) -> None:
    with at_work(*READ, text=SHEET) as (_, job):
        job.repaired("ring G5: repaired")
        with visitor(job.store, language=language) as client:
            page = words(home(client, job)).replace(" .", ".")
            assert said in page
            assert "ring G5: rep" not in page

"""No page says that a guard was tried where none was, and a guard that failed stops everything."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from backprobe.jobs.job import Job
from tests.jobs.test_guard_proof import BARE, OPEN_SEAT, PROVEN
from tests.jobs.test_repairs import READ, SHEET
from tests.web.helpers import at_work, visitor, words
from tests.web.test_proving_page import ticks
from tests.web.test_repair_page import home, kept, send

NAMES_NONE = "The sheet names no guard: try by hand what keeps people safe, and write down what."
RED = "Do not hand the machine over"


def at_proof(text: str) -> Iterator[tuple[TestClient, Job]]:
    with at_work(*READ, text=text) as (client, job):
        job.repaired("brake switch: replaced")
        job.read("relay K1 works")
        yield client, job


@pytest.fixture
def guarded() -> Iterator[tuple[TestClient, Job]]:
    yield from at_proof(SHEET)


@pytest.fixture
def bare() -> Iterator[tuple[TestClient, Job]]:
    yield from at_proof(BARE)


def failing(page: str) -> list[str]:
    """Names of the buttons that say that a guard failed."""
    return [html.unescape(n) for n in re.findall(r'form="failing" name="(failed [^"]*)"', page)]


def test_without_a_guard_every_page_says_so_and_none_that_it_was_tried(bare: tuple[TestClient, Job]) -> None:
    client, job = bare
    page = home(client, job)
    assert NAMES_NONE in words(page)
    assert not failing(page)
    assert "Try every guard" not in words(page)
    reason = re.search(r'name="reason" value="([^"]*)">Close: repaired, no guard proven', page)
    assert reason
    after = send(
        client, job, "close", proving="1", reason=reason[1], tick=ticks(page), by_hand="brake on the ramp"
    )
    assert kept(job).record.closed_as == "repaired, no guard proven"
    report = client.get(f"/job/{job.record.id}/report").text
    for shown in (words(after), words(report), words(client.get("/").text)):
        assert "repaired, no guard proven" in shown
        for lie in ("Every guard was tried", "Guards tried ticked", "the guards, proven", PROVEN):
            assert lie not in shown
    for shown in (words(after), words(report)):
        assert "Tried by hand besides: brake on the ramp" in shown
    assert NAMES_NONE in words(report)
    assert "Guards tried no guard proven: the sheet names none" in words(report)


def test_each_guard_may_fail_and_nothing_else(guarded: tuple[TestClient, Job]) -> None:
    client, job = guarded
    page = home(client, job)
    assert len(failing(page)) == words(page).count("must NOT click") == 2
    # The enter key presses the first button of a form: that of the tries closes, and is refused.
    assert not re.search(r'<button[^>]*name="failed', page)


def test_a_guard_that_failed_is_red_until_it_is_taken_back(guarded: tuple[TestClient, Job]) -> None:
    client, job = guarded
    name = next(n for n in failing(home(client, job)) if "seat empty" in n)
    page = send(client, job, "failed", **{name: "It failed"})
    assert page.count(RED) == 1
    assert 'class="danger"' in page
    assert "relay K1 must NOT click: it worked although it must not" in words(page)
    assert "All tried: close the job" not in page
    refused = send(client, job, "close", proving="1", reason=PROVEN, tick=ticks(page))
    assert kept(job).record.is_open
    assert re.search(r"entry \d+ says that relay K1 worked with .*seat empty", words(refused))
    assert RED in client.get(f"/job/{job.record.id}/report").text
    number = kept(job).record.entries[-1].number
    again = send(client, job, "undo", number=str(number))
    assert RED not in again
    send(client, job, "close", proving="1", reason=PROVEN, tick=ticks(again))
    assert kept(job).record.closed_as == PROVEN


def test_what_names_no_guard_is_refused(guarded: tuple[TestClient, Job]) -> None:
    client, job = guarded
    before = len(job.record.entries)
    for fields in ({}, {"failed plugged": "It failed"}, {"failed ": "x"}):
        assert "tries no guard" in words(send(client, job, "failed", **fields))
    assert len(kept(job).record.entries) == before


def test_a_reading_that_says_otherwise_is_red_too(guarded: tuple[TestClient, Job]) -> None:
    client, job = guarded
    kept(job).read(f"relay K1 clicks, {OPEN_SEAT}")
    kept(job).read(f"relay K1 works, {READ[0].partition(', ')[2]}")
    page = home(client, job)
    assert RED in page
    assert "All tried: close the job" not in page


def test_in_german(guarded: tuple[TestClient, Job]) -> None:
    client, job = guarded
    name = failing(home(client, job))[0]
    send(client, job, "failed", **{name: "It failed"})
    with visitor(job.store, language="de") as german:
        for where in ("", "/report"):
            shown = words(german.get(f"/job/{job.record.id}{where}").text)
            assert "Maschine nicht übergeben" in shown
            assert re.search(r"Eintrag \d+ sagt, dass relay K1 bei .* ging, wo es nicht darf\.", shown)
            assert "Schutzeinrichtung versagte: " in shown
            assert "darf NICHT klicken: es ging, obwohl es nicht darf" in shown


def test_without_a_guard_in_german(bare: tuple[TestClient, Job]) -> None:
    client, job = bare
    page = home(client, job)
    with visitor(job.store, language="de") as german:
        none = "Das Blatt nennt keine Schutzeinrichtung: von Hand erproben, was Menschen schützt"
        assert none in words(german.get(f"/job/{job.record.id}").text)
        send(client, job, "close", proving="1", reason=PROVEN, tick=ticks(page), by_hand="brake on the ramp")
        for where in ("", "/report"):
            shown = words(german.get(f"/job/{job.record.id}{where}").text)
            assert "geschlossen: repariert, keine Schutzeinrichtung erprobt. Von Hand angehakt:" in shown
            assert "Sonst von Hand erprobt: brake on the ramp" in shown
            assert "no guard" not in shown


def test_ticks_are_kept_under_a_name_that_a_repair_changes(guarded: tuple[TestClient, Job]) -> None:
    client, job = guarded

    def name() -> str:
        found = re.search(r'data-keep="([^"]*)"', home(client, job))
        assert found
        return found[1]

    first = name()
    kept(job).read("battery+ to battery-: 12.6 V")
    assert name() == first
    kept(job).undo()
    second = name()
    kept(job).repaired("seat switch: replaced")
    kept(job).read("relay K1 works")
    assert len({first, second, name()}) == 3

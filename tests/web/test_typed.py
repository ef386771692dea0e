"""What stands in a form is thought of before it is sent: the tap that sends it finds it worked out."""

from __future__ import annotations

import html
import re
import threading
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from backprobe.diagnosis.patience import BrokenOffError, breathe
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.readings.lines import parse_reading
from backprobe.sheet.reader import parse_sheet
from backprobe.web import desk
from backprobe.web.ahead import Ahead, Typed
from backprobe.web.app import Serving
from backprobe.web.desk import Desk, Work
from tests.web.helpers import DEAD, SHEET, token, visitor

LONG = 60.0
Browser = tuple[TestClient, Job]


@pytest.fixture
def browser() -> Iterator[Browser]:
    with Store.open(":memory:") as store:
        job = Job.new(store, parse_sheet(SHEET), title="cutter dead", machine="vine trimmer T2")
        job.read(DEAD)
        with visitor(store, serving=Serving(thinks_ahead=True)) as client:
            yield client, job
            client.app.state.ahead.stop()  # type: ignore[attr-defined]


def ahead_of(client: TestClient) -> Ahead:
    found: Ahead = client.app.state.ahead  # type: ignore[attr-defined]
    return found


def answered(client: TestClient, home: str, value: str) -> dict[str, str]:
    """The form of a check with a number, filled in."""
    shown = next(
        page for k in range(desk.CHECKS) if 'name="value"' in (page := client.get(f"{home}?check={k}").text)
    )
    where = re.search(r'name="where" value="([^"]*)"', shown)
    assert where is not None
    fields = {"token": token(client), "where": html.unescape(where[1]), "check": "0"}
    return fields | {"value": value, "value_unit": "V"}


def entered(client: TestClient, line: str) -> dict[str, str]:
    return {
        "token": token(client),
        "line": line,
        "state:key": "on",
        "state:bar": "down",
        "plugs": "all",
        "off": "",
    }


@pytest.mark.parametrize("place", ["read", "reading"])
def test_a_reading_that_was_typed_is_worked_out_before_it_is_sent(
    browser: Browser, place: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, job = browser
    home = f"/job/{job.record.id}"
    form = answered(client, home, "3.71") if place == "read" else entered(client, "C4-1 to battery-: 3.71 V")
    assert client.post(f"{home}/typed", data=form).status_code == 204
    assert ahead_of(client).wait(LONG)
    assert len(Job.open(job.store, job.record.id).entries) == 1

    def worked_out_again(*_: object) -> None:
        raise AssertionError

    monkeypatch.setattr(desk, "rank", worked_out_again)
    sent = client.post(f"{home}/{place}", data=form | {"take": "number"})
    assert "read=" in sent.headers["location"], sent.text
    assert client.get(sent.headers["location"]).status_code == 200
    assert "3.71" in str(Job.open(job.store, job.record.id).entries[-1].data["line"])


@pytest.mark.parametrize("value", ["", "6.", "-", "about", "ohm", "1..2..3"])
def test_what_is_no_reading_yet_is_passed_over(
    browser: Browser, value: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, job = browser
    home = f"/job/{job.record.id}"
    form = answered(client, home, value)
    thought: list[Typed] = []
    monkeypatch.setattr(Ahead, "think_of_typed", lambda ahead, typed: thought.append(typed))
    assert client.post(f"{home}/typed", data=form).status_code == 204
    assert thought == []
    # The same form with a number is thought of.
    assert client.post(f"{home}/typed", data=form | {"value": "6.2"}).status_code == 204
    assert [t.reading.value for t in thought] == [6.2]
    assert len(Job.open(job.store, job.record.id).entries) == 1


def test_a_closed_job_is_not_thought_of(browser: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    client, job = browser
    form = entered(client, "C4-1 to battery-: 3.71 V")
    job.close("handed on")
    thought: list[Typed] = []
    monkeypatch.setattr(Ahead, "think_of_typed", lambda ahead, typed: thought.append(typed))
    assert client.post(f"/job/{job.record.id}/typed", data=form).status_code == 204
    assert thought == []


def test_a_form_of_elsewhere_is_refused(browser: Browser) -> None:
    client, job = browser
    form = entered(client, "C4-1 to battery-: 3.71 V") | {"token": "0" * 64}
    assert client.post(f"/job/{job.record.id}/typed", data=form).status_code == 403


def test_nothing_is_thought_of_where_nobody_thinks_ahead() -> None:
    with Store.open(":memory:") as store:
        job = Job.new(store, parse_sheet(SHEET), title="cutter dead", machine="vine trimmer T2")
        with visitor(store) as client:
            form = entered(client, "C4-1 to battery-: 3.71 V")
            assert client.post(f"/job/{job.record.id}/typed", data=form).status_code == 204


class Slow:
    """Thinks until it may end, and tells whether it was broken off."""

    def __init__(self) -> None:
        self.begun, self.may_end, self.broken = threading.Event(), threading.Event(), False

    def __call__(self) -> None:
        self.begun.set()
        try:
            while not self.may_end.wait(0.002):
                breathe()
        except BrokenOffError:
            self.broken = True
            raise


@pytest.fixture
def thought(monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Ahead, Slow, Typed]]:
    slow = Slow()
    monkeypatch.setattr(Work, "foresee", lambda work, reading: slow())
    with Store.open(":memory:") as store:
        job = Job.new(store, parse_sheet(SHEET), title="cutter dead", machine="vine trimmer T2")
        job.read(DEAD)
        ahead = Ahead(Desk(store))
        typed = Typed(
            job.record.id,
            frozenset({("value", "3.71")}),
            parse_reading("C4-1 to battery-: 3.71 V", job.sheet, job.context()),
        )
        ahead.think_of_typed(typed)
        assert slow.begun.wait(LONG)
        yield ahead, slow, typed
        ahead.stop()


def test_the_tap_that_sends_what_is_thought_of_waits_for_it(thought: tuple[Ahead, Slow, Typed]) -> None:
    ahead, slow, typed = thought
    ahead.asked(taking=True)
    ahead.sent(typed.job, typed.fields)
    assert not ahead.wait(0.1)
    slow.may_end.set()
    assert ahead.wait(LONG)
    assert not slow.broken


def test_another_number_breaks_it_off(thought: tuple[Ahead, Slow, Typed]) -> None:
    ahead, slow, typed = thought
    ahead.asked(taking=True)
    ahead.sent(typed.job, frozenset({("value", "3.72")}))
    assert ahead.wait(LONG)
    assert slow.broken


def test_the_same_number_in_another_job_breaks_it_off(thought: tuple[Ahead, Slow, Typed]) -> None:
    ahead, slow, typed = thought
    ahead.asked(taking=True)
    ahead.sent("elsewhere", typed.fields)
    assert ahead.wait(LONG)
    assert slow.broken


def test_a_page_breaks_it_off(thought: tuple[Ahead, Slow, Typed]) -> None:
    ahead, slow, _ = thought
    ahead.asked()
    assert ahead.wait(LONG)
    assert slow.broken

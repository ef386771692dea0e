"""Thinking ahead: what was foreseen is what would have been worked out, and it never stands in the way."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient

from backprobe.diagnosis.patience import BrokenOffError, breathe, giving_way
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.readings.model import Reading
from backprobe.sheet.reader import parse_sheet
from backprobe.web.ahead import Ahead, prospects_of
from backprobe.web.app import Serving, make_app
from backprobe.web.desk import Desk, Work
from tests.web.helpers import DEAD, HERE, SHEET

LONG = 60.0


@pytest.fixture
def store() -> Iterator[Store]:
    with Store.open(":memory:") as kept:
        yield kept


def demo_job(store: Store, *lines: str) -> Job:
    job = Job.new(store, parse_sheet(SHEET), title="cutter dead", machine="vine trimmer T2")
    for line in lines:
        job.read(line)
    return job


def test_what_was_foreseen_says_what_a_new_job_would_say(store: Store) -> None:
    work = Work(demo_job(store, DEAD))
    reading = next(iter(prospects_of(work)))
    work.foresee(reading)
    entry = work.job.read(f"{reading.text}", None)
    assert entry.number == len(work.job.record.entries)
    fresh = Work(Job.open(store, work.name))
    assert [s.name for s in work.answer().suspects] == [s.name for s in fresh.answer().suspects]
    assert [s.probability for s in work.answer().suspects] == pytest.approx(
        [s.probability for s in fresh.answer().suspects], rel=1e-9
    )
    assert [c.words() for c in work.checks()] == [c.words() for c in fresh.checks()]


def test_what_was_typed_is_shown_not_what_was_foreseen(store: Store) -> None:
    work = Work(demo_job(store, DEAD))
    reading = next(r for r in prospects_of(work) if r.numeric)
    work.foresee(reading)
    start, _, number = reading.text.partition(": ")
    typed = f"{start}: {number.replace(' ', '')}"
    work.job.read(typed)
    assert work.answer().readings.all[-1].text == typed


def test_prospects_begin_with_the_complaint_and_then_answer_the_first_check(store: Store) -> None:
    work = Work(demo_job(store))
    assert {r.seen for r in prospects_of(work)} == {"dead"}
    work = Work(demo_job(store, DEAD))
    first = work.checks()[0].candidate
    reading = next(iter(prospects_of(work)))
    assert (reading.red, reading.black) == (first.red.terminal, first.black.terminal)  # type: ignore[union-attr]
    assert reading.setup == first.setup


def test_long_work_is_broken_off_only_where_it_gives_way() -> None:
    breathe()
    with giving_way(lambda: True):
        breathe()
    with giving_way(lambda: False), pytest.raises(BrokenOffError):
        breathe()
    breathe()


def test_a_request_breaks_thinking_off_and_it_goes_on_after(store: Store) -> None:
    desk = Desk(store)
    work = desk.work(demo_job(store, DEAD).record.id)
    work.checks()
    ahead = Ahead(desk)
    try:
        ahead.asked()
        ahead.think(work.name)
        assert not ahead.wait(0.3)
        assert not ahead.may_go_on()
        ahead.answered()
        assert ahead.wait(LONG)
        foreseen = next(iter(prospects_of(work)))
        with giving_way(lambda: False):
            # Known already: nothing long is left that would be broken off.
            work.foresee(foreseen)
    finally:
        ahead.stop()


def test_what_breaks_while_thinking_is_left_for_whoever_asks(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(self: Work, reading: Reading) -> None:
        raise ZeroDivisionError

    job = demo_job(store, DEAD).record.id
    ahead = Ahead(Desk(store))
    try:
        with monkeypatch.context() as patched:
            patched.setattr(Work, "foresee", breaks)
            ahead.think(job)
            assert ahead.wait(LONG)
        # The thread lives on.
        ahead.think(job)
        assert ahead.wait(LONG)
    finally:
        ahead.stop()


def test_the_pages_say_the_same_with_and_without(store: Store) -> None:
    job = demo_job(store, DEAD)
    seen: list[str] = []
    for thinks in (False, True):
        app: Starlette = make_app(store, Serving(thinks_ahead=thinks))
        try:
            with TestClient(app, base_url=HERE, client=("127.0.0.1", 1)) as client:
                answer = client.get(f"/job/{job.record.id}")
                assert answer.status_code == 200
                if thinks:
                    assert app.state.ahead.wait(LONG)
                seen.append(answer.text.partition("<main")[2].partition("token")[0])
        finally:
            if thinks:
                app.state.ahead.stop()
    assert seen[0] == seen[1]

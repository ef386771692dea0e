"""A job is closed as tried only where a guard was tried, none failed and no reading says otherwise."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

import backprobe as bp
from backprobe.errors import JobError
from backprobe.jobs.guard_proof import untried_guards
from backprobe.jobs.job import Job
from backprobe.jobs.proving import GUARD_FAILED, NONE_PROVEN, guards_of, proven_as, ticks_of
from backprobe.jobs.standing import standing_of
from backprobe.jobs.store import Store
from backprobe.report.job_words import entry_words
from backprobe.report.past_words import repair_data
from backprobe.report.repair_words import NAMES_NO_GUARD, repair_lines, tick_words
from backprobe.sheet.reader import parse_sheet
from tests.jobs.test_repairs import READ, SHEET, ticked

BARE = SHEET.replace(", guard: brake is set and seat is seated", "")
PROVEN = "repaired and tried"
OPEN_SEAT = "key start, brake set, seat empty, all plugged"


def at_proof(text: str) -> Iterator[Job]:
    with Store.open(":memory:") as store:
        made = Job.new(store, parse_sheet(text), title="will not crank")
        for line in READ:
            made.read(line)
        made.repaired("brake switch: replaced")
        made.read("relay K1 works")
        yield made


@pytest.fixture
def job() -> Iterator[Job]:
    yield from at_proof(SHEET)


@pytest.fixture
def bare() -> Iterator[Job]:
    yield from at_proof(BARE)


def told(job: Job) -> str:
    return " ".join(" ".join(repair_lines(job, standing_of(job))).split())


def fail(job: Job, position: str = "seat empty") -> str:
    """A guard that failed, by its key."""
    key = next(t.key for t in ticks_of(job.engine) if t.guards and position in t.key)
    job.guard_failed(key, ticked(job)[key])
    return key


def test_without_a_guard_no_record_says_that_one_was_tried(bare: Job) -> None:
    assert not any(f.guard for f in bare.sheet.functions.values())
    assert NAMES_NO_GUARD in told(bare)
    assert f'"{NONE_PROVEN}" --tried' in told(bare)
    # Whatever is typed, with every tick it is closed as what it is.
    entry = bare.close(PROVEN, ticked(bare), "parking brake on the slope")
    assert bare.record.closed_as == NONE_PROVEN
    assert entry_words(entry).endswith("Tried by hand besides: parking brake on the slope")
    assert "No guard was proven: the sheet names none." in told(bare)
    assert "Guards tried" not in told(bare)
    data = repair_data(bare, standing_of(bare))
    assert isinstance(data, dict)
    assert (data["guards_tried"], data["guards_to_try"]) == (0, 0)


def test_without_a_guard_the_ticks_are_still_needed(bare: Job) -> None:
    for reason in (PROVEN, NONE_PROVEN):
        with pytest.raises(JobError, match="not ticked"):
            bare.close(reason)


def test_what_is_put_back_is_no_guard(job: Job) -> None:
    assert proven_as(job.engine) == PROVEN
    assert guards_of(None, job.engine) == (0, 2)
    entry = job.close(PROVEN, ticked(job))
    assert guards_of(entry, job.engine) == (2, 2)
    assert len(ticked(job)) > 2


def test_a_guard_that_failed_is_kept_by_name_and_stands_against_closing(job: Job) -> None:
    fail(job)
    last = job.record.entries[-1]
    assert entry_words(last).startswith("guard failed: ")
    assert entry_words(last).endswith(
        "brake set, seat empty and all plugged: relay K1 must NOT click: it worked although it must not"
    )
    with pytest.raises(JobError, match=rf"entry {last.number} says that relay K1 worked with .*seat empty"):
        job.close(PROVEN, ticked(job))
    assert "Do not hand the machine over" in told(job)
    assert "Then close the job" not in told(job)
    job.close("handed on")
    assert job.record.closed_as == f"handed on, {GUARD_FAILED}"


@pytest.mark.parametrize("mend", ["undo", "repair"])
def test_taken_back_or_repaired_it_may_be_closed(job: Job, mend: str) -> None:
    fail(job)
    if mend == "undo":
        job.undo()
    else:
        job.repaired("seat switch: replaced")
        job.read("relay K1 works")
    assert job.against == ()
    job.close(PROVEN, ticked(job))
    assert job.record.closed_as == PROVEN


def test_only_a_guard_can_fail(job: Job) -> None:
    for key in [t.key for t in ticks_of(job.engine) if not t.guards] + [""]:
        with pytest.raises(JobError, match="tries no guard"):
            job.guard_failed(key, "")


@pytest.mark.parametrize("line", ["relay K1 works", "relay K1 clicks"])
def test_a_reading_that_it_works_with_a_guard_open_refuses(job: Job, line: str) -> None:
    entry = job.read(f"{line}, {OPEN_SEAT}")
    with pytest.raises(JobError, match=rf"entry {entry.number} says .*seat empty.*must not"):
        job.close(PROVEN, ticked(job))
    job.undo(entry.number)
    job.close(PROVEN, ticked(job))


def test_a_reading_that_the_guard_holds_contradicts_nothing(job: Job) -> None:
    job.read(f"relay K1 dead, {OPEN_SEAT}")
    # With battery volts put to the coil for a moment it says nothing of its guard.
    job.read(f"relay K1 clicks, {OPEN_SEAT}, jumper battery+ to C2-1")
    assert job.readings()[-1].setup.attached
    assert job.against == ()


def test_dead_where_it_must_work_refuses_until_it_works_there(job: Job) -> None:
    works = next(t.tries[0].setup for t in ticks_of(job.engine) if t.works)
    assert works is not None
    where = ", ".join([*(f"{c} {p}" for c, p in works.state), "all plugged"])
    job.read(f"relay K1 does not click, {where}")
    (found,) = job.against
    assert not found.held
    with pytest.raises(JobError, match="must work"):
        job.close(PROVEN, ticked(job))
    job.read(f"relay K1 clicks, {where}")
    assert job.against == ()


def test_before_a_repair_the_complaint_is_no_contradiction() -> None:
    with Store.open(":memory:") as store:
        made = Job.new(store, parse_sheet(SHEET))
        made.read(READ[0])
        assert made.against == ()


def test_a_guard_without_a_try_is_named_and_not_closed_as_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    engine = bp.Engine(parse_sheet(SHEET))
    assert untried_guards(engine) == ()
    tries = [t for t in bp.jobs.guard_proof.guard_tries(engine) if "brake" not in t.open_guard]  # type: ignore[attr-defined]
    for module in ("guard_proof", "proving"):
        monkeypatch.setattr(f"backprobe.jobs.{module}.guard_tries", lambda _: tuple(tries))
    assert untried_guards(engine) == ("relay K1: brake",)
    for made in at_proof(SHEET):
        assert "what these guards ask for: relay K1: brake" in told(made)
        made.close(PROVEN, {t.key: tick_words(t, made.sheet) for t in ticks_of(made.engine)})
        assert made.record.closed_as == "repaired, not every guard proven"
        assert "Guards tried, ticked by hand: 1 of 2." in told(made)

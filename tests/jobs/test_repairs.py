"""A repair is kept like a reading, and from then on the machine is another one."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from backprobe.errors import JobError
from backprobe.jobs.exchange import export_job, import_job
from backprobe.jobs.job import Job
from backprobe.jobs.proving import ticks_of
from backprobe.jobs.standing import standing_of
from backprobe.jobs.store import Store
from backprobe.report.repair_words import repair_lines, revived_headline, tick_words
from backprobe.report.words import answer_text, headline
from backprobe.sheet.reader import parse_sheet

SHEET = """\
sheet: Vine mulcher, start circuit
system: 12 V
controls: {key: [off, on, start], brake: [released, set], seat: [empty, seated]}
runs:
  start: [battery+, fuse F1 15 A, key switch, C1-1, wire W1 1.1 m 1.5 mm2, brake switch, seat switch, C2-1,
          relay coil K1 81 ohm, ring G5, frame]
functions:
  relay K1: {loads: relay K1, guard: brake is set and seat is seated}
"""
READ = (
    "relay K1 dead, key start, brake set, seat seated, all plugged",
    "before brake switch to battery-: 12.5 V",
    "after brake switch to battery-: 0 V",
)


def ticked(job: Job) -> dict[str, str]:
    """Everything on the list, ticked."""
    return {t.key: tick_words(t, job.sheet) for t in ticks_of(job.engine)}


@pytest.fixture
def job() -> Iterator[Job]:
    with Store.open(":memory:") as store:
        made = Job.new(store, parse_sheet(SHEET), title="will not crank")
        for line in READ:
            made.read(line)
        yield made


def test_what_works_again_is_noticed_and_asked_about(job: Job) -> None:
    assert headline(job.answer()).startswith("It is the brake switch: ")
    job.read("relay K1 works")
    said = answer_text(job.answer(), job.next_checks())
    assert headline(job.answer()) == revived_headline(job.answer())
    assert "It works now: relay K1 was dead with key start" in " ".join(said.split())
    assert 'backprobe job repaired "brake switch: replaced"' in " ".join(said.split())
    assert "comes and goes" in said
    # Nothing is to be repaired while nobody knows whether it was.
    assert "Repair:" not in said
    assert "You may repair" not in said


def test_works_in_another_state_is_no_contradiction(job: Job) -> None:
    job.read("relay K1 works, key on")
    assert not revived_headline(job.answer())


def test_dead_again_after_it_worked_is_dead(job: Job) -> None:
    job.read("relay K1 works")
    job.read("relay K1 dead")
    assert not revived_headline(job.answer())


def test_after_a_repair_only_new_readings_count(job: Job) -> None:
    job.repaired("brake switch: replaced")
    assert job.readings_now() == []
    assert len(job.readings()) == len(READ)
    assert standing_of(job).to_try
    job.read("relay K1 works")
    standing = standing_of(job)
    assert standing.to_prove
    assert not revived_headline(job.answer())
    assert all("brake switch" not in s.name or s.probability < 0.2 for s in job.answer().suspects)
    listed = " ".join(" ".join(repair_lines(job, standing)).split())
    for where in ("brake released, seat seated", "brake set, seat empty"):
        assert f"{where} and all plugged: relay K1 must NOT click" in listed


@pytest.mark.parametrize(
    ("reason", "said"),
    [
        ("repaired and tried", "It works after the repair. Guards tried, ticked by hand: 2 of 2."),
        ("handed on", "It works after the repair. The guards were not tried."),
    ],
)
def test_a_closed_job_asks_for_no_tries(job: Job, reason: str, said: str) -> None:
    job.repaired("brake switch: replaced")
    job.read("relay K1 works")
    job.close(reason, ticked(job) if reason != "handed on" else {})
    told = " ".join(" ".join(repair_lines(job, standing_of(job))).split())
    assert told.endswith(said)
    assert "Try every guard" not in told


def test_a_repair_of_which_nothing_more_is_said_is_named_once(job: Job) -> None:
    for text in ("ring G5: repaired", "ring G5", "ring G5: Repaired"):
        job.repaired(text)
        assert str(job.repairs[-1]) == "ring G5"
    job.repaired("ring G5: repaired with a new lug")
    assert str(job.repairs[-1]) == "ring G5: repaired with a new lug"


def test_a_repair_in_vain_clears_the_part_and_not_the_rest(job: Job) -> None:
    job.repaired("brake switch: replaced")
    job.read("relay K1 dead")
    suspects = {s.name: s.probability for s in job.answer().suspects}
    # A swap that cures nothing leaves little of 0.02 to 0.98 (how `swapped` is weighed).
    assert suspects.get("brake switch: does not close", 0.0) < 0.1 * suspects["seat switch: does not close"]
    assert not standing_of(job).to_prove


def test_a_repair_taken_back_brings_the_earlier_readings_back(job: Job) -> None:
    before = headline(job.answer())
    job.repaired("brake switch: replaced")
    job.undo()
    assert job.repairs == ()
    assert headline(job.answer()) == before


def test_a_repair_and_a_closing_go_through_export(job: Job) -> None:
    job.repaired("K1: fitted anew")
    job.close("repaired and tried", ticked(job))
    with Store.open(":memory:") as other:
        taken = import_job(other, export_job(job.record))
        assert taken.closed_as == "repaired and tried"
        again = Job.open(other, taken.id)
        assert [str(r) for r in again.repairs] == ["relay K1: fitted anew"]
        (line,) = other.jobs()
        assert (line.is_open, line.reason) == (False, "repaired and tried")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("brake swich: replaced", "Did you mean 'brake switch'"),
        ("", "names no part"),
        (": replaced", "names no part"),
        ("brake switch: " + "x" * 300, "longer than"),
    ],
)
def test_what_is_no_repair_is_refused(job: Job, text: str, words: str) -> None:
    with pytest.raises(JobError, match=words):
        job.repaired(text)
    assert job.repairs == ()


def test_a_closed_job_takes_nothing_until_it_is_opened_again(job: Job) -> None:
    job.close("handed on")
    with pytest.raises(JobError, match="is closed"):
        job.read("relay K1 works")
    with pytest.raises(JobError, match="is closed"):
        job.close("handed on")
    job.undo()
    job.read("relay K1 works")
    assert job.record.is_open
    with pytest.raises(JobError, match="empty"):
        job.close("  ")

"""The log by itself: what stands, what may be undone, ids and times."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from backprobe.errors import JobError
from backprobe.jobs.log import (
    ID_LETTERS,
    JSON,
    Entry,
    Job,
    check_kind,
    check_undo,
    format_time,
    new_id,
    parse_time,
    pick_id,
    standing,
)

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


def log_of(*kinds: str | int) -> list[Entry]:
    """Return a log from kinds; a number is an undo of that entry."""
    entries: list[Entry] = []
    for number, kind in enumerate(kinds, 1):
        data: dict[str, JSON] = {"undoes": kind} if isinstance(kind, int) else {}
        entries.append(Entry(number, "undo" if isinstance(kind, int) else kind, NOON, data))
    return entries


def job_of(*kinds: str | int) -> Job:
    return Job("7f3k9", "boom dead", "sprayer 3", "gate.yaml", "sheet: x", tuple(log_of(*kinds)))


def numbers(job: Job) -> list[int]:
    return [entry.number for entry in standing(job)]


def test_an_undone_reading_no_longer_counts() -> None:
    job = job_of("opened", "reading", "reading", 2)
    assert numbers(job) == [1, 3, 4]
    assert [entry.number for entry in job.readings] == [3]


def test_undoing_the_undo_restores_and_doing_it_again_takes_it_away() -> None:
    assert numbers(job_of("opened", "reading", 2, 3)) == [1, 2, 4]
    assert numbers(job_of("opened", "reading", 2, 3, 4)) == [1, 3, 5]


def test_what_was_restored_can_be_undone_again() -> None:
    check_undo(log_of("opened", "reading", 2, 3), 2)
    assert numbers(job_of("opened", "reading", 2, 3, 2)) == [1, 4, 5]


def test_a_closed_job_is_open_again_when_the_closing_is_undone() -> None:
    assert job_of("opened", "note").is_open
    assert not job_of("opened", "closed").is_open
    assert job_of("opened", "closed", 2).is_open
    assert not job_of("opened", "closed", 2, "closed").is_open


@pytest.mark.parametrize(
    ("kinds", "target", "words"),
    [
        (("opened", "reading"), 1, "opened the job"),
        (("opened", "reading"), 3, "from 2 to 2"),
        (("opened", "reading"), 0, "not an entry"),
        (("opened", "reading"), -1, "not an entry"),
        (("opened", "reading"), True, "'true'"),
        (("opened", "reading"), "2", "not an entry"),
        (("opened", "reading"), 2.0, "not an entry"),
        (("opened", "reading"), None, "'null'"),
        (("opened", "reading", 2), 2, "undo entry 3"),
        (("opened", "reading", 2, 3), 3, "undo entry 4"),
        # 2 was undone by 3, restored by 4, undone by 5: undoing 4 would undo 2 once more
        (("opened", "reading", 2, 3, 2), 4, "undo entry 5"),
    ],
)
def test_an_undo_that_makes_no_sense_is_refused_with_a_remedy(
    kinds: tuple[str | int, ...], target: JSON, words: str
) -> None:
    with pytest.raises(JobError) as caught:
        check_undo(log_of(*kinds), target)
    assert words in str(caught.value)
    assert caught.value.problems[0].field == "undoes"
    assert caught.value.problems[0].remedy


@given(st.lists(st.one_of(st.just("reading"), st.integers(0, 5)), max_size=25))
def test_undo_is_a_switch_whatever_came_before(steps: list[str | int]) -> None:
    """Model: every entry has one switch; undoing an undo turns the switch of its target back.

    A number among the steps says how far back the undo reaches.
    """
    kinds: list[str | int] = ["opened"]
    on = {1: True}

    def chain(number: int) -> list[int]:
        """Return the switches that an undo of this entry turns: off, on, off ..."""
        target = kinds[number - 1]
        return [number, *chain(target)] if isinstance(target, int) else [number]

    for drawn in steps:
        step = len(kinds) + 1 - drawn if isinstance(drawn, int) else drawn
        if isinstance(step, int):
            turned = chain(step) if 1 < step <= len(kinds) else []
            sensible = bool(turned) and all(on[n] == (i % 2 == 0) for i, n in enumerate(turned))
            try:
                check_undo(log_of(*kinds), step)
            except JobError:
                assert not sensible
                continue
            assert sensible
            for number in turned:
                on[number] = not on[number]
        kinds.append(step)
        on[len(kinds)] = True
    assert numbers(job_of(*kinds)) == [number for number, stands in on.items() if stands]


@given(st.lists(st.integers(1, 30), max_size=30))
def test_the_newest_undo_can_always_be_taken_back(targets: list[int]) -> None:
    kinds: list[str | int] = ["opened", "reading", "note", "reading"]
    for target in targets:
        before = [entry.number for entry in standing(job_of(*kinds))]
        try:
            check_undo(log_of(*kinds), target)
        except JobError:
            continue
        kinds.append(target)
        check_undo(log_of(*kinds), len(kinds))
        after = numbers(job_of(*kinds, len(kinds)))
        assert after == [*before, len(kinds) + 1]


def test_a_job_begins_with_opened_and_has_no_second_one() -> None:
    assert check_kind("opened", 1) == "opened"
    for kind, number in (("opened", 2), ("reading", 1), ("guess", 2), (None, 2), ([], 2)):
        with pytest.raises(JobError):
            check_kind(kind, number)


def test_ids_have_no_letter_that_is_misread() -> None:
    assert len(set(ID_LETTERS)) == 32 and not set("ilou") & set(ID_LETTERS)
    assert {len(new_id()) for _ in range(20)} == {5}
    assert new_id(lambda letters: letters[-1], 7) == "z9zzzzz"


def test_an_id_is_found_by_its_beginning_as_it_was_read_aloud() -> None:
    ids = ["7f3k9", "7f100", "abcde", "abcdef"]
    assert pick_id("7f3", ids) == "7f3k9"
    assert pick_id(" 7F3K9 ", ids) == "7f3k9"
    assert pick_id("7FiOo", ids) == "7f100"
    assert pick_id("abcde", ids) == "abcde"  # whole, though another begins alike


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("7f", "7f3k9, 7f100"),
        ("7f3k8", "Near it: 7f3k9"),
        ("", "Near it: 7f3k9"),
        ("qqqqq", "Near it: 7f3k9, 7f100, abcde"),
    ],
)
def test_an_unclear_id_names_the_ones_near_it(typed: str, words: str) -> None:
    with pytest.raises(JobError) as caught:
        pick_id(typed, ["7f3k9", "7f100", "abcde", "hhhhh"])
    assert words in str(caught.value)


def test_a_time_is_written_in_utc_with_whole_seconds() -> None:
    summer = timezone(timedelta(hours=2))
    at = datetime(2026, 7, 1, 0, 30, 5, 999_999, tzinfo=summer)
    assert format_time(at) == "2026-06-30T22:30:05Z"
    assert parse_time("2026-06-30T22:30:05Z") == datetime(2026, 6, 30, 22, 30, 5, tzinfo=UTC)


@pytest.mark.parametrize(
    "text",
    [
        "2026-06-30 22:30:05Z",
        "2026-06-30T22:30:05",
        "2026-06-30T22:30:05+00:00",
        "2026-06-30T22:30:05.5Z",
        "2026-06-30T22:30Z",
        "2026-02-30T22:30:05Z",
        "20260630T223005Z",
        "0001-01-01T00:00:00+23:59",
        "yesterday",
        "",
        None,
        1782858605,
    ],
)
def test_any_other_spelling_of_a_time_is_refused(text: object) -> None:
    with pytest.raises(JobError, match="2026-03-02T09:15:00Z"):
        parse_time(text)


def test_the_log_is_imported_without_the_database_library() -> None:
    code = "import sys, backprobe.jobs.log, backprobe.jobs.exchange; sys.exit('sqlalchemy' in sys.modules)"
    path = [entry for entry in sys.path if entry]
    done = subprocess.run([sys.executable, "-c", f"import sys; sys.path[:0] = {path!r}; {code}"], check=False)
    assert done.returncode == 0

"""The store: what is written, how jobs are found, and that nothing is ever rewritten."""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from backprobe.errors import JobError
from backprobe.jobs import exchange
from backprobe.jobs.log import KINDS
from backprobe.jobs.store import Store
from tests.jobs.helpers import SHEET, open_job, spelling, ticking


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "jobs.sqlite"


@pytest.fixture
def store(file: Path) -> Iterator[Store]:
    with Store.open(file, clock=ticking()) as opened:
        yield opened


def test_a_job_comes_back_as_it_was_written(store: Store, file: Path) -> None:
    job = open_job(store)
    entry = store.append(job.id, "reading", {"volts": 4.25, "red": "C5-3", "over": None, "taken": [1, True]})
    store.append(job.id, "note", {"text": "Kabel grün, 2,5 mm² — \U0001f69c"})
    assert (entry.number, entry.at) == (2, datetime(2026, 3, 2, 9, 15, 1, tzinfo=UTC))
    with Store.open(file) as again:
        found = again.job(job.id)
    assert (found.title, found.machine) == ("boom stays locked", "sprayer 3")
    assert (found.sheet_name, found.sheet_text) == ("gate.yaml", SHEET)
    assert found.entries[0].data == {"complaint": "boom dead, drive works"}
    assert found.entries[1] == entry
    assert found.entries[1].data == {"volts": 4.25, "red": "C5-3", "over": None, "taken": [1, True]}
    assert found.entries[2].data["text"] == "Kabel grün, 2,5 mm² — \U0001f69c"
    assert [e.kind for e in found.entries] == ["opened", "reading", "note"]


def test_every_kind_of_entry_can_follow_the_opening(store: Store) -> None:
    job = open_job(store)
    for kind in KINDS[1:]:
        store.append(job.id, kind, {"undoes": 2} if kind == "undo" else {})
    assert tuple(entry.kind for entry in store.job(job.id).entries) == KINDS


def test_the_list_has_the_newest_job_first_and_counts_what_stands(store: Store) -> None:
    first, second = open_job(store, "first"), open_job(store, "second")
    for _ in range(3):
        store.append(first.id, "reading", {})
    store.append(first.id, "undo", {"undoes": 2})
    store.append(second.id, "closed", {"why": "proof passed"})
    lines = store.jobs()
    assert [(line.title, line.readings, line.is_open) for line in lines] == [
        ("second", 0, False),
        ("first", 2, True),
    ]
    assert lines[1].id == first.id
    assert lines[1].opened_at == datetime(2026, 3, 2, 9, 15, 0, tzinfo=UTC)
    # two openings and three readings, one second each, came before the undo
    assert lines[1].last_at == datetime(2026, 3, 2, 9, 15, 5, tzinfo=UTC)


def test_jobs_of_the_same_second_keep_their_order(file: Path) -> None:
    with Store.open(file, clock=lambda: datetime(2026, 3, 2, tzinfo=UTC)) as store:
        made = [open_job(store).id for _ in range(8)]
        assert [line.id for line in store.jobs()] == made[::-1]


def test_a_taken_id_is_not_given_again(file: Path) -> None:
    with Store.open(file, choose=spelling("7f3k9", "7f3k9", "7f3m2")) as store:
        assert [open_job(store).id, open_job(store).id] == ["7f3k9", "7f3m2"]
        assert store.job("7f3k").id == "7f3k9"
        with pytest.raises(JobError, match="7f3m2, 7f3k9"):
            store.job("7f3")


def test_ids_get_longer_when_the_short_ones_are_taken(file: Path) -> None:
    with Store.open(file, choose=lambda letters: letters[3]) as store:
        assert [open_job(store).id for _ in range(3)] == ["33333", "333333", "3333333"]


def test_an_unknown_job_is_refused_with_the_ids_near_it(file: Path) -> None:
    with Store.open(file, choose=spelling("7f3k9")) as store:
        open_job(store)
        for call in (store.job, lambda name: store.append(name, "note", {})):
            with pytest.raises(JobError, match="Near it: 7f3k9"):
                call("7f3h9")


def test_reading_an_empty_store_makes_no_file(tmp_path: Path) -> None:
    with Store.open(tmp_path / "new" / "jobs.sqlite") as store:
        assert store.jobs() == []
        for call in (store.job, lambda name: store.append(name, "note", {})):
            with pytest.raises(JobError, match="holds no job yet"):
                call("7f3k9")
        with pytest.raises(JobError):
            store.create("a", "b", "c", "NUL \0", {})
        assert list(tmp_path.iterdir()) == []
        open_job(store)
    assert (tmp_path / "new" / "jobs.sqlite").is_file()


def test_a_caller_who_has_not_seen_the_last_entry_is_told(store: Store) -> None:
    job = open_job(store)
    assert store.append(job.id, "note", {}, expected_last=1).number == 2
    with pytest.raises(JobError, match="'1' is not the last entry, 2 is"):
        store.append(job.id, "note", {}, expected_last=1)
    assert len(store.job(job.id).entries) == 2


def test_a_refused_entry_leaves_no_trace(store: Store) -> None:
    job = open_job(store)
    store.append(job.id, "reading", {})
    store.append(job.id, "undo", {"undoes": 2})
    loop: list[object] = []
    loop.append(loop)
    refused: list[tuple[str, object]] = [
        ("undo", {"undoes": 2}),
        ("undo", {}),
        ("opened", {}),
        ("guess", {}),
        ("note", {"volts": float("nan")}),
        ("note", {"volts": float("inf")}),
        ("note", {"text": "half \ud83d"}),
        ("note", {"deep": loop}),
        ("note", {3: "number as key"}),
        ("note", {"kind": b"bytes"}),
        ("note", {"big": 2**63}),
        ("note", ["no object"]),
    ]
    for kind, data in refused:
        with pytest.raises(JobError) as caught:
            store.append(job.id, kind, data)  # type: ignore[arg-type]
        assert all(problem.message and problem.remedy for problem in caught.value.problems)
    assert len(store.job(job.id).entries) == 3


def test_a_job_never_grows_beyond_what_can_be_handed_on(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(exchange, "MAX_CHARACTERS", 1000)
    job = open_job(store)
    for _ in range(3):
        store.append(job.id, "note", {"text": "x" * 80})
    with pytest.raises(JobError, match="more than the 1000 characters"):
        store.append(job.id, "note", {"text": "x" * 400})
    exchange.read_job(exchange.export_job(store.job(job.id)))
    with pytest.raises(JobError, match="more than the 1000 characters"):
        store.create("a", "b", "c", "x" * 1000, {})
    monkeypatch.setattr(exchange, "MAX_ENTRIES", 4)
    with pytest.raises(JobError, match="more than the 4"):
        store.append(job.id, "note", {})


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entries SET data = '{}'",
        "UPDATE entries SET number = number + 10",
        "DELETE FROM entries WHERE number = 2",
        "REPLACE INTO entries SELECT job, number, kind, at, '{}' FROM entries",
        "INSERT INTO entries SELECT job, 9, kind, at, data FROM entries WHERE number = 2",
        "INSERT INTO entries VALUES ('nojob', 1, 'opened', '2026-03-02T09:15:00Z', '{}')",
        "INSERT INTO entries SELECT job, 'three', kind, at, data FROM entries WHERE number = 2",
        "INSERT INTO entries SELECT job, 3, kind, at, NULL FROM entries WHERE number = 2",
        "INSERT INTO entries SELECT job, 3, kind, at, x'00' FROM entries WHERE number = 2",
        "UPDATE jobs SET sheet_text = 'another'",
        "UPDATE jobs SET title = 'another'",
        "DELETE FROM jobs",
        "REPLACE INTO jobs SELECT serial, id, title, machine, sheet_name, 'another' FROM jobs",
        "REPLACE INTO jobs SELECT serial + 1, id, title, machine, sheet_name, 'another' FROM jobs",
    ],
)
def test_sqlite_itself_refuses_to_rewrite_a_log(store: Store, file: Path, statement: str) -> None:
    job = open_job(store)
    store.append(job.id, "reading", {"volts": 4.25})
    before = store.job(job.id)
    raw = sqlite3.connect(file)
    raw.execute("PRAGMA foreign_keys=ON")
    with pytest.raises(sqlite3.IntegrityError):
        raw.execute(statement)
    raw.commit()
    raw.close()
    assert store.job(job.id) == before


def test_each_connection_is_set_for_safety(store: Store) -> None:
    open_job(store)
    with store._transaction() as connection:
        found = [
            connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "foreign_keys", "busy_timeout", "synchronous")
        ]
        strict = connection.exec_driver_sql("SELECT name FROM pragma_table_list WHERE strict").scalars()
        assert set(strict) == {"meta", "jobs", "entries"}
    assert found == ["wal", 1, 5000, 2]  # synchronous: 2 is FULL


def test_a_store_in_memory_holds_its_jobs_until_it_is_closed() -> None:
    for target in (":memory:", "sqlite://", "sqlite:///:memory:"):
        with Store.open(target) as store:
            job = open_job(store)
            assert store.append(job.id, "note", {}).number == 2
            assert [line.id for line in store.jobs()] == [job.id]


def test_a_file_can_be_named_by_url(file: Path) -> None:
    with Store.open(f"sqlite:///{file}") as store:
        job = open_job(store)
    with Store.open(str(file)) as store:
        assert store.job(job.id) == job


@pytest.mark.parametrize(
    ("system", "variables", "expected"),
    [
        ("linux", {}, "home/.local/share/backprobe/jobs.sqlite"),
        ("linux", {"XDG_DATA_HOME": "{}/data"}, "data/backprobe/jobs.sqlite"),
        ("linux", {"XDG_DATA_HOME": "data"}, "home/.local/share/backprobe/jobs.sqlite"),
        ("darwin", {}, "home/Library/Application Support/Backprobe/jobs.sqlite"),
        ("win32", {"LOCALAPPDATA": "{}/local"}, "local/Backprobe/jobs.sqlite"),
        ("win32", {}, "home/AppData/Local/Backprobe/jobs.sqlite"),
        ("linux", {"BACKPROBE_STORE": "{}/mine.sqlite"}, "mine.sqlite"),
    ],
)
def test_the_usual_place_follows_the_custom_of_the_platform(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    system: str,
    variables: dict[str, str],
    expected: str,
) -> None:
    for name in ("BACKPROBE_STORE", "XDG_DATA_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    for name in ("HOME", "USERPROFILE"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    for name, value in variables.items():
        monkeypatch.setenv(name, value.format(tmp_path))
    with monkeypatch.context() as patch:
        patch.setattr(sys, "platform", system)
        store = Store.open(None)
    with store:
        assert Path(store.name) == tmp_path / expected
        assert list(tmp_path.iterdir()) == []
        open_job(store)
    assert (tmp_path / expected).is_file()

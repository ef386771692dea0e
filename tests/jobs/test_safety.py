"""What must hold when power goes, when two programs write, and when one reads meanwhile."""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path

import pytest

from backprobe.jobs import database
from backprobe.jobs.store import Store
from tests.jobs.helpers import open_job, start_python

DIE_AFTER_APPEND = """
import os, sys
from backprobe.jobs.store import Store
entry = Store.open(sys.argv[1]).append(sys.argv[2], "reading", {"volts": 4.25})
os.write(1, str(entry.number).encode())
os._exit(9)
"""

DIE_BEFORE_COMMIT = """
import os, sys
import backprobe.jobs.store as module
store = module.Store.open(sys.argv[1])
def die(*sizes):
    os._exit(9)
module.exchange.check_size = die
store.append(sys.argv[2], "reading", {"volts": 4.25})
"""

APPEND_FIFTY = """
import sys
from backprobe.jobs.store import Store
with Store.open(sys.argv[1]) as store:
    for count in range(50):
        store.append(sys.argv[2], "reading", {"by": sys.argv[3], "count": count})
"""

CREATE_FIVE = """
import sys
from backprobe.jobs.store import Store
with Store.open(sys.argv[1]) as store:
    for count in range(5):
        store.create(f"job {count}", "sprayer 3", "gate.yaml", "sheet: x", {})
"""


def test_an_acknowledged_entry_outlives_a_process_that_dies(tmp_path: Path) -> None:
    file = tmp_path / "jobs.sqlite"
    with Store.open(file) as store:
        job = open_job(store)
    dying = start_python(DIE_AFTER_APPEND, file, job.id)
    printed, _ = dying.communicate(timeout=60)
    assert (dying.returncode, printed) == (9, "2")
    with Store.open(file) as store:
        assert store.job(job.id).entries[1].data == {"volts": 4.25}


def test_a_process_that_dies_within_an_entry_leaves_the_log_whole(tmp_path: Path) -> None:
    file = tmp_path / "jobs.sqlite"
    with Store.open(file) as store:
        job = open_job(store)
    dying = start_python(DIE_BEFORE_COMMIT, file, job.id)
    dying.communicate(timeout=60)
    assert dying.returncode == 9
    with Store.open(file) as store:
        assert store.job(job.id) == job
        assert store.append(job.id, "note", {}).number == 2


def test_two_programs_that_write_one_log_leave_no_gap_and_no_clash(tmp_path: Path) -> None:
    file = tmp_path / "jobs.sqlite"
    with Store.open(file) as store:
        job = open_job(store)
        writers = [start_python(APPEND_FIFTY, file, job.id, name) for name in ("one", "two")]
        for writer in writers:
            writer.communicate(timeout=60)
        assert [writer.returncode for writer in writers] == [0, 0]
        entries = store.job(job.id).entries[1:]
    assert [entry.number - 1 for entry in entries] == list(range(1, 101))
    for name in ("one", "two"):
        counts = [entry.data["count"] for entry in entries if entry.data["by"] == name]
        assert counts == list(range(50))


def test_programs_that_make_the_same_new_store_at_once_share_it(tmp_path: Path) -> None:
    file = tmp_path / "new" / "jobs.sqlite"
    makers = [start_python(CREATE_FIVE, file) for _ in range(4)]
    for maker in makers:
        maker.communicate(timeout=60)
    assert [maker.returncode for maker in makers] == [0] * 4
    with Store.open(file) as store:
        assert len(store.jobs()) == 20


def test_a_new_store_waits_for_one_who_reads_it_at_that_moment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "jobs.sqlite"
    reading, making = (sqlite3.connect(file, isolation_level=None, check_same_thread=False) for _ in "ab")
    reading.execute("CREATE TABLE meta (key TEXT)")
    making.execute("PRAGMA busy_timeout=0")
    reading.execute("BEGIN")
    reading.execute("SELECT * FROM meta").fetchall()
    monkeypatch.setattr(database, "BUSY_MS", 30)
    with pytest.raises(sqlite3.OperationalError, match="locked"):
        database._use_wal(making)
    monkeypatch.setattr(database, "BUSY_MS", 5000)
    timer = threading.Timer(0.05, reading.execute, ["COMMIT"])
    timer.start()
    database._use_wal(making)
    timer.join()
    assert making.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    reading.close()
    making.close()


def test_threads_share_a_store(tmp_path: Path) -> None:
    for target in (str(tmp_path / "jobs.sqlite"), ":memory:"):
        with Store.open(target) as store:
            job = open_job(store)
            seen: list[int] = []

            def write(store: Store = store, name: str = job.id, seen: list[int] = seen) -> None:
                seen.extend(store.append(name, "note", {}).number for _ in range(10))

            threads = [threading.Thread(target=write) for _ in range(4)]
            for thread in threads:
                thread.start()
            for thread in threads:
                thread.join()
            assert sorted(seen) == list(range(2, 42))


def test_a_reader_never_waits_for_a_writer_nor_sees_half_an_entry(tmp_path: Path) -> None:
    file = tmp_path / "jobs.sqlite"
    with Store.open(file) as store, Store.open(file) as reader:
        job = open_job(store)
        raw = sqlite3.connect(file, isolation_level=None)
        raw.execute("BEGIN IMMEDIATE")
        raw.execute(
            "INSERT INTO entries SELECT job, 2, 'note', at, '{}' FROM entries WHERE job = ?",
            (job.id,),
        )
        assert reader.job(job.id) == job
        assert reader.jobs()[0].last_at == job.entries[0].at
        raw.execute("COMMIT")
        raw.close()
        assert len(reader.job(job.id).entries) == 2


def test_a_reader_sees_a_log_grow_without_gaps(tmp_path: Path) -> None:
    file = tmp_path / "jobs.sqlite"
    with Store.open(file) as store:
        job = open_job(store)
        writer = start_python(APPEND_FIFTY, file, job.id, "one")
        lengths = [1]
        while writer.poll() is None:
            numbers = [entry.number for entry in store.job(job.id).entries]
            assert numbers == list(range(1, len(numbers) + 1))
            lengths.append(len(numbers))
        writer.communicate()
        assert writer.returncode == 0
        assert lengths == sorted(lengths)
        assert len(store.job(job.id).entries) == 51

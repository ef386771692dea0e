"""Where jobs are kept: an append-only log in SQLite, or in PostgreSQL by URL.

A reading that was acknowledged survives a power cut: every entry is one transaction,
written through to the disk before `Store.append` returns.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import sqlalchemy as sa

from backprobe.jobs import exchange, log
from backprobe.jobs.database import (
    ENTRIES,
    JOBS,
    build,
    damaged,
    default_place,
    explain,
    is_built,
    is_file_there,
    open_engine,
    store_error,
)
from backprobe.jobs.log import JSON, Entry, Job, JobLine


class Store:
    """The jobs of one mechanic or one workshop.

    Make it with `Store.open`; use it in a ``with`` statement or close it.
    """

    def __init__(
        self,
        engine: sa.Engine,
        path: Path | None,
        clock: Callable[[], datetime],
        choose: Callable[[str], str],
    ) -> None:
        self.name = str(path) if path else engine.url.render_as_string(hide_password=True)
        self._engine, self._path, self._clock, self._choose = engine, path, clock, choose
        self._built = False

    @classmethod
    def open(
        cls,
        target: str | Path | None = None,
        *,
        clock: Callable[[], datetime] = log.utc_now,
        choose: Callable[[str], str] = secrets.choice,
    ) -> Self:
        """Open a store; file and folder are made by the first entry, not before.

        Parameters
        ----------
        target
            A file, ``:memory:``, a database URL, or None for `default_place`.
        clock
            Tells the time of new entries, UTC.
        choose
            Picks one letter of a new id.
        """
        engine, path = open_engine(default_place() if target is None else str(target))
        return cls(engine, path, clock, choose)

    def create(
        self,
        title: str,
        machine: str,
        sheet_name: str,
        sheet_text: str,
        opened: Mapping[str, JSON],
    ) -> Job:
        """Open a job; `opened` is the data of its first entry.

        Raises
        ------
        JobError
            When a text or the data cannot be stored.
        StoreError
            When the store cannot be written; nothing is written then.
        """
        entry = Entry(1, "opened", self._now(), exchange.plain_object(opened))
        fields = {"title": title, "machine": machine}
        fields |= {"sheet_name": sheet_name, "sheet_text": sheet_text}
        checked = {name: exchange.plain_text(text, name) for name, text in fields.items()}
        return self.add(Job(id="", entries=(entry,), **checked))

    def add(self, job: Job) -> Job:
        """Store a whole, checked job, all or nothing; see `exchange.import_job`.

        An empty id asks for a new one. A taken id gets a new one too, and a ``note`` at the
        end says so.
        """
        exchange.check_room(job)
        if not self._is_there():
            self._make_folder()
        with self._transaction("IMMEDIATE") as connection:
            if not self._built and not is_built(connection, self.name):
                build(connection)
            taken = set(connection.scalars(sa.select(JOBS.c.id)))
            if not job.id:
                job = replace(job, id=self._new_id(taken))
            elif job.id in taken:
                job = self._renamed(job, self._new_id(taken))
            columns = ("id", "title", "machine", "sheet_name", "sheet_text")
            row = {name: getattr(job, name) for name in columns}
            connection.execute(sa.insert(JOBS), row)
            connection.execute(sa.insert(ENTRIES), [_row(job.id, e) for e in job.entries])
        return job

    def append(
        self,
        job_id: str,
        kind: str,
        data: Mapping[str, JSON],
        *,
        expected_last: int | None = None,
    ) -> Entry:
        """Add one entry to a job and return it when it is safe on the disk.

        Parameters
        ----------
        job_id
            The id, or its first characters where they are unique.
        kind
            One of `log.KINDS`, except ``opened``.
        data
            A JSON object; for ``undo`` it is ``{"undoes": number}``.
        expected_last
            The last entry that the caller has seen: refuse when there is a newer one.

        Raises
        ------
        JobError
            For an unknown job, a wrong entry, or a log that has grown meanwhile.
        StoreError
            When the store cannot be written; nothing is written then.
        """
        payload = exchange.plain_object(data)
        if not self._is_there():
            log.pick_id(job_id, ())  # refuses it in the words of an unknown job
        with self._transaction("IMMEDIATE") as connection:
            name = self._find(connection, job_id)
            # PostgreSQL has no IMMEDIATE: there the job's own row is the lock.
            connection.execute(sa.select(JOBS.c.id).where(JOBS.c.id == name).with_for_update())
            mine = ENTRIES.c.job == name
            size = sa.func.sum(sa.func.length(ENTRIES.c.data) + exchange.ENTRY_CHARACTERS)
            last, used = connection.execute(sa.select(sa.func.count(), size).where(mine)).one()
            if not last:
                raise damaged(self.name)
            if expected_last is not None and expected_last != last:
                message = f"is not the last entry, {last} is"
                raise log.refuse("entry", str(expected_last), message, "Look again, then repeat")
            kind = log.check_kind(kind, last + 1)
            if kind == "undo":
                log.check_undo(self._entries(connection, name), payload.get("undoes"))
            entry = Entry(last + 1, kind, self._now(), payload)
            row = _row(name, entry)
            exchange.check_size(last + 1, int(used) + len(row["data"]) + exchange.ENTRY_CHARACTERS)
            connection.execute(sa.insert(ENTRIES), row)
        return entry

    def name_machine(self, job_id: str, machine: str) -> Entry:
        """Say afterwards on which machine a job is: a note in its log, which only grows.

        Raises
        ------
        JobError
            When there is no such job, or the name cannot be stored.
        StoreError
            When the store cannot be written; nothing is written then.
        """
        said = exchange.plain_text(" ".join(machine.split()), "machine")
        return self.append(job_id, "note", {log.MACHINE: said})

    def job(self, job_id: str) -> Job:
        """Return a job by its id or by the first characters of it."""
        if not self._is_there():
            log.pick_id(job_id, ())  # refuses it in the words of an unknown job
        with self._transaction() as connection:
            name = self._find(connection, job_id)
            job = connection.execute(sa.select(JOBS).where(JOBS.c.id == name)).one()
            entries = self._entries(connection, name)
        found = Job(job.id, job.title, job.machine, job.sheet_name, job.sheet_text, entries)
        return log.with_machine(found)

    def jobs(self) -> list[JobLine]:
        """Return one line for each job, newest first, without sheets and payloads."""
        if not self._is_there():
            return []
        undoes = sa.case((ENTRIES.c.kind.in_(("undo", "closed", "note")), ENTRIES.c.data), else_="{}")
        query = sa.select(ENTRIES.c.job, ENTRIES.c.number, ENTRIES.c.kind, ENTRIES.c.at)
        query = query.add_columns(undoes.label("data")).order_by(ENTRIES.c.job, ENTRIES.c.number)
        heads = sa.select(JOBS.c.id, JOBS.c.title, JOBS.c.machine).order_by(JOBS.c.serial.desc())
        with self._transaction() as connection:
            jobs = connection.execute(heads).all()
            logs: dict[str, list[Entry]] = {job.id: [] for job in jobs}
            for row in connection.execute(query):
                logs.setdefault(row.job, []).append(_entry(row.number, row.kind, row.at, row.data))
        if not all(logs.values()):
            raise damaged(self.name)
        lines = [_line(log.with_machine(Job(*job, "", "", tuple(logs[job.id])))) for job in jobs]
        return sorted(lines, key=lambda line: line.opened_at, reverse=True)

    def close(self) -> None:
        """Give the file free."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _now(self) -> datetime:
        return log.parse_time(log.format_time(self._clock()))

    def _renamed(self, job: Job, name: str) -> Job:
        data: dict[str, JSON] = {"imported as": name, "imported from": job.id}
        note = Entry(len(job.entries) + 1, "note", self._now(), data)
        renamed = replace(job, id=name, entries=(*job.entries, note))
        exchange.check_room(renamed)
        return renamed

    def _new_id(self, taken: set[str]) -> str:
        for attempt in range(100):
            name = log.new_id(self._choose, 5 + attempt // 10)  # longer when they get scarce
            if name not in taken:
                return name
        raise store_error(self.name, "has no free job id", "Begin another store")

    def _is_there(self) -> bool:
        if not self._built and (self._path is None or is_file_there(self._path)):
            with self._transaction() as connection:
                self._built = is_built(connection, self.name)
        return self._built

    def _make_folder(self) -> None:
        try:
            if self._path:
                self._path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            message = f"has no folder and none can be made ({error.strerror})"
            raise store_error(self.name, message, "Name a file in a folder you may write") from None

    def _find(self, connection: sa.Connection, typed: str) -> str:
        name = log.read_id(typed)
        if connection.scalar(sa.select(JOBS.c.id).where(JOBS.c.id == name)):
            return name
        ids = connection.scalars(sa.select(JOBS.c.id).order_by(JOBS.c.serial.desc())).all()
        return log.pick_id(typed, ids)

    def _entries(self, connection: sa.Connection, name: str) -> tuple[Entry, ...]:
        columns = (ENTRIES.c.number, ENTRIES.c.kind, ENTRIES.c.at, ENTRIES.c.data)
        query = sa.select(*columns).where(ENTRIES.c.job == name).order_by(ENTRIES.c.number)
        entries = tuple(_entry(*row) for row in connection.execute(query))
        if not entries or any(entry.number != n for n, entry in enumerate(entries, 1)):
            raise damaged(self.name)
        return entries

    @contextmanager
    def _transaction(self, begin: str = "DEFERRED") -> Iterator[sa.Connection]:
        try:
            with (
                self._engine.connect() as connection,
                connection.execution_options(begin=begin).begin(),
            ):
                yield connection
        except (sa.exc.SQLAlchemyError, UnicodeDecodeError) as error:
            raise explain(error, self.name) from None


def _row(job_id: str, entry: Entry) -> dict[str, Any]:
    at, data = log.format_time(entry.at), exchange.dumps(entry.data)
    return {"job": job_id, "number": entry.number, "kind": entry.kind, "at": at, "data": data}


def _entry(number: int, kind: str, at: str, text: str) -> Entry:
    try:
        data = json.loads(text)
        if not isinstance(data, dict):
            raise ValueError
    except (ValueError, TypeError):
        remedy = "The file is damaged: put the last good copy in its place"
        raise log.refuse(f"entries.{number}.data", str(text), "is no JSON object", remedy) from None
    return Entry(number, kind, log.parse_time(at), data)


def _line(job: Job) -> JobLine:
    first, last = job.entries[0].at, job.entries[-1].at
    count = len(job.readings)
    return JobLine(job.id, job.title, job.machine, first, last, count, job.is_open, job.closed_as)

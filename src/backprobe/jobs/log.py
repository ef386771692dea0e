"""The job log: what was done on one machine for one complaint, entry by entry.

A log only grows. What was wrong is undone by a later entry, never rewritten, so a record
that an owner signed still shows what the mechanic knew at the time. Payloads are plain JSON
objects: the log knows nothing of circuits.
"""

from __future__ import annotations

import difflib
import json
import secrets
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TypeAlias

from backprobe.errors import JobError, Problem

JSON: TypeAlias = "bool | int | float | str | Sequence[JSON] | Mapping[str, JSON] | None"

KINDS = ("opened", "reading", "undo", "note", "part", "repaired", "trial", "proof", "closed")
ID_LETTERS = "0123456789abcdefghjkmnpqrstvwxyz"  # no i, l, o, u: misread on a dirty screen
ID_FIGURES = "".join(c for c in ID_LETTERS if c.isdigit())
MACHINE = "machine"
"""What a note is called that says afterwards on which machine a job is."""
_MISREAD = str.maketrans("ilo", "110")


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a job log.

    Parameters
    ----------
    number
        Place in its job, counted from 1.
    kind
        One of `KINDS`.
    at
        When it was written, UTC, whole seconds.
    data
        The payload, a JSON object. An ``undo`` entry has ``{"undoes": number}``.
    """

    number: int
    kind: str
    at: datetime
    data: Mapping[str, JSON]


@dataclass(frozen=True, slots=True)
class Job:
    """One machine, one complaint, and everything that was done about it.

    The whole text of the sheet belongs to the job: a later change of the file on disk
    must not change what the readings were judged by.

    Parameters
    ----------
    id
        Short name, such as ``7f3k9``.
    title, machine
        What the mechanic calls the complaint and the machine.
    sheet_name, sheet_text
        File name and full text of the sheet, as they were when the job was opened.
    entries
        The log, numbers 1 to n.
    """

    id: str
    title: str
    machine: str
    sheet_name: str
    sheet_text: str
    entries: tuple[Entry, ...]

    @property
    def readings(self) -> tuple[Entry, ...]:
        """Readings that are not undone."""
        return tuple(entry for entry in standing(self) if entry.kind == "reading")

    @property
    def is_open(self) -> bool:
        """Whether no ``closed`` entry stands."""
        return self.closing is None

    @property
    def closing(self) -> Entry | None:
        """The entry that closed the job; None while it is open."""
        return next((e for e in reversed(standing(self)) if e.kind == "closed"), None)

    @property
    def closed_as(self) -> str:
        """Why it was closed, such as ``repaired and tried``; empty while it is open or nobody said."""
        return "" if self.closing is None else str(self.closing.data.get("reason", ""))


@dataclass(frozen=True, slots=True)
class JobLine:
    """One line of the list of jobs; `readings` counts those that stand, `reason` is why it was closed."""

    id: str
    title: str
    machine: str
    opened_at: datetime
    last_at: datetime
    readings: int
    is_open: bool
    reason: str = ""


def refuse(field: str, value: str, message: str, remedy: str) -> JobError:
    """Make the one error of this package: what, where, and what would be right."""
    shown = value if len(value) <= 60 else value[:57] + "..."
    shown = shown.encode("utf-8", "backslashreplace").decode("utf-8")
    return JobError(Problem(field, shown, message, remedy))


def standing(job: Job) -> tuple[Entry, ...]:
    """Entries of a job that are not undone; an ``undo`` that is in effect stands too."""
    gone = undone(job.entries)
    return tuple(entry for entry in job.entries if entry.number not in gone)


def with_machine(job: Job) -> Job:
    """A job with the name of its machine as it was said last."""
    notes = [e.data[MACHINE] for e in standing(job) if e.kind == "note" and MACHINE in e.data]
    return replace(job, machine=str(notes[-1])) if notes else job


def undone(entries: Iterable[Entry]) -> frozenset[int]:
    """Numbers of the entries that are undone.

    An undo reaches only back, so the newest is always in effect and decides the older ones.
    """
    gone: set[int] = set()
    for number, target in reversed(_targets(entries).items()):
        if number not in gone:
            gone.add(target)
    return frozenset(gone)


def _targets(entries: Iterable[Entry]) -> dict[int, int]:
    found: dict[int, int] = {}
    for entry in entries:
        target = entry.data.get("undoes")
        if entry.kind == "undo" and isinstance(target, int):
            found[entry.number] = target
    return found


def check_undo(entries: Iterable[Entry], target: JSON, field: str = "undoes") -> None:
    """Refuse an undo of what is not there, is already undone or opened the job.

    Parameters
    ----------
    entries
        The log so far, numbers 1 to n; only its undo entries matter, and its length.
    target
        What the new entry would undo.
    field
        Name of the field in a message.
    """
    log = tuple(entries)
    shown = json.dumps(target, default=str)
    if type(target) is not int or not 1 <= target <= len(log):
        remedy = f'Give {{"undoes": number}} with a number from 2 to {len(log)}'
        raise refuse(field, shown, "is not an entry of this job", remedy)
    if target == 1:
        remedy = "Leave the job as it is, or close it, and open another"
        raise refuse(field, shown, "opened the job and cannot be undone", remedy)
    targets = {**_targets(log), len(log) + 1: target}
    by: dict[int, int] = {}  # undone entry -> the one undo in effect on it
    for number, gone in reversed(targets.items()):
        if number in by:
            continue
        if gone in by:
            # Two undos on one entry would make "undo the undo" leave it undone.
            other = number if by[gone] > len(log) else by[gone]
            message = f"is already undone (entry {gone} by entry {other})"
            remedy = f"To bring entry {gone} back, undo entry {other}"
            raise refuse(field, shown, message, remedy)
        by[gone] = number


def check_kind(kind: object, number: int, field: str = "kind") -> str:
    """Return the kind, refused when unknown or when it does not fit the entry's number."""
    if not isinstance(kind, str) or kind not in KINDS:
        raise refuse(field, str(kind), "is not a kind of entry", f"Use one of {', '.join(KINDS)}")
    if (kind == "opened") != (number == 1):
        message = f"cannot be entry {number}"
        raise refuse(field, kind, message, "A job begins with 'opened' and has only one")
    return KINDS[KINDS.index(kind)]


def utc_now() -> datetime:
    """Return the time now, UTC, whole seconds."""
    return datetime.now(UTC).replace(microsecond=0)


def format_time(at: datetime) -> str:
    """Write a time as ``2026-03-02T09:15:00Z``."""
    return at.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def parse_time(text: object, field: str = "at") -> datetime:
    """Read a time as `format_time` writes it; any other spelling is refused."""
    try:
        at = datetime.fromisoformat(str(text))
        if format_time(at) == text:
            return at
    except (ValueError, OverflowError):
        pass
    raise refuse(field, str(text), "is not a time in UTC", "Write it as 2026-03-02T09:15:00Z")


def new_id(choose: Callable[[str], str] = secrets.choice, length: int = 5) -> str:
    """Return a random job id [characters].

    Its second character is a figure, so that a name is never taken for a word of the trade.
    """
    return "".join(choose(ID_FIGURES if k == 1 else ID_LETTERS) for k in range(length))


def read_id(text: str) -> str:
    """Return an id as stored from an id as typed: capitals and i, l, o are forgiven."""
    return text.strip().lower().translate(_MISREAD)


def pick_id(typed: str, ids: Sequence[str]) -> str:
    """Return the one id that was meant, whole or by its first characters.

    Parameters
    ----------
    typed
        What the user wrote.
    ids
        All ids, newest first.
    """
    wanted = read_id(typed)
    found = [name for name in ids if wanted and name.startswith(wanted)]
    if len(found) == 1 or wanted in found:
        return wanted if wanted in found else found[0]
    if found:
        remedy = f"Write more of it: {', '.join(found[:5])}"
        raise refuse("job", typed, f"fits {len(found)} jobs", remedy)
    near = difflib.get_close_matches(wanted, ids, n=3, cutoff=0.5) or list(ids[:3])
    remedy = f"Near it: {', '.join(near)}" if near else "This store holds no job yet: open one"
    raise refuse("job", typed, "is not a job of this store", remedy)

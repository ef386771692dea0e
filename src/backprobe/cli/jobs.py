"""What the job commands share: the store, and which job is meant."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

import click

from backprobe.cli.inputs import wrong

if TYPE_CHECKING:
    from backprobe.diagnosis.answer import Answer
    from backprobe.diagnosis.check import Check
    from backprobe.jobs.job import Job
    from backprobe.jobs.store import Store

F = TypeVar("F", bound=Callable[..., Any])
CHECKS = 12
SHORTEST_ID = 5


def store_option(command: F) -> F:
    """Add ``--store``."""
    return click.option(
        "--store",
        "target",
        metavar="TARGET",
        envvar="BACKPROBE_STORE",
        default=None,
        help="A file or a database URL; else BACKPROBE_STORE, else the usual place for data.",
    )(command)


@contextmanager
def opened(target: str | None) -> Iterator[Store]:
    """An open store."""
    from backprobe.jobs.store import Store

    with Store.open(target or None) as store:
        yield store


def find_job_id(store: Store, typed: str | None) -> str:
    """The job that is meant: the one named, or the only open one.

    Raises
    ------
    WrongUseError
        When none was named and not exactly one is open.
    """
    if typed:
        return typed
    every = store.jobs()
    lines = [line for line in every if line.is_open]
    if len(lines) == 1:
        return lines[0].id
    if not lines:
        closed = ", ".join(f"{line.id} ({line.title})" for line in every[:5])
        named = f"Name a closed one, {closed}; or open one" if closed else "Open one"
        raise wrong("JOB", "", "is not named, and no job is open", f"{named}: backprobe job new SHEET")
    names = ", ".join(f"{line.id} ({line.title})" for line in lines[:5])
    raise wrong("JOB", "", f"is not named, and {len(lines)} jobs are open", f"Name one of {names}.")


def open_job(store: Store, typed: str | None) -> Job:
    """The job that is meant, ready to work on."""
    from backprobe.jobs.job import Job

    return Job.open(store, find_job_id(store, typed))


def named_job(words: tuple[str, ...]) -> tuple[str | None, str]:
    """The job, if the first word looks like the name of one, and the rest as one text."""
    first = words[0] if len(words) > 1 else ""
    named = len(first) >= SHORTEST_ID and first.isalnum() and any(c.isdigit() for c in first)
    return (first, " ".join(words[1:])) if named else (None, " ".join(words))


def judged(job: Job) -> tuple[Answer, tuple[Check, ...]]:
    """What a job's readings say, and what could be checked next; nothing once it works after a repair."""
    from backprobe.api import rank
    from backprobe.jobs.standing import ranked_readings, standing_of

    answer = rank(job.engine, ranked_readings(job))
    return answer, () if standing_of(job).is_past else job.checks_after(answer, CHECKS)

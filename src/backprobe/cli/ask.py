"""Asks on a terminal for what a typed reading lacks."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import click

from backprobe.errors import Problem, ReadingError

if TYPE_CHECKING:
    from backprobe.jobs.job import Job
    from backprobe.jobs.log import Entry
    from backprobe.readings.lines import Context

LACKS = "does not say"
ROUNDS = 5


def is_terminal() -> bool:
    """Whether somebody is there to answer."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def take_lines(job: Job, lines: Sequence[str]) -> Iterator[Entry]:
    """Take readings into a job, one after the other; on a terminal ask for what they lack.

    A line ``state: ...`` settles what holds from there on. Where nobody is there to ask, all
    lines are looked at before the first is stored.

    Raises
    ------
    ReadingError
        For a line that is not understood, or that lacks something.
    """
    from backprobe.readings.lines import parse_context

    if not is_terminal():
        _look_at(job, lines)
    context: Context | None = None
    for line in lines:
        if is_state(line):
            context = parse_context(line.strip()[6:], job.sheet, context or job.context())
        else:
            yield _read_asking(job, line, context)
            context = None


def is_state(line: str) -> bool:
    """Whether a line settles the operator state for those after it."""
    return line.strip().lower().startswith("state:")


def _look_at(job: Job, lines: Sequence[str]) -> None:
    from backprobe.readings.lines import context_after, parse_context, parse_reading

    readings, problems = job.readings(), list[Problem]()
    context = context_after(readings)
    for number, line in enumerate(lines, 1):
        place = number if len(lines) > 1 else 0
        try:
            if is_state(line):
                context = parse_context(line.strip()[6:], job.sheet, context, file="LINE", line=place)
            else:
                readings.append(parse_reading(line, job.sheet, context, file="LINE", line=place))
                context = context_after(readings)
        except ReadingError as error:
            problems += error.problems
    if problems:
        raise ReadingError(*problems)


def _read_asking(job: Job, line: str, context: Context | None) -> Entry:
    for _ in range(ROUNDS):
        try:
            return job.read(line, context)
        except ReadingError as error:
            lacking = [p for p in error.problems if p.message.startswith(LACKS)]
            if not is_terminal() or len(lacking) < len(error.problems):
                raise
            for problem in lacking:
                line = completed(line, problem, _ask(job, problem))
    return job.read(line, context)


def completed(line: str, problem: Problem, answer: str) -> str:
    """The line with what was missing added where it belongs."""
    if problem.field == "black":
        head, colon, tail = line.partition(":")
        return f"{head} to {answer}{colon}{tail}" if colon else f"{line} to {answer}"
    return f"{line}, {answer}"


def _ask(job: Job, problem: Problem) -> str:
    control = job.sheet.controls.get(problem.field)
    if control is not None:
        choice = click.Choice(control.positions, case_sensitive=False)
        position = click.prompt(f"Where was {control.name}?", type=choice, err=True)
        return f"{control.name} {position}"
    if problem.field == "black":
        return str(click.prompt("Where was the black lead?", default="battery-", err=True))
    off = click.prompt("What was unplugged? (none, or such as C2)", default="none", err=True)
    return "all plugged" if str(off).strip().lower() in {"none", ""} else f"{off} unplugged"

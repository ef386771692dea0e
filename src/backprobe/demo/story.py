"""The jobs of the invented fleet: told step by step, and played on the engine."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from backprobe.api import Answer, Check, Engine, next_checks, rank
from backprobe.demo.acting import Acted, Lead, act_out
from backprobe.jobs.job import Job
from backprobe.readings.lines import context_after, parse_reading
from backprobe.readings.model import Reading
from backprobe.sheet.document import plain, read_document
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet
from backprobe.units import parse_quantity

NAMES = ("sprayer", "dumper", "platform")
"""The machines, in the order in which the demo shows them."""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing the mechanic does, and the line he types.

    `really` is where the leads were, for the one reading that is a slip.
    """

    does: str
    line: str
    really: Lead | None = None


@dataclass(frozen=True, slots=True)
class Story:
    """One job of the demo.

    Parameters
    ----------
    name
        Of the machine, one of `NAMES`.
    circumstances
        What the complaint says besides the dead function.
    acted
        What is really wrong; the engine never sees it.
    """

    name: str
    title: str
    machine: str
    sheet: Sheet
    circumstances: tuple[str, ...]
    steps: tuple[Step, ...]
    acted: Acted

    @property
    def slip(self) -> int | None:
        """Index of the step whose reading is a slip; None when there is none."""
        return next((i for i, step in enumerate(self.steps) if step.really), None)

    def acted_lines(self) -> tuple[str, ...]:
        """The lines as the machine, solved with its fault, makes them."""
        return act_out(self.sheet, self.acted, tuple((s.line, s.really) for s in self.steps))


@dataclass(frozen=True, slots=True, eq=False)
class Played:
    """Where a job stands after one step.

    Parameters
    ----------
    checks
        What the engine proposes next, best first.
    """

    step: Step
    reading: Reading
    answer: Answer
    checks: tuple[Check, ...]


def demo_sheet_text(name: str) -> str:
    """The sheet file of a machine of the fleet.

    Raises
    ------
    KeyError
        When the fleet has no such machine.
    """
    if name not in NAMES:
        raise KeyError(name)
    return files("backprobe.demo").joinpath("fleet", f"{name}.yaml").read_text(encoding="utf-8")


@cache
def demo_sheets() -> Mapping[str, Sheet]:
    """The sheets of the fleet by the name of the machine."""
    return {name: parse_sheet(demo_sheet_text(name), file=f"{name}.yaml") for name in NAMES}


@cache
def demo_jobs() -> tuple[Story, ...]:
    """The jobs of the fleet, one for each machine."""
    return tuple(_story(name) for name in NAMES)


def play(story: Story, job: Job | None = None, *, count: int = 6) -> Iterator[Played]:
    """Play a job step by step on the engine.

    Parameters
    ----------
    job
        A stored job to write the readings to; without one nothing is stored.
    count
        How many next checks to ask for after each step.
    """
    engine = Engine(story.sheet, story.circumstances) if job is None else job.engine
    readings: list[Reading] = []
    for step in story.steps:
        reading = parse_reading(step.line, engine.sheet, context_after(readings))
        if job is not None:
            job.read(step.line)
        readings.append(reading)
        answer = rank(engine, readings)
        yield Played(step, reading, answer, next_checks(answer, count))


def _story(name: str) -> Story:
    text = files("backprobe.demo").joinpath("jobs", f"{name}.yaml").read_text(encoding="utf-8")
    data: dict[str, Any] = plain(read_document(text, file=f"{name}.yaml"))
    acted = data["acted"]
    values = {key: parse_quantity(str(value)).value for key, value in acted["set"].items()}
    gain = parse_quantity(acted["meter"], unit="%").value / 100
    return Story(
        name,
        data["title"],
        data["machine"],
        demo_sheets()[data["sheet"]],
        tuple(data.get("circumstances", ())),
        tuple(_step(entry) for entry in data["steps"]),
        Acted(acted["fault"], values, gain),
    )


def _step(entry: Mapping[str, Any]) -> Step:
    really = entry.get("really")
    return Step(entry["do"], entry["line"], Lead(**really) if really else None)

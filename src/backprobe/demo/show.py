"""Plays all jobs of the fleet into one store."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from backprobe.demo.story import Played, Story, demo_jobs, play
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.report.data import answer_data


@dataclass(frozen=True, slots=True, eq=False)
class Show:
    """One job about to be played.

    Parameters
    ----------
    count
        How many jobs there are in all.
    steps
        Each step as it is played; reading it plays the job.
    """

    story: Story
    count: int
    job_id: str
    steps: Iterator[Played]


def play_all(target: str | Path) -> Iterator[Show]:
    """Play the jobs of the fleet, each into a stored job.

    Parameters
    ----------
    target
        A file, ``:memory:`` or a database URL.

    Raises
    ------
    StoreError
        When the store cannot be written.
    """
    stories = demo_jobs()
    with Store.open(target) as store:
        for story in stories:
            job = _opened(store, story)
            yield Show(story, len(stories), job.record.id, play(story, job))


def fill(store: Store) -> None:
    """Write the jobs of the fleet into a store, all their readings taken and nothing said about them yet."""
    for story in demo_jobs():
        job = _opened(store, story)
        for step in story.steps:
            job.read(step.line)


def _opened(store: Store, story: Story) -> Job:
    return Job.new(
        store, story.sheet, title=story.title, machine=story.machine, circumstances=story.circumstances
    )


def as_data(show: Show) -> dict[str, object]:
    """A job, played, as plain values for JSON; every answer as ``backprobe rank --json`` gives it."""
    story = show.story
    return {
        "job": show.job_id,
        "name": story.name,
        "title": story.title,
        "machine": story.machine,
        "circumstances": list(story.circumstances),
        "steps": [
            {"does": p.step.does, "line": p.step.line, "answer": answer_data(p.answer, p.checks)}
            for p in show.steps
        ],
        "acted_fault": story.acted.fault,
    }

"""Plays all jobs of the fleet into one store."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from backprobe.demo.story import Played, Story, demo_jobs, play
from backprobe.demo.telling import find_alike
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store


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
            job = Job.new(
                store,
                story.sheet,
                title=story.title,
                machine=story.machine,
                circumstances=story.circumstances,
            )
            yield Show(story, len(stories), job.record.id, play(story, job))


def as_data(story: Story, steps: Sequence[Played], job_id: str) -> dict[str, object]:
    """One played job as plain values for JSON: probabilities [1], minutes [min]."""
    last = steps[-1].answer
    found = find_alike(steps)
    return {
        "job": job_id,
        "machine": story.machine,
        "sheet": story.sheet.name,
        "title": story.title,
        "circumstances": list(story.circumstances),
        "steps": [_step(played) for played in steps],
        "take_again": [{"reading": i + 1, "probability": p} for i, p in last.slips],
        "alike": None
        if found is None
        else {
            "after_reading": found.step + 1,
            "suspects": list(found.names),
            "check": None if found.split is None else found.split.check.words(),
        },
        "repair": last.suspects[0].repair if last.suspects else None,
        "worn": [{"name": w.name, "probability": w.present} for w in last.worn],
        "none_of_these": last.none_of_these,
        "acted_fault": story.acted.fault,
    }


def _step(played: Played) -> dict[str, object]:
    return {
        "does": played.step.does,
        "line": played.step.line,
        "suspects": [{"name": s.name, "probability": s.probability} for s in played.answer.suspects[:6]],
        "checks": [
            {"do": c.words(), "minutes": c.minutes, "bits": c.information} for c in played.checks
        ],
    }

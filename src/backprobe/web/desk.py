"""Jobs at work: one engine each, kept while they are in use, and what their log says until it grows."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass, field

from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.engine import Engine
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.sheet.model import Sheet

KEPT_JOBS = 6
"""Jobs whose engines stay in memory; each has a few megabytes of solved circuits."""
CHECKS = 12


@dataclass(slots=True, eq=False)
class Work:
    """A job with its engine, its answer and its next checks.

    Parameters
    ----------
    job
        The job.
    lock
        Held around everything that uses the engine: it keeps circuits that it has solved.
    """

    job: Job
    lock: threading.RLock = field(default_factory=threading.RLock)
    asked: dict[int, Check] = field(default_factory=dict)
    """The check that each entry answered, as it was proposed, while this program runs."""
    _answer: Answer | None = None
    _checks: tuple[Check, ...] | None = None

    @property
    def name(self) -> str:
        """The job's id, as it stands in addresses."""
        return self.job.record.id

    @property
    def engine(self) -> Engine:
        """The engine of the job's sheet."""
        return self.job.engine

    @property
    def sheet(self) -> Sheet:
        """The job's sheet."""
        return self.job.sheet

    def refresh(self) -> None:
        """Take in what was written to the log meanwhile, here or elsewhere."""
        with self.lock:
            known = len(self.job.record.entries)
            self.job.record = self.job.store.job(self.job.record.id)
            if len(self.job.record.entries) != known:
                self.forget()

    def forget(self) -> None:
        """Drop what was worked out: the log has grown."""
        self._answer = self._checks = None

    def answer(self) -> Answer:
        """Suspects as the standing readings leave them."""
        with self.lock:
            if self._answer is None:
                self._answer = self.job.answer()
            return self._answer

    def checks(self) -> tuple[Check, ...]:
        """What to measure next, best first."""
        with self.lock:
            if self._checks is None:
                self._checks = self.job.checks_after(self.answer(), CHECKS)
            return self._checks


class Desk:
    """A store and the jobs of it that are at work.

    Parameters
    ----------
    store
        Where jobs are kept.
    """

    def __init__(self, store: Store) -> None:
        self.store = store
        self._works: OrderedDict[str, Work] = OrderedDict()
        self._lock = threading.Lock()

    def work(self, name: str) -> Work:
        """A job at work, by its id or the beginning of it.

        Raises
        ------
        JobError
            When there is none, or more than one.
        """
        with self._lock:
            found = self._works.get(name)
            if found is None:
                job = Job.open(self.store, name)
                found = self._works.setdefault(job.record.id, Work(job))
            self._works.move_to_end(found.name)
            while len(self._works) > KEPT_JOBS:
                self._works.popitem(last=False)
        found.refresh()
        return found

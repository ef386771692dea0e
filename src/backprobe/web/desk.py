"""Jobs at work: one engine each, kept while they are in use, and what their log says until it grows."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass, field, replace

from backprobe.api import rank
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.doubts import Doubt, doubts
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.given import sort_readings
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.readings.model import Reading
from backprobe.sheet.model import Sheet

KEPT_JOBS = 6
"""Jobs whose engines stay in memory; each has a few megabytes of solved circuits."""
CHECKS = 8
KEPT_ANSWERS = 24
"""Answers kept for each job: to what was read, and to what may be read next."""


_Evidence = tuple[tuple[Reading, ...], frozenset[str]]
"""Readings, whatever words they were typed in, and what cannot be reached."""


@dataclass(slots=True, eq=False)
class Worked:
    """What was worked out from some evidence, as far as anybody asked."""

    answer: Answer
    checks: tuple[Check, ...] | None = None
    doubts: tuple[Doubt, ...] | None = None


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
    _known: OrderedDict[_Evidence, Worked] = field(default_factory=OrderedDict)
    """What was worked out from the evidence of now, of before, and of readings that may come."""

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
            self.job.record = self.job.store.job(self.job.record.id)

    def answer(self) -> Answer:
        """Suspects as the standing readings leave them."""
        with self.lock:
            return self._work_out(tuple(self.job.evidence()), with_checks=False).answer

    def finding(self) -> Answer:
        """Suspects as the readings before the last repair left them: what was repaired by."""
        with self.lock:
            return self._work_out(tuple(self.job.evidence_before_repair()), with_checks=False).answer

    def checks(self) -> tuple[Check, ...]:
        """What to measure next, best first."""
        with self.lock:
            return self._work_out(tuple(self.job.evidence())).checks or ()

    def doubts(self) -> tuple[Doubt, ...]:
        """Readings to take again."""
        with self.lock:
            return self._doubts_of(self._work_out(tuple(self.job.evidence()), with_checks=False))

    def _doubts_of(self, worked: Worked) -> tuple[Doubt, ...]:
        if worked.doubts is None:
            worked.doubts = doubts(worked.answer)
        return worked.doubts

    def foresee(self, reading: Reading) -> None:
        """Work out what a reading would say if it came next.

        Raises
        ------
        BrokenOffError
            Within `giving_way`; see there.
        """
        with self.lock:
            self._doubts_of(self._work_out(tuple(self.job.evidence(reading))))

    def _work_out(self, evidence: tuple[Reading, ...], *, with_checks: bool = True) -> Worked:
        """The answer to some evidence, and the next checks unless nobody asks for them."""
        key = (tuple(replace(r, text="") for r in evidence), self.job.out_of_reach)
        worked = self._known.get(key)
        if worked is None:
            worked = self._known[key] = Worked(rank(self.engine, evidence))
            while len(self._known) > KEPT_ANSWERS:
                self._known.popitem(last=False)
        elif worked.answer.readings.all != evidence:
            # The same readings in other words: the page shows what was typed.
            worked.answer = replace(worked.answer, readings=sort_readings(self.engine, evidence))
        self._known.move_to_end(key)
        if with_checks and worked.checks is None:
            worked.checks = self.job.checks_after(worked.answer, CHECKS)
        return worked


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

"""Where a job stands after a repair: to be tried again, still dead, or working and to be proven."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.jobs.job import Job
from backprobe.jobs.repairs import Repair
from backprobe.readings.model import Reading


@dataclass(frozen=True, slots=True)
class Standing:
    """What was repaired, and what has been seen since.

    Parameters
    ----------
    repairs
        In order; empty before the first.
    complaint
        What was dead before the last repair, in which state: it is tried again; None where nobody said.
    works
        Whether what was dead has been seen to work since, and was not dead again after that.
    worked
        The reading that says so, the first of those that still stand for it; None where it does not work.
    entry
        Number of its entry in the log; 0 for none.
    since
        What was read since the last repair, each with the number of its entry.
    """

    repairs: tuple[Repair, ...] = ()
    complaint: Reading | None = None
    works: bool = False
    worked: Reading | None = None
    entry: int = 0
    since: tuple[tuple[int, Reading], ...] = ()

    @property
    def read(self) -> bool:
        """Whether anything was read since the last repair."""
        return bool(self.since)

    @property
    def is_past(self) -> bool:
        """Whether the finding is that of before the repair: it works since, or was not tried since."""
        return bool(self.repairs) and (self.works or not self.read)

    @property
    def to_try(self) -> bool:
        """Whether the repair waits for its first try."""
        return bool(self.repairs) and not self.read

    @property
    def to_prove(self) -> bool:
        """Whether the function works after a repair, and the guards are to be tried before handing over."""
        return bool(self.repairs) and self.works


def standing_of(job: Job) -> Standing:
    """Where a job stands."""
    repairs = job.repairs
    if not repairs:
        return Standing()
    now = job.readings_now()
    before = job.readings()[: len(job.readings()) - len(now)]
    dead = [r for r in before if r.kind == "works" and r.seen == "dead"]
    complaint = dead[-1] if dead else None
    since = tuple(zip((e.number for e in job.entries[len(before) :]), now, strict=True))
    tries = [
        (r, number)
        for number, r in since
        if r.kind == "works" and (complaint is None or r.subject == complaint.subject)
    ]
    works = bool(tries) and tries[-1][0].seen == "works"
    last_dead = max((k for k, (r, _) in enumerate(tries) if r.seen != "works"), default=-1)
    worked, entry = tries[last_dead + 1] if works else (None, 0)
    return Standing(repairs, complaint, works, worked, entry, since)


def ranked_readings(job: Job) -> list[Reading]:
    """What every screen and command ranks suspects by.

    Once it works after a repair, or while nobody has tried it since, that is what the repair was made by: the
    readings since are of a sound machine and would blame whatever is likely beforehand.
    """
    return job.evidence_before_repair() if standing_of(job).is_past else job.evidence()

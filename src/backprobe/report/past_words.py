"""A repaired job in words: what was found before the repair, what was read since, which guards were tried."""

from __future__ import annotations

from backprobe.diagnosis.answer import Answer
from backprobe.jobs.job import Job
from backprobe.jobs.proving import guards_of
from backprobe.jobs.standing import Standing
from backprobe.report.data import Json, Object
from backprobe.report.layout import listed, percent, wrap
from backprobe.report.reading_words import as_typed
from backprobe.report.setup_words import setup_words
from backprobe.report.words import LEAST, headline, nothing_read, shown_groups

NOTHING_BEFORE = "Nothing was read before the repair."
NOT_TRIED = "not tried since the repair"
SINCE = "Read since the repair, of the repaired machine; no suspect rests on it:"
MEMBERS = 3


def past_lines(job: Job, answer: Answer, standing: Standing) -> list[str]:
    """What a repair was made by and what is known since; empty while the readings of now are ranked.

    Parameters
    ----------
    answer
        To what was read before the repair (`ranked_readings`).
    """
    if not standing.is_past:
        return []
    if nothing_read(answer):
        lines = wrap(NOTHING_BEFORE)
    else:
        lines = wrap(f"Found before the repair: {headline(answer)}")
        for group in shown_groups(answer):
            if group.probability >= LEAST:
                names = [s.name for s in group.suspects[:MEMBERS]]
                more = len(group.suspects) - len(names)
                told = listed([*names, *([f"{more} more"] if more else [])], "or")
                lines += wrap(told, f"{percent(group.probability):>9}  ")
    lines += wrap(f"Repaired: {'; '.join(f'{r} (entry {r.number})' for r in standing.repairs)}")
    lines += wrap(f"Works since: {_worked(job, standing)}")
    if standing.since:
        lines += wrap(SINCE)
        lines += [line for number, r in standing.since for line in wrap(as_typed(r), f"{number:>5}  ")]
    return lines


def _worked(job: Job, standing: Standing) -> str:
    reading = standing.worked
    if reading is None:
        return NOT_TRIED
    return f"{reading.subject} with {setup_words(reading.setup, job.sheet)} (entry {standing.entry})"


def repair_data(job: Job, standing: Standing) -> Json:
    """Where a repaired job stands; null before the first repair."""
    if not standing.repairs:
        return None
    data: Object = {
        "repaired": [{"entry": r.number, "part": r.part, "what": r.what} for r in standing.repairs],
        "ranked_from_before": standing.is_past,
        "works_since": standing.entry if standing.worked is not None else None,
        "read_since": [number for number, _ in standing.since],
        "guards_tried": guards_of(job.record.closing, job.engine)[0],
        "guards_to_try": guards_of(job.record.closing, job.engine)[1],
    }
    return data

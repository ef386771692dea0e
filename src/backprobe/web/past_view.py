"""What a repaired job says: what was found before the repair, what works since, which guards were tried."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.diagnosis.answer import Answer
from backprobe.jobs.proving import guards_of, tried_of
from backprobe.jobs.standing import Standing, standing_of
from backprobe.report.past_words import NOTHING_BEFORE
from backprobe.report.setup_words import setup_words
from backprobe.report.words import headline, nothing_read
from backprobe.web.desk import Work
from backprobe.web.reading_view import read_words
from backprobe.web.texts import Texts


@dataclass(frozen=True, slots=True)
class Past:
    """A repair and what it was made by; nothing of it is ranked anew.

    Parameters
    ----------
    found
        What the readings before the repair said.
    repaired
        The repairs, in the mechanic's words.
    works
        What works since, in which state; empty where nobody tried it.
    guards
        How many guards were ticked; empty where none was.
    since
        What was read on the repaired machine, each with its entry; no suspect rests on it.
    """

    found: str
    repaired: str
    works: str
    guards: str
    since: tuple[str, ...] = ()


def answer_of(work: Work, standing: Standing) -> Answer:
    """The answer that counts: that of before the repair once it works or nobody tried, else that of now."""
    return work.finding() if standing.is_past else work.answer()


def past_here(work: Work | None, spoken: Texts) -> Past | None:
    """The same where only a repair is told of: on pages that rank for themselves."""
    if work is None or not standing_of(work.job).is_past:
        return None
    return past_of(work, work.finding(), spoken)


def past_of(work: Work, answer: Answer, spoken: Texts) -> Past | None:
    """What is said of a repair; None while the readings of now are still ranked."""
    standing = standing_of(work.job)
    if not standing.is_past:
        return None
    return Past(
        spoken.gettext(NOTHING_BEFORE) if nothing_read(answer) else spoken.said(headline(answer)),
        "; ".join(map(str, standing.repairs)),
        _works(work, standing, spoken),
        _guards(work, spoken),
        tuple(f"{number}: {read_words(reading, spoken)}" for number, reading in standing.since),
    )


def _works(work: Work, standing: Standing, spoken: Texts) -> str:
    reading = standing.worked
    if reading is None:
        return ""
    text = spoken.gettext("%(function)s with %(state)s (entry %(number)s)")
    state = spoken.listed(setup_words(reading.setup, work.sheet))
    return text % {"function": reading.subject, "state": state, "number": standing.entry}


def _guards(work: Work, spoken: Texts) -> str:
    done, there = guards_of(work.job.record.closing, work.engine)
    if not there:
        return spoken.gettext("no guard proven: the sheet names none")
    if not tried_of(work.job.record.closing):
        return ""
    text = spoken.gettext("ticked by hand, %(ticked)s of %(all)s")
    return text % {"ticked": done, "all": there}

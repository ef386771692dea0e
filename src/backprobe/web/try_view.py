"""What to try and to put back after a repair, in the reader's words: for the page and the report."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.jobs.log import Entry
from backprobe.jobs.proving import ticks_of, tried_of
from backprobe.report.job_words import entry_words
from backprobe.report.repair_words import (
    both_words,
    headings,
    put_back_words,
    tick_musts,
    tick_words,
    where_words,
)
from backprobe.report.setup_words import parts_of
from backprobe.web.desk import Work
from backprobe.web.reading_view import line_words
from backprobe.web.texts import Texts


@dataclass(frozen=True, slots=True)
class Try:
    """One thing to tick.

    Parameters
    ----------
    key
        What the form sends for it.
    where
        The operator state; what is put back, where nothing is tried.
    must
        What must or must not happen in it; empty where nothing is tried.
    works
        Whether every guard is shut, so that it must work.
    told
        The same as the log keeps it.
    before
        What is said before it, where the states begin that must not run, and that must; else empty.
    """

    key: str
    where: str
    must: str
    works: bool
    told: str
    before: str = ""


def tries_of(work: Work, spoken: Texts) -> list[Try]:
    """What is put back, each guard on its own, the functions themselves, and that nothing is left in."""
    found = []
    ticks = ticks_of(work.engine)
    for tick, before in zip(ticks, headings(ticks), strict=True):
        told = tick_words(tick, work.sheet)
        if not tick.tries:
            words = spoken.said(put_back_words(tick))
            found.append(Try(tick.key, words, "", works=False, told=told, before=spoken.said(before)))
            continue
        first = tick.tries[0]
        # Everything is plugged in by then: it stands at the top of the list.
        parts = parts_of(first.setup, work.sheet) if first.setup is not None else []
        where = [spoken.said(p) for p in parts if p != "all plugged"]
        both = f" ({spoken.said(both_words(first))})" if parts and first.both else ""
        found.append(
            Try(
                tick.key,
                (", ".join(where) or spoken.said(where_words(first, work.sheet))) + both,
                ", ".join(spoken.said(m) for m in tick_musts(tick, work.sheet)),
                first.works,
                told,
                spoken.said(before),
            )
        )
    return found


def log_words(entry: Entry, spoken: Texts) -> str:
    """An entry of the log; a closing with what was ticked, each thing by name."""
    tried = tried_of(entry)
    if not tried:
        return line_words(entry_words(entry), spoken)
    head = line_words(entry_words(entry).partition(". ")[0], spoken)
    return f"{head}. {spoken.gettext('Ticked by hand:')} {'; '.join(_told(t, spoken) for t in tried)}"


def _told(text: str, spoken: Texts) -> str:
    """One thing that was ticked, as the log has it."""
    where, colon, must = text.partition(": ")
    if not colon:
        return spoken.said(text).removesuffix(".")
    return f"{spoken.listed(where)}: {', '.join(spoken.said(m) for m in must.split(', '))}"

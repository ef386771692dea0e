"""What to try and to put back after a repair, in the reader's words: for the page and the report."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.jobs.guard_proof import failed_words
from backprobe.jobs.log import Entry
from backprobe.jobs.proving import NONE_PROVEN, by_hand_of, guards_of, proven_as, ticks_of, tried_of
from backprobe.report.job_words import entry_words
from backprobe.report.repair_words import (
    both_words,
    headings,
    no_try_words,
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
    guards
        Whether a guard is open in it, so that it must not work.
    """

    key: str
    where: str
    must: str
    works: bool
    told: str
    before: str = ""
    guards: bool = False


@dataclass(frozen=True, slots=True)
class Proof:
    """What is known of the guards of a repaired machine.

    Parameters
    ----------
    reason
        As what the job is closed once everything is ticked.
    none
        Whether no guard can be proven: the sheet names none, or no try of one is known.
    missing
        What is said where there is a guard without a try, or no guard at all.
    against
        Guards that failed and readings that contradict a try, each by its entry.
    done, there
        How many guards were ticked when the job was closed, and how many there are.
    by_hand
        What else was tried by hand.
    since
        Number of the last entry that is no reading or note: ticks from before it are void.
    """

    reason: str
    none: bool
    missing: tuple[str, ...]
    against: tuple[str, ...]
    done: int
    there: int
    by_hand: str
    since: int


def proof_of(work: Work, spoken: Texts) -> Proof:
    """What is known of the guards, in the reader's words."""
    closing, reason = work.job.record.closing, proven_as(work.engine)
    said = [f"{a.words[:1].upper()}{a.words[1:]}." for a in work.job.against]
    return Proof(
        reason,
        reason == NONE_PROVEN,
        tuple(spoken.said(t) for t in no_try_words(work.engine)),
        tuple(spoken.said(t) for t in said),
        *guards_of(closing, work.engine),
        by_hand_of(closing),
        max(e.number for e in work.job.record.entries if e.kind not in {"reading", "note"}),
    )


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
                tick.guards,
            )
        )
    return found


def log_words(entry: Entry, spoken: Texts) -> str:
    """An entry of the log; a closing with what was ticked, each thing by name."""
    if failed := failed_words(entry):
        never = spoken.gettext("it worked although it must not")
        return f"{spoken.gettext('guard failed')}: {_told(failed, spoken)}: {never}"
    tried, by_hand = tried_of(entry), by_hand_of(entry)
    if not tried:
        return line_words(entry_words(entry), spoken)
    head = line_words(entry_words(entry).partition(". ")[0], spoken)
    told = f"{head}. {spoken.gettext('Ticked by hand:')} {'; '.join(_told(t, spoken) for t in tried)}"
    return f"{told}. {spoken.gettext('Tried by hand besides:')} {by_hand}" if by_hand else told


def _told(text: str, spoken: Texts) -> str:
    """One thing that was ticked, as the log has it."""
    where, colon, must = text.partition(": ")
    if not colon:
        return spoken.said(text).removesuffix(".")
    return f"{spoken.listed(where)}: {', '.join(spoken.said(m) for m in must.split(', '))}"

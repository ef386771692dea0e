"""Repairs in words: what works again, what to say then, and what to try before handing over."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.guard_tries import GuardTry, guard_tries
from backprobe.diagnosis.revived import Revived, revived
from backprobe.jobs.job import Job
from backprobe.jobs.standing import Standing
from backprobe.report.layout import listed, wrap
from backprobe.report.setup_words import parts_of, setup_words
from backprobe.sheet.model import Sheet

COMES_AND_GOES = (
    "If nothing was done, it comes and goes: with the meter where volts were missing and the function asked "
    "for, wiggle each plug, joint and wire on its way, and say unsteady when the number jumps."
)
NO_LONGER = "Readings from before the repair stay on the record and no longer count."
IN_VAIN = (
    "If the repair changed nothing after all, take it back in the log: the readings from before it count "
    "again then."
)
BEFORE_HANDING_OVER = "Try every guard in every operator state before handing over."


def works_now(answer: Answer) -> tuple[Revived, ...]:
    """What was dead and works now by the readings of an answer."""
    return revived(answer.readings.all)


def revived_headline(answer: Answer) -> str:
    """What works again, in one line; empty where nothing does."""
    found = works_now(answer)
    if not found:
        return ""
    first = found[0]
    return (
        f"It works now: {first.function} was dead with {setup_words(first.setup, answer.engine.sheet)}, and "
        "works with the same now."
    )


def first_part(answer: Answer) -> str:
    """The part that leads, as a repair would name it; empty where none does."""
    suspects = answer.groups[0].suspects if answer.groups else ()
    return suspects[0].names[0].partition(":")[0] if suspects else ""


def revived_lines(answer: Answer) -> list[str]:
    """What to do now that it works: say what was repaired, or hunt for what comes and goes."""
    example = f"{first_part(answer) or 'brake switch'}: replaced"
    said = f'If you repaired something, say what: backprobe job repaired "{example}".'
    return [*wrap(said), *wrap(COMES_AND_GOES)]


def repair_lines(job: Job, standing: Standing) -> list[str]:
    """What the last repair was, and what comes after it; empty before one."""
    if not standing.repairs:
        return []
    last = standing.repairs[-1]
    lines = wrap(f"Repaired, entry {last.number}: {last}. {NO_LONGER}")
    if standing.to_try:
        lines += [
            "Now try it again:",
            *(f"   backprobe job read {job.record.id} {t}" for t in tries_of(job, standing)),
        ]
    elif standing.to_prove:
        lines += ["", *wrap(f"It works after the repair. {BEFORE_HANDING_OVER}")]
        lines += guard_lines(guard_tries(job.engine), job.sheet)
        lines += ["Then close the job:", f'   backprobe job close {job.record.id} "repaired and tried"']
    else:
        lines += wrap(IN_VAIN)
    return lines


def tries_of(job: Job, standing: Standing) -> list[str]:
    """The two lines of which one is true after a repair, each in quotes."""
    complaint = standing.complaint
    if complaint is None:
        return ['"..."']
    where = ", ".join(parts_of(complaint.setup, job.sheet))
    return [f'"{complaint.subject} {word}{f", {where}" if where else ""}"' for word in ("works", "dead")]


def guard_lines(tries: Sequence[GuardTry], sheet: Sheet) -> list[str]:
    """The list of what to try, a box before each."""
    return [line for t in tries for line in wrap(try_words(t, sheet), "   [ ] ", "       ")]


def try_words(one: GuardTry, sheet: Sheet) -> str:
    """One try: the state, and what the function must do in it."""
    return f"{where_words(one, sheet)}: {one.function} {'works' if one.works else 'is held'}"


def where_words(one: GuardTry, sheet: Sheet) -> str:
    """The state of a try."""
    if one.setup is not None:
        return listed(parts_of(one.setup, sheet))
    return "every guard shut" if one.works else f"the guard open (not: {one.open_guard})"

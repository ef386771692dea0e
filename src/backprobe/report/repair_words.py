"""Repairs in words: what works again, what to say then, and what to try before handing over."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.guard_tries import GuardTry
from backprobe.diagnosis.revived import Revived, revived
from backprobe.jobs.job import Job
from backprobe.jobs.proving import NOTHING_LEFT, PLUGGED, SMALL_WIRE, Tick, ticks_of, tried_of
from backprobe.jobs.repairs import TRIED
from backprobe.jobs.standing import Standing
from backprobe.report.guard_words import must_parts
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
PUT_BACK = {
    PLUGGED: "Everything that was unplugged or taken out is back in.",
    SMALL_WIRE: "The small wire is back on the starter.",
    NOTHING_LEFT: "No jumper, stand-in or resistor is left in the machine.",
}
"""What is put back, by the key of its tick."""
MUST_NOT_FIRST = "First the states in which nothing may run."
SILENT_FIRST = (
    "First the states in which nothing may run, with the small wire off the starter: listen for the click."
)
MUST_THEN = "Then the states in which it must run."
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
        if not job.record.is_open:
            return [*lines, *wrap(f"It works after the repair. {proof_words(job)}")]
        lines += ["", *wrap(f"It works after the repair. {BEFORE_HANDING_OVER}")]
        lines += tick_lines(job.engine)
        lines += ["Then close the job with the numbers of what was tried and put back:"]
        lines += [f'   backprobe job close {job.record.id} "{TRIED}" --tried 1-{len(ticks_of(job.engine))}']
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


def tick_lines(engine: Engine) -> list[str]:
    """The list of what to try and to put back, numbered, a box before each."""
    ticks = ticks_of(engine)
    lines = []
    for k, (tick, before) in enumerate(zip(ticks, headings(ticks), strict=True), 1):
        lines += wrap(before, "  ") if before else []
        lines += wrap(tick_words(tick, engine.sheet), f"  {k:>2} [ ] ", " " * 9)
    return lines


def headings(ticks: Sequence[Tick]) -> list[str]:
    """What is said before each thing to tick: where the states begin that must not run, and that must."""
    wire = any(t.key == SMALL_WIRE for t in ticks)
    still = next((t.key for t in ticks if t.tries and not t.works), "")
    running = next((t.key for t in ticks if t.works), "")
    said = {running: MUST_THEN, still: SILENT_FIRST if wire else MUST_NOT_FIRST}
    return [said.get(t.key, "") for t in ticks]


def proof_words(job: Job) -> str:
    """Whether the guards were tried, once a job is closed or before."""
    ticked = tried_of(job.record.closing)
    if ticked:
        return f"Guards tried, ticked by hand: {len(ticked)} of {len(ticks_of(job.engine))}."
    return "The guards are not tried." if job.record.is_open else "The guards were not tried."


def tick_words(tick: Tick, sheet: Sheet) -> str:
    """One thing to tick: a state and what must or must NOT happen in it, or what is put back."""
    if not tick.tries:
        return PUT_BACK[tick.key]
    return f"{where_words(tick.tries[0], sheet)}: {', '.join(tick_musts(tick, sheet))}"


def tick_musts(tick: Tick, sheet: Sheet) -> list[str]:
    """What the functions of a try must do, one thing each; empty for what is put back."""
    if not tick.tries:
        return []
    first = tick.tries[0]
    functions = [sheet.functions[t.function] for t in tick.tries]
    return must_parts(functions, sheet, first.setup, works=first.works)


def where_words(one: GuardTry, sheet: Sheet) -> str:
    """The state of a try."""
    if one.setup is not None:
        return listed(parts_of(one.setup, sheet))
    return "every guard shut" if one.works else f"the guard open (not: {one.open_guard})"

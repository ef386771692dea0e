"""Repairs in words: what works again, what to say then, and what to try before handing over."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.guard_tries import ANY_FEWER, EITHER_ALONE, GuardTry
from backprobe.diagnosis.revived import Revived, revived
from backprobe.jobs.cranking import MUST_NOT, cranks
from backprobe.jobs.guard_proof import DO_NOT_HAND_OVER, untried_guards
from backprobe.jobs.job import Job
from backprobe.jobs.kept_still import BLACK, Still
from backprobe.jobs.proving import (
    NONE_PROVEN,
    NOTHING_LEFT,
    PLUGGED,
    SMALL_WIRE,
    STARTER_PLUG,
    Tick,
    by_hand_of,
    guards_of,
    proven_as,
    ticks_of,
    tried_of,
)
from backprobe.jobs.repairs import TRIED
from backprobe.jobs.standing import Standing, standing_of
from backprobe.report.guard_words import must_parts
from backprobe.report.layout import listed, wrap
from backprobe.report.setup_words import parts_of, setup_words
from backprobe.sheet.model import Sheet

COMES_AND_GOES = (
    "If nothing was done, it comes and goes: with the meter where volts were missing and the function asked "
    "for, wiggle each plug, joint and wire on its way, and say unsteady when the number jumps."
)
NO_LONGER = "Readings from before the repair stay on the record and no longer count."
FROM_NOW = "What is read from now on is of the repaired machine."
IN_VAIN = (
    "If the repair changed nothing after all, take it back in the log: the readings from before it count "
    "again then."
)
PUT_BACK = {
    PLUGGED: "Everything that was unplugged or taken out is back in.",
    SMALL_WIRE: "The small wire is back on the starter.",
    STARTER_PLUG: "{plug} is plugged again.",
    NOTHING_LEFT: "No jumper, stand-in or resistor is left in the machine.",
}
"""What is put back, by the key of its tick."""
BACK_BUT_WIRE = (
    "Everything that was unplugged or taken out is back in; the small wire of the starter stays off for now."
)
BACK_BUT_PLUG = "Everything that was unplugged or taken out is back in; {plug} stays off for now."
MUST_NOT_FIRST = "First the states in which nothing may run."
SILENT_FIRST = (
    "First the states in which nothing may run, with the small wire off the starter: listen for the click, "
    "and hold a meter or a test lamp from the wire's loose end to bare metal. Volts or light mean that the "
    "engine would crank."
)
PLUG_OFF_FIRST = (
    "First the states in which nothing may run, with {plug} off: listen for the click, and hold a meter or a "
    "test lamp from {point} to {black}. Volts or light mean that the engine would crank."
)
WIRE_STAYS_OFF = (
    "The small wire stays off the starter for now: {relay} works when it clicks. The wire goes back on once "
    "every guard was tried open."
)
PLUG_STAYS_OFF = (
    "Leave {plug} off at first: with each guard open in turn ({list}) there must be no volts from {point} to "
    "{black}, with all of them shut the battery's. Then plug {plug} and try."
)
MUST_THEN = "Then the states in which it must run."
BEFORE_HANDING_OVER = "Try every guard in every operator state before handing over."
NAMES_NO_GUARD = "The sheet names no guard: try by hand what keeps people safe, and write down what."
NO_TRY_KNOWN = "No try is known of what these guards ask for: {list}. Try it by hand, and write down what."
NONE_WAS_PROVEN = "No guard was proven: the sheet names none."
"""What is said of a sheet for which no try of a guard is known, and of a job closed on it."""


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


def repair_lines(job: Job, standing: Standing, *, told: bool = False) -> list[str]:
    """What the last repair was, and what comes after it; empty before one.

    Parameters
    ----------
    told
        Whether what was repaired is said already.
    """
    if not standing.repairs:
        return []
    last = standing.repairs[-1]
    is_open = job.record.is_open
    anew = NO_LONGER if not standing.is_past else FROM_NOW if standing.to_try and is_open else ""
    head = anew if told else f"Repaired, entry {last.number}: {last}. {anew}".rstrip()
    lines = wrap(head) if head else []
    if not is_open:
        return [*lines, *wrap(f"{_since_words(standing)} {proof_words(job)}")]
    if standing.to_try:
        complaint = standing.complaint
        said = before_trying(job, complaint.setup) if complaint else []
        lines += [
            *(line for text in said for line in wrap(text, "! ")),
            "Now try it again:",
            *(f"   backprobe job read {job.record.id} {t}" for t in tries_of(job, standing)),
        ]
    elif standing.to_prove:
        lines += [*([""] if lines else []), *_proving_lines(job)]
    else:
        lines += wrap(IN_VAIN)
    return lines


def against_lines(job: Job) -> list[str]:
    """What forbids to hand a machine over, each thing by its entry; empty where nothing does."""
    said = [f"{a.words[:1].upper()}{a.words[1:]}." for a in job.against]
    return [line for text in [*said, *([DO_NOT_HAND_OVER] if said else [])] for line in wrap(text, "! ")]


def _proving_lines(job: Job) -> list[str]:
    """The list of tries of a machine that works again, and how the job is closed with it."""
    name, reason, last = job.record.id, proven_as(job.engine), len(ticks_of(job.engine))
    lines = wrap(
        f"It works after the repair. {BEFORE_HANDING_OVER if reason != NONE_PROVEN else ''}".rstrip()
    )
    lines += [line for text in no_try_words(job.engine) for line in wrap(text, "! ")]
    lines += tick_lines(job.engine)
    if job.against:
        return [*lines, *against_lines(job)]
    by_hand = "" if reason == TRIED else ' --by-hand "..."'
    lines += ["Then close the job with the numbers of what was tried and put back:"]
    lines += [f'   backprobe job close {name} "{reason}" --tried 1-{last}{by_hand}']
    if reason != NONE_PROVEN:
        lines += wrap("A guard that failed is kept by its number, and the job stays open:")
        lines += [f"   backprobe job close {name} --failed NUMBER"]
    return lines


def no_try_words(engine: Engine) -> list[str]:
    """That the sheet names no guard, or of which guards no try is known; empty where all can be tried."""
    untried = untried_guards(engine)
    if untried:
        return [NO_TRY_KNOWN.format(list=listed(untried))]
    return [NAMES_NO_GUARD] if proven_as(engine) == NONE_PROVEN else []


def _since_words(standing: Standing) -> str:
    """What was seen since the repair of a closed job."""
    if standing.to_prove:
        return "It works after the repair."
    return (
        "It was not tried after the repair."
        if standing.to_try
        else "It was not seen to work after the repair."
    )


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
    still = next((t.still for t in ticks if t.still is not None), None)
    first = MUST_NOT_FIRST
    if still is not None:
        shape = PLUG_OFF_FIRST if still.plug else SILENT_FIRST
        first = shape.format(plug=still.plug, point=still.point, black=BLACK)
    keys = [t.key for t in ticks]
    silent = next((t.key for t in ticks if t.tries and not t.works), "")
    running = next((k for k, t in enumerate(ticks) if t.works), 0)
    # What goes back on before the first of them belongs to them.
    running -= keys[running - 1] in {SMALL_WIRE, STARTER_PLUG}
    said = {keys[running]: MUST_THEN if running else "", silent: first}
    return [said.get(key, "") for key in keys]


def before_trying(job: Job, setup: Setup) -> list[str]:
    """What goes back before a function is tried again, and what stays off the starter at first.

    Parameters
    ----------
    setup
        In which it was dead.
    """
    made = [r.setup for r in job.readings() if r.placed]
    ticks = ticks_of(job.engine)
    still = next((t.still for t in ticks if t.still is not None and cranks(job.sheet, setup)), None)
    off = {name for s in made for name in s.unplugged} - setup.unplugged
    off -= {still.plug} if still is not None else set()
    said = [f"Put back: {listed(sorted(off))}."] if off else [PUT_BACK[PLUGGED]]
    complaint = standing_of(job).complaint
    subject = complaint.subject if complaint is not None else ""
    return [*said, *(_stays_off(still, ticks, _pulled(subject, job.sheet)) if still is not None else [])]


def _pulled(subject: str, sheet: Sheet) -> set[str]:
    """Parts that were dead with a complaint: what it names, or the loads of the function."""
    return {*sheet.functions[subject].loads} if subject in sheet.functions else {subject}


def _stays_off(still: Still, ticks: Sequence[Tick], dead: set[str]) -> list[str]:
    """What stays off at first; of a small wire only where its relay is what was dead, and clicks again."""
    if not still.plug:
        relays = [r for r in still.relays if r in dead]
        return [WIRE_STAYS_OFF.format(relay=listed(relays))] if relays else []
    held = [one for t in ticks if t.still is not None and t.crank == MUST_NOT for one in t.tries]
    opened = dict.fromkeys(one.open_guard for one in held if one.function in still.behind and one.open_guard)
    said = PLUG_STAYS_OFF.format(plug=still.plug, point=still.point, black=BLACK, list=listed([*opened]))
    return [said] if opened else []


def proof_words(job: Job) -> str:
    """Whether the guards were tried, once a job is closed or before."""
    done, there = guards_of(job.record.closing, job.engine)
    by_hand = (
        f" Tried by hand besides: {by_hand_of(job.record.closing)}" if by_hand_of(job.record.closing) else ""
    )
    if not there:
        return f"{NAMES_NO_GUARD if job.record.is_open else NONE_WAS_PROVEN}{by_hand}"
    if tried_of(job.record.closing):
        return f"Guards tried, ticked by hand: {done} of {there}.{by_hand}"
    return "The guards are not tried." if job.record.is_open else "The guards were not tried."


def tick_words(tick: Tick, sheet: Sheet) -> str:
    """One thing to tick: a state and what must or must NOT happen in it, or what is put back."""
    if not tick.tries:
        return put_back_words(tick)
    return f"{where_words(tick.tries[0], sheet)}: {', '.join(tick_musts(tick, sheet))}"


def put_back_words(tick: Tick) -> str:
    """What is put back with a tick that tries nothing, and what stays off for now."""
    if tick.still is None:
        return PUT_BACK[tick.key]
    if tick.key == PLUGGED:
        return BACK_BUT_PLUG.format(plug=tick.still.plug) if tick.still.plug else BACK_BUT_WIRE
    return PUT_BACK[tick.key].format(plug=tick.still.plug)


def tick_musts(tick: Tick, sheet: Sheet) -> list[str]:
    """What the functions of a try must do, one thing each; empty for what is put back."""
    if not tick.tries:
        return []
    first = tick.tries[0]
    functions = [sheet.functions[t.function] for t in tick.tries]
    still = None if first.works else tick.still
    return must_parts(functions, sheet, tick.crank, works=first.works, still=still)


def where_words(one: GuardTry, sheet: Sheet) -> str:
    """The state of a try."""
    if one.setup is not None:
        return listed(parts_of(one.setup, sheet)) + (f" ({both_words(one)})" if one.both else "")
    return "every guard shut" if one.works else f"the guard open (not: {one.open_guard})"


def both_words(one: GuardTry) -> str:
    """Why guards are tried open together; empty where they are not."""
    if not one.both:
        return ""
    if one.both == EITHER_ALONE:
        return f"{one.open_guard} at once; the sheet allows either alone"
    if one.both == ANY_FEWER:
        return f"{one.open_guard} at once; the sheet allows any fewer of them"
    return f"{one.open_guard} at once; as drawn, the circuit lets it run"

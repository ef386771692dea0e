"""An answer as plain text: what is wrong, why, what is only worn, what does not fit."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.diagnosis.answer import Answer, Estimate, Group, Suspect, Worn
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.expected_codes import expected_codes
from backprobe.diagnosis.split import splitting_check
from backprobe.diagnosis.stop import one_part
from backprobe.report.assumed import assumed_words
from backprobe.report.build_words import build_lines
from backprobe.report.check_words import (
    check_lines,
    do_words,
    enough_words,
    repair_advice,
    split_words,
    stop_words,
    worth_doing,
)
from backprobe.report.coach_words import doubt_lines, drop_words
from backprobe.report.controller_words import CONTROLLER, held_first, held_headline, held_lines
from backprobe.report.layout import FIRST, count, joined, listed, percent, quantity, span, wrap
from backprobe.report.reading_words import reason_words, strongest, telling
from backprobe.report.repair_words import revived_headline, revived_lines, works_now
from backprobe.report.setup_words import setup_words
from backprobe.report.stretch_words import ALIKE, cut_words, group_words, possible_words, shown_first

GROUPS = 4
MEMBERS = 5
LEAST = 0.01
"""Suspects below this probability are only counted."""
PINNED = 100.0
"""Ratio of the ends of an interval above which a value is not pinned down [1]."""
OPEN_OHMS = 1e6
"""Above this the name of the fault says enough: it is open [ohm]."""
LIKELY = 0.5
"""Probability from which the repair is named; below it, measuring comes first."""
WORN_AS_WELL = "Worn as well, but not the cause"
WORN_PERHAPS = "Perhaps worn, and not the cause"
USUAL = 8
LEADING = 0.2
"""Probability from which a suspect counts as leading even when another leads."""


def answer_text(answer: Answer, checks: Sequence[Check] = ()) -> str:
    """The whole answer for a terminal of 80 columns.

    Parameters
    ----------
    checks
        What could be done next, best first; the best one is shown, and the one that tells
        the leading group apart.
    """
    blocks = [_head(answer), *answer_blocks(answer)]
    blocks.append(_apart(answer, checks))
    blocks.append(_next(answer, checks))
    blocks.append(wrap(f"{assumed_words(answer.engine.sheet)} {FIRST}"))
    return joined(*blocks)


def brief_text(answer: Answer, checks: Sequence[Check] = ()) -> str:
    """What changed after one more reading: the leading suspects and the next check."""
    lines = wrap(headline(answer))
    for group in shown_groups(answer):
        name = listed([s.name for s in group.suspects[:3]], "or")
        more = len(group.suspects) - 3
        if (head := group_words(answer, group)) != ALIKE:
            name = f"{head[:1].lower()}{head[1:]}: {name}"
        lines += wrap(
            name + (f" or {count(more, 'other')}" if more > 0 else ""), f"{percent(group.probability):>9}  "
        )
    return joined(
        lines,
        build_lines(answer),
        _drops(answer),
        _again(answer),
        _controller(answer),
        _next(answer, checks),
        wrap(FIRST),
    )


def answer_blocks(answer: Answer) -> list[list[str]]:
    """The answer without its head, its next check and its closing line."""
    blocks = [_verdict(answer)]
    if nothing_read(answer):
        return [*blocks, _usual(answer)]
    blocks += [_group(answer, g, leads=k == 0) for k, g in enumerate(shown_groups(answer))]
    return [*blocks, _rest(answer), _controller(answer), _again(answer), _worn(answer), _values(answer)]


def shown_groups(answer: Answer) -> list[Group]:
    """The groups worth a line, most probable first."""
    likely = [g for g in answer.groups if g.probability >= LEAST]
    return likely[:GROUPS] or list(answer.groups[:1])


def none_leads(answer: Answer) -> bool:
    """Whether *none of these* is more probable than every group."""
    return bool(answer.none_of_these > max((g.probability for g in answer.groups), default=0.0))


def nothing_read(answer: Answer) -> bool:
    """Whether no reading of the circuit was made yet; the meter's own leads are none."""
    return not (answer.readings.numbers or answer.readings.others)


def headline(answer: Answer) -> str:
    """The answer in one line."""
    if nothing_read(answer):
        return "Nothing read yet: this is only what fails most often."
    if works_again := revived_headline(answer):
        return works_again
    if none_leads(answer):
        return f"None of these faults explains the readings ({percent(answer.none_of_these)})."
    held = held_first(answer)
    if held and answer.as_built <= held.probability:
        return held_headline(held)
    if answer.reads_as_built:
        return (
            f"Every reading is as the circuit was built ({percent(answer.as_built)}); what they cannot "
            "show is not ruled out."
        )
    first = answer.groups[0]
    if (part := one_part(answer)) and len(first.suspects) > 1:
        return f"It is {the(part[0])}: {percent(part[1])}."
    if len(first.suspects) == 1:
        return f"{first.suspects[0].name} ({percent(first.probability)})."
    # The share of the group would be read as that of its first member.
    guess = first.suspects[0]
    share = percent(guess.probability)
    return f"{possible_words(answer, first)} First guess: {guess.name} ({share})."


def the(part: str) -> str:
    """``the brake switch``, but ``fuse F2`` and ``C8-1``: what has a number needs no article."""
    return part if any(c.isdigit() for c in part) else f"the {part}"


def worn_words(worn: Worn) -> str:
    """Something worn that is not the cause, with its ohms where they are known."""
    value = ""
    if worn.severity and worn.severity[2] <= PINNED * worn.severity[0]:
        value = f", about {quantity(worn.severity[1], 'ohm', 2)}"
    return f"{worn.name}{value}"


def worn_as_well(answer: Answer) -> list[Worn]:
    """What is worn by the readings, more likely than not, though it is not the cause."""
    return [w for w in answer.worn if w.present >= LIKELY]


def _head(answer: Answer) -> list[str]:
    sheet, readings = answer.engine.sheet, answer.readings.all
    lines = wrap(sheet.name)
    setups = list(dict.fromkeys(r.setup for r in readings if r.placed))
    if len(setups) == 1:
        lines += wrap(f"{count(len(readings), 'reading')}, all with {setup_words(setups[0], sheet)}")
    elif readings:
        lines += wrap(f"{count(len(readings), 'reading')} in {count(len(setups), 'setup')}")
    factors = answer.engine.catalogue.factors
    if factors:
        shown = ", ".join(f"{family} faults x{factor:g}" for family, factor in factors.items())
        lines += wrap(f"Weighed by the circumstances: {shown}.")
    return lines


def _verdict(answer: Answer) -> list[str]:
    lines = wrap(headline(answer))
    if none_leads(answer) and answer.readings.all:
        lines += wrap(
            "Take the readings again that are marked below, then doubt the sheet: this build may be wired "
            "otherwise."
        )
    return lines + build_lines(answer) + _drops(answer)


def _drops(answer: Answer) -> list[str]:
    return [line for f in answer.drops for line in wrap(drop_words(answer, f))]


def _group(answer: Answer, group: Group, *, leads: bool) -> list[str]:
    first = shown_first(answer, group, MEMBERS)
    shown = [s for s in group.suspects if s.probability >= LEAST][:first] or list(group.suspects[:1])
    lines: list[str] = []
    if len(group.suspects) > 1:
        head = group_words(answer, group)
        lines += wrap(f"{head[:1].lower()}{head[1:]}:", f"{percent(group.probability):>9}  ")
    pad = " " * (13 if len(group.suspects) > 1 else 11)
    for suspect in shown:
        head = f"{percent(suspect.probability):>{len(pad) - 2}}  "
        lines += wrap(suspect.name + _severity(suspect), head, pad)
    more = len(group.suspects) - len(shown)
    if more:
        lines += wrap(f"and {count(more, 'less likely one')}", pad)
    lines += _reasons(answer, shown[0], leads)
    if leads:
        lines += _codes(answer, shown[0])
    if leads and shown[0].probability >= LIKELY:
        lines += wrap(f"{shown[0].repair} ({shown[0].minutes:.0f} min)", " " * 11 + "repair   ")
    return lines


def _codes(answer: Answer, suspect: Suspect) -> list[str]:
    """What the controller would say of its pins, in the neutral words beside a machine's own code."""
    codes = expected_codes(answer, [suspect]).get(suspect.name, ())
    return [
        line
        for code in codes[:2]
        for line in wrap(f"{code.pin}: {code.words} (FMI {code.fmi})", " " * 11 + "code     ")
    ]


def _usual(answer: Answer) -> list[str]:
    """What fails most often, before anything was read."""
    return [line for s in answer.suspects[:USUAL] for line in wrap(s.name, f"{percent(s.probability):>9}  ")]


def _severity(suspect: Suspect) -> str:
    if suspect.severity is None:
        return ""
    low, best, high = suspect.severity
    if high > PINNED * low or best > OPEN_OHMS:
        return ""
    return f", about {quantity(best, 'ohm', 2)} ({span(low, high, 'ohm')})"


def _reasons(answer: Answer, suspect: Suspect, leads: bool) -> list[str]:
    pad = " " * 11
    pro, contra = strongest(suspect)
    lines: list[str] = []
    if pro:
        lines += wrap(reason_words(answer, pro), pad + "for      ")
    if contra:
        lines += wrap(reason_words(answer, contra), pad + "against  ")
    if leads and not lines and (found := telling(answer, suspect)):
        lines += wrap(reason_words(answer, found), pad + "fits     ")
    return lines


def _rest(answer: Answer) -> list[str]:
    lines = wrap("none of these: the sheet or a reading is wrong", f"{percent(answer.none_of_these):>9}  ")
    if answer.as_built >= LEAST:
        lines = wrap("nothing faulty here: it behaves as built", f"{percent(answer.as_built):>9}  ") + lines
    return lines


def leads_electronics(answer: Answer) -> bool:
    """Whether a leading suspect is inside a controller."""
    first = answer.groups[0].suspects if answer.groups else ()
    leading = [*first, *(s for s in answer.suspects if s.probability >= LEADING)]
    modes = answer.engine.catalogue.modes
    return any(modes[m].family == "electronics" for s in leading for m in s.modes)


def _controller(answer: Answer) -> list[str]:
    held = held_lines(answer)
    return [*held, *(wrap(CONTROLLER) if leads_electronics(answer) or held else [])]


def _again(answer: Answer) -> list[str]:
    return doubt_lines(answer)


def _worn(answer: Answer) -> list[str]:
    if not answer.worn:
        return []
    sure = worn_as_well(answer)
    lines: list[str] = []
    for title, found in ((WORN_AS_WELL, sure), (WORN_PERHAPS, [w for w in answer.worn if w not in sure])):
        lines += [f"{title}:"] if found else []
        for worn in found[:4]:
            lines += wrap(worn_words(worn), f"{percent(worn.present):>9}  ")
    return lines


def _values(answer: Answer) -> list[str]:
    """Values the readings pinned down, without those of suspects, which show theirs already."""
    named = {answer.engine.catalogue.modes[m].part for s in answer.suspects for m in s.modes}
    owner = {p.key: p.owner for p in answer.engine.circuit.parameters}
    kept = [
        e
        for e in answer.estimates
        if owner[e.parameter] not in named
        and e.unit
        and (e.unit != "ohm" or (e.high <= PINNED * e.low and e.low < 1e7))
    ]
    if not kept:
        return []
    return ["As the readings leave them:"] + [line for e in kept[:3] for line in wrap(_value(e), " " * 11)]


def _value(e: Estimate) -> str:
    part, _, label = e.parameter.rpartition(".")
    return f"{part} {label} {quantity(e.best, e.unit)} ({span(e.low, e.high, e.unit)})"


def _apart(answer: Answer, checks: Sequence[Check]) -> list[str]:
    if not answer.groups or not checks or not answer.readings.all:
        return []
    split = splitting_check(answer, checks, answer.groups[0])
    if split is None:
        return []
    worth = worth_doing(checks)
    shown = bool(worth) and split.check is worth[0]
    if shown and (cut := cut_words(answer, answer.groups[0], split.check)):
        return wrap(cut)
    return split_words(split, answer.engine.sheet, shown=shown)


def _next(answer: Answer, checks: Sequence[Check]) -> list[str]:
    if works_now(answer):
        return revived_lines(answer)
    stop, worth = repair_advice(answer, checks), worth_doing(checks)
    if not worth:
        return wrap(stop_words(stop) if stop else enough_words(answer))
    check = check_lines(worth[0], answer)
    if stop is None:
        return ["Next", *check]
    if one_part(answer):
        further = (
            f"A further check would only tell what is wrong in it: {do_words(worth[0], answer.engine.sheet)}."
        )
        return [*wrap(stop_words(stop)), "", *wrap(further)]
    return [*wrap(stop_words(stop)), "", "To be surer first", *check]

"""A plan as an indented tree on one page, to be followed without a screen."""

from __future__ import annotations

import re
from math import isfinite, isinf

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.plan import Branch, End, Plan, Step
from backprobe.diagnosis.plan_table import AS_BUILT, Shown
from backprobe.report.check_words import SOUND, UNITS, do_words
from backprobe.report.controller_words import CONTROLLER
from backprobe.report.layout import (
    FIRST,
    OVER_RANGE_OHMS,
    count,
    joined,
    listed,
    minutes,
    percent,
    quantity,
    wrap,
)
from backprobe.report.setup_words import change_words, setup_words

INDENT = "   "
RARE = 0.015
"""Chance of an outcome below which it has no line of its own [1]."""
ELSE = (
    "Shows a check anything else, take it again; if it stays, type what was read and rank it. After the "
    "repair take the same readings again and try every guard in every operator state."
)


def plan_text(plan: Plan) -> str:
    """The whole plan for a terminal of 80 columns."""
    always = _always(plan)
    first = plan.first
    tree = _wrap(end_words(first), "", "") if isinstance(first, End) else _step(first, plan, "", always)
    boxed = any(s.cause.last for e in ends(first) for s in e.suspected)
    closing = wrap(f"{ELSE} {FIRST}")
    return joined(_head(plan, always), tree, wrap(CONTROLLER) if boxed else [], closing)


def ends(place: Step | End) -> list[End]:
    """All ends of a plan below a place."""
    if isinstance(place, End):
        return [place]
    return [e for b in place.branches for e in ends(b.then)]


def complaint_words(plan: Plan) -> str:
    """What the plan begins with."""
    if not plan.readings:
        return "no complaint: what fails most often"
    said = listed([r.words() for r in plan.readings])
    setup = setup_words(plan.start, plan.engine.sheet)
    return f"{said}, with {setup}" if plan.start.words() != "as it stands" else said


def outcome_words(shown: Shown, kind: str) -> str:
    """What the meter or the eye shows: ``below 1.2 V``, ``1.2 to 9 V``, ``lit``."""
    if shown.word:
        return shown.word
    unit = UNITS[kind]
    if kind == "ohms" and shown.low > OVER_RANGE_OHMS:
        return "OL"
    if isinf(shown.low) or (kind == "ohms" and shown.low <= 0):
        return f"below {_border(shown.high, unit)}" if isfinite(shown.high) else "anything"
    if isinf(shown.high):
        return f"above {_border(shown.low, unit)}"
    low, high = _border(shown.low, unit), _border(shown.high, unit)
    (one, _, unit_one), (_, _, unit_other) = low.partition(" "), high.partition(" ")
    return f"{one if unit_one == unit_other else low} to {high}"


def end_words(end: End) -> str:
    """What to do at an end, without what comes before."""
    named = [
        f"{SOUND if s.cause.name == AS_BUILT else s.cause.name} ({percent(s.probability)})"
        for s in end.suspected
    ]
    number, share = end.others
    rest = [f"{count(number, 'other')} ({percent(share)})"] if number else []
    if end.kind == "as built":
        others = listed([*named[1:], *rest], "or")
        words = f"BEHAVES AS BUILT ({percent(end.suspected[0].probability)}): try it in its proper state"
        return words + (f"; else {others}" if others else "")
    if end.kind == "repair":
        later = ", ".join([*named[1:], *rest])
        return f"REPAIR {named[0]}" + (f", then {later}" if later else "")
    words = f"ONE OF {', '.join([*named, *rest])}"
    if end.split is not None:
        words += f". Split by: {do_words(end.split).replace(': ', ' ', 1)}"
    return words


def _head(plan: Plan, always: list[str]) -> list[str]:
    lines = wrap(plan.engine.sheet.name, "PLAN  ")
    assumed = " (assumed: nobody said what is dead)" if plan.assumed and plan.readings else ""
    lines += wrap(complaint_words(plan) + assumed, "FOR   ")
    lines += wrap(
        f"On average {minutes(plan.check_minutes)} of checks, {minutes(plan.minutes)} until it works again; "
        f"{minutes(plan.without)} by repairing alone. Causes stand in the order in which to repair them.",
        "TIME  ",
    )
    return lines + [
        line for caution in always for line in wrap(caution, "CAUTION at every measurement: ", "  ")
    ]


def _always(plan: Plan) -> list[str]:
    """Cautions that every measurement of the plan needs."""
    steps = [s for s in plan.steps if s.check.candidate.red is not None]
    if len(steps) < 2:
        return []
    return [c for c in steps[0].check.cautions if all(c in s.check.cautions for s in steps)]


def _step(step: Step, plan: Plan, lead: str, said: list[str]) -> list[str]:
    pad = " " * (len(lead) - len(lead.lstrip(" "))) + INDENT
    change = _change(step, plan)
    first = f"{change[:1].upper()}{change[1:]}. " if change else ""
    words = f"{first}{do_words(step.check)} ({minutes(step.minutes)})"
    lines = wrap(words, f"{lead}{step.number}. ", pad)
    for caution in step.check.cautions:
        if caution not in said:
            lines += wrap(caution, pad + "CAUTION  ", pad + INDENT)
    for branch in step.branches:
        if branch.probability >= RARE:
            lines += _branch(branch, step, plan, pad, said)
    return lines


def _branch(branch: Branch, step: Step, plan: Plan, pad: str, said: list[str]) -> list[str]:
    shown = outcome_words(branch.shown, step.check.candidate.kind)
    head = f"{pad}- {shown} ({percent(branch.probability)}): "
    if isinstance(branch.then, End):
        return _wrap(end_words(branch.then), head, pad + INDENT)
    return _step(branch.then, plan, head, said)


def _change(step: Step, plan: Plan) -> str:
    """What has to be set, plugged or taken off before a check."""
    if step.check.candidate.red is None:
        return ""
    after, sheet = step.check.candidate.setup, plan.engine.sheet
    # Plugs first: what is set after them finds them off already.
    between = Setup(step.before.state, after.unplugged)
    changes = (
        change_words(step.before, between, sheet),
        change_words(between, Setup(after.state, after.unplugged), sheet),
    )
    return ", ".join(c for c in changes if c)


def _wrap(text: str, first: str, then: str) -> list[str]:
    """As `wrap`, with no number torn from its percent sign."""
    lines = wrap(re.sub(r"(\d) %", "\\1\u00a0%", text), first, then)
    return [line.replace("\u00a0", " ") for line in lines]


def _border(value: float, unit: str) -> str:
    """A border, as few digits as it has."""
    words = quantity(value, unit)
    number, _, rest = words.partition(" ")
    short = number.rstrip("0").rstrip(".") if "." in number else number
    return f"{short} {rest}"

"""A plan as plain JSON values: steps by number, each branch leading to a step or to an end."""

from __future__ import annotations

from backprobe.diagnosis.plan import Branch, End, Plan, Step
from backprobe.report.data import Json, Object, check_data, number, reading_data, setup_data
from backprobe.report.plan_words import end_words, outcome_words


def plan_data(plan: Plan) -> Object:
    """The whole plan."""
    first = plan.first
    return {
        "sheet": plan.engine.sheet.name,
        "readings": [reading_data(r) for r in plan.readings],
        "assumed": plan.assumed,
        "setup": setup_data(plan.start),
        "check_minutes": number(plan.check_minutes),
        "minutes": number(plan.minutes),
        "without_checks": number(plan.without),
        "end": _end(first) if isinstance(first, End) else None,
        "steps": [_step(s) for s in plan.steps],
    }


def _step(step: Step) -> Object:
    check = check_data(step.check)
    return {
        "number": step.number,
        "check": {k: v for k, v in check.items() if k not in {"outcomes", "bits"}},
        "minutes_ahead": number(step.ahead),
        "branches": [_branch(b, step) for b in step.branches],
    }


def _branch(branch: Branch, step: Step) -> Object:
    then = branch.then
    return {
        "low": number(branch.shown.low),
        "high": number(branch.shown.high),
        "shows": outcome_words(branch.shown, step.check.candidate.kind),
        "probability": number(branch.probability),
        "step": then.number if isinstance(then, Step) else None,
        "end": _end(then) if isinstance(then, End) else None,
    }


def _end(end: End) -> Json:
    split = end.split
    return {
        "kind": end.kind,
        "words": end_words(end),
        "suspects": [
            {"name": s.cause.name, "repair": s.cause.repair, "probability": number(s.probability)}
            for s in end.suspected
        ],
        "others": end.others[0],
        "minutes": number(end.minutes),
        "told_apart_by": None if split is None else check_data(split)["do"],
    }

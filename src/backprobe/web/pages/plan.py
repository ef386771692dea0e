"""A plan ahead of time: which check first, what each outcome leads to, and where repairing begins."""

from __future__ import annotations

from collections import OrderedDict
from functools import partial

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.api import plan as make_plan
from backprobe.circuit.setup import Setup
from backprobe.diagnosis.plan import DEPTH, STEPS, End, Plan, Step
from backprobe.readings.lines import parse_readings
from backprobe.readings.model import Reading
from backprobe.report.check_words import do_words
from backprobe.report.controller_words import CONTROLLER
from backprobe.report.layout import percent
from backprobe.report.plan_words import ELSE, RARE, complaint_words, end_words, ends, outcome_words
from backprobe.report.setup_words import setup_words
from backprobe.web.asking import Asked, Circuit, ask, asked_of, circuit_of, place_of, tool_page
from backprobe.web.check_view import changes
from backprobe.web.frame import MenuItem, localised
from backprobe.web.plan_picture import Says, draw_plan
from backprobe.web.reading_view import line_words
from backprobe.web.texts import N_, Texts

MENU = [
    MenuItem("tools", N_("Check plan"), "/plan", 5),
    MenuItem("job", N_("Check plan"), "/job/{name}/plan", 60),
]
MOST_DEPTH, MOST_STEPS = 8, 40
KEPT_PLANS = 8
COMPLAINT = frozenset({"works", "lamp", "code"})
"""Kinds of readings that a complaint is made of."""
Key = tuple[str, int, bool, int, int]


def show(request: Request) -> Response:
    """The form, and the plan that was asked for."""
    place, asked = place_of(request, "plan"), asked_of(request)
    circuit = circuit_of(request, place, asked) if asked.given or place.work else None
    depth, steps = _count(asked, "depth", DEPTH, MOST_DEPTH), _count(asked, "steps", STEPS, MOST_STEPS)
    found = _plan(request, circuit, asked, (depth, steps)) if circuit and not asked.errors else None
    values: dict[str, object] = {"plan": found}
    if found is not None:
        values |= _shown(found, asked.spoken)
    return tool_page(request, "plan.html", place, asked, values)


def _count(asked: Asked, name: str, usual: int, most: int) -> int:
    typed = asked.text(name, str(usual))
    if typed.isdigit() and 1 <= int(typed) <= most:
        return int(typed)
    asked.wrong(name, asked.spoken.gettext("Give a whole number from 1 to {most}.").format(most=most))
    return usual


def _plan(request: Request, circuit: Circuit, asked: Asked, size: tuple[int, int]) -> Plan | None:
    """The plan; that of a job is kept until its log grows."""
    work = circuit.work
    alone = asked.text("begin") == "complaint"
    key: Key | None = None if work is None else (work.name, len(work.job.record.entries), alone, *size)
    plans = _kept_plans(request)
    if key in plans:
        return plans[key]

    def planned() -> Plan:
        readings: list[Reading] = circuit.readings
        if alone:
            readings = [r for r in readings if r.kind in COMPLAINT]
        if asked.text("when"):
            readings = parse_readings(asked.text("when"), circuit.sheet)
        return make_plan(circuit.engine, readings, depth=size[0], steps=size[1])

    with circuit.lock:
        found = asked.answer(planned, "when")
    if found is not None and key is not None and not asked.text("when"):
        plans[key] = found
        while len(plans) > KEPT_PLANS:
            plans.popitem(last=False)
    return found


def _kept_plans(request: Request) -> OrderedDict[Key | None, Plan]:
    state = request.app.state
    if not hasattr(state, "plans"):
        state.plans = OrderedDict()
    kept: OrderedDict[Key | None, Plan] = state.plans
    return kept


def _shown(plan: Plan, spoken: Texts) -> dict[str, object]:
    """What the page says of a plan."""
    local = partial(localised, spoken)

    def outcome(step: Step, k: int) -> str:
        branch = step.branches[k]
        shown = outcome_words(branch.shown, step.check.candidate.kind).replace(" to ", " \u2013 ")
        return spoken.said(local(shown).replace("\u00a0", " "))

    def do(step: Step) -> str:
        return spoken.said(do_words(step.check))

    def end(place: End) -> str:
        return spoken.said(end_words(place))

    says = Says(do, end, lambda s, k: f"{outcome(s, k)} ({percent(s.branches[k].probability)})")
    measured = [s for s in plan.steps if s.check.candidate.red is not None]
    always = (
        [c for c in measured[0].check.cautions if all(c in s.check.cautions for s in measured)]
        if measured
        else []
    )
    label = spoken.gettext("The plan as a tree; the list below says the same")
    return {
        "picture": draw_plan(plan, says, label=label),
        "complaint": _complaint(plan, spoken),
        "always": always,
        "do": do,
        "end": end,
        "outcome": outcome,
        "change": lambda step: _change(step, plan, spoken),
        "cautions": lambda step: [c for c in step.check.cautions if c not in always],
        "is_end": lambda place: isinstance(place, End),
        "rare": RARE,
        "boxed": CONTROLLER if any(s.cause.last for e in ends(plan.first) for s in e.suspected) else "",
        "otherwise": ELSE,
    }


def _complaint(plan: Plan, spoken: Texts) -> str:
    if not plan.readings:
        return spoken.said(complaint_words(plan))
    said = ", ".join(line_words(r.words(), spoken) for r in plan.readings)
    setup = spoken.listed(setup_words(plan.start, plan.engine.sheet))
    return f"{said}, {setup}" if plan.start.words() != "as it stands" else said


def _change(step: Step, plan: Plan, spoken: Texts) -> str:
    """What has to be set, plugged or taken off before a check."""
    if step.check.candidate.red is None:
        return ""
    after, sheet = step.check.candidate.setup, plan.engine.sheet
    # Plugs first: what is set after them finds them off already.
    between = Setup(step.before.state, after.unplugged)
    return ", ".join(
        (
            *changes(step.before, between, sheet, spoken),
            *changes(between, Setup(after.state, after.unplugged), sheet, spoken),
        )
    )


def take(request: Request) -> Response:
    """Keep what was asked and show its answer."""
    return ask(request, place_of(request, "plan").address)


ROUTES = [
    Route("/plan", show),
    Route("/plan", take, methods=["POST"]),
    Route("/job/{name}/plan", show),
    Route("/job/{name}/plan", take, methods=["POST"]),
]

"""Free entry of any reading: what was seen, and the four things that every reading has to know."""

from __future__ import annotations

from dataclasses import replace

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.circuit.setup import Setup
from backprobe.errors import BackprobeError
from backprobe.readings.lines import Context
from backprobe.report.setup_words import parts_of
from backprobe.sheet.model import Sheet
from backprobe.web.complaint import Offer, hand_controls, offer_of
from backprobe.web.desk import Work
from backprobe.web.frame import (
    Form,
    MenuItem,
    back_with,
    done,
    form_of,
    kept_of,
    page,
    sent,
    texts_of,
    work_of,
)
from backprobe.web.kept import Kept
from backprobe.web.numbers import typed_number
from backprobe.web.point_groups import point_groups
from backprobe.web.texts import N_, Texts

MENU = [MenuItem("job", N_("Read"), "/job/{name}/reading", 40)]
UNPLACED = frozenset({"looked", "fuse", "leads"})
"""Kinds of entry to which operator state and plugs do not matter."""


def show(request: Request) -> Response:
    """The form; ``?red=C2-3`` and ``?black=`` set its points."""
    work, spoken = work_of(request), texts_of(request)
    kept = kept_of(request)
    if not kept.values:
        context = work.job.context()
        known = {f"state:{name}": position for name, position in context.state}
        plugs = {"plugs": "some" if context.unplugged else "all"} if context.plugs_known else {}
        asked = {k: request.query_params[k] for k in ("red", "black") if k in request.query_params}
        kept = Kept(known | plugs | {"off": "\n".join(sorted(context.unplugged))} | asked)
    offer: Offer = offer_of(work.sheet)
    values = {
        "work": work,
        "kept": kept,
        "offer": offer,
        "groups": point_groups(work.sheet, work.job.readings(), spoken),
        "setup": _setup_said(kept, work.sheet, spoken),
    }
    return page(request, "reading.html", values)


def _setup_said(kept: Kept, sheet: Sheet, spoken: Texts) -> list[str]:
    """Operator state and plugs as the form has them; empty where one of them is not known or is wrong."""
    names = [c.name for c in hand_controls(sheet)]
    state = tuple((n, kept.value(f"state:{n}")) for n in names)
    plugs = kept.value("plugs") if sheet.connectors else "all"
    off = frozenset(kept.value("off").split("\n")) - {""} if plugs == "some" else frozenset()
    doubted = any(kept.error(f) for f in (*(f"state:{n}" for n in names), "plugs", "off"))
    if doubted or not all(position for _, position in state) or not plugs or (plugs == "some" and not off):
        return []
    return [spoken.said(p) for p in parts_of(Setup(state, off), sheet)]


def take(request: Request) -> Response:
    """Store a reading, or ask again with what is missing beside each field."""
    form, spoken = form_of(request), texts_of(request)
    sent(request, form)
    work = work_of(request)
    errors: dict[str, BackprobeError | str] = {}
    kind, line, context = entry_of(form, work, spoken, errors)
    address = f"/job/{work.name}/reading"
    home = f"/job/{work.name}"
    # The complaint's form stands on the job's own page: an error there is shown there.
    back = (
        home if request.headers.get("referer", "").split("?")[0].endswith(home) else f"{address}#take-{kind}"
    )
    if not errors:
        try:
            with work.lock:
                entry = work.job.read(line, context)
            return done(f"{home}?read={entry.number}")
        except BackprobeError as error:
            errors[_FIELD.get(kind, "")] = error
    return back_with(request, back, errors)


def entry_of(
    form: Form, work: Work, spoken: Texts, errors: dict[str, BackprobeError | str]
) -> tuple[str, str, Context]:
    """What was entered: its kind, the line it stands for, the setup; what is missing goes to `errors`."""
    kind = form.text("take") or "number"
    if kind == "number" and form.text("line") and not form.text("value"):
        # The enter key presses the first button, also in the field of the typed line.
        kind = "line"
    line = _line(kind, form, spoken, errors)
    context = _context(form, work.sheet, spoken, errors, needed=kind not in UNPLACED)
    with work.lock:
        leads = work.job.context().leads
    return kind, line, replace(context, leads=leads)


BEEPER = frozenset({"beeps", "silent"})
_FIELD = {
    "number": "value",
    "line": "line",
    "works": "function",
    "lamp": "lamp",
    "looked": "part",
    "leads": "leads",
    "tester": "red",
}
_ASKED = {
    "works": ("function", N_("Which function? Pick one."), "{named} {works}"),
    "lamp": ("lamp", N_("Which lamp, and how? Pick one."), "{named}"),
    "code": ("code", N_("Which code? Pick one."), "{named}"),
    "click": ("relay", N_("Which relay? Pick one."), "{named} {click}"),
    "fuse": ("fuse", N_("Which fuse? Pick one."), "{named}: {fuse}"),
    "looked": ("part", N_("Which part? Pick one."), "{hand} {named}: {seen}"),
}
"""Kind of entry to the field that names its subject, the question when it is empty, and the line."""


def _line(kind: str, form: Form, spoken: Texts, errors: dict[str, BackprobeError | str]) -> str:
    """The reading as a line, without state and plugs."""

    def wanted(name: str, what: str) -> str:
        text = form.text(name)
        if not text:
            errors[name] = spoken.gettext(what)
        return text

    def number(name: str) -> str:
        typed = wanted(name, N_("Nothing was typed. Type what the meter shows, such as 4.78 or 4.7k."))
        return typed_number(typed, form.text(f"{name}_unit"), comma=spoken.decimal_comma) if typed else ""

    def leads() -> str:
        red = wanted("red", N_("Where was red? Pick a point."))
        black = wanted("black", N_("Where was black? Pick a point."))
        if red and red == black:
            errors["black"] = spoken.gettext("Red and black are on the same point.")
        _check_side(red, "red", form, spoken, errors)
        _check_side(black, "black", form, spoken, errors)
        return f"{red} to {black}"

    match kind:
        case "number":
            return f"{leads()}: {number('value')}"
        case "tester":
            seen = form.text("tester")
            return f"{'' if seen in BEEPER else 'test lamp '}{leads()}: {seen or 'lit'}"
        case "leads":
            return f"leads together: {number('leads')}"
        case _ if kind in _ASKED:
            field, question, shape = _ASKED[kind]
            named = wanted(field, question)
            return shape.format(
                named=named,
                works=form.text("works") or "dead",
                click=form.text("click") or "clicks",
                fuse=form.text("fuse_seen") or "good",
                seen=form.text("seen") or "fine",
                hand=_hand(form),
            )
        case _:
            return wanted("line", N_("Nothing was typed. Type such as: C2-3 to battery-: 4.78 V."))


def _hand(form: Form) -> str:
    return "swapped" if form.text("seen") in {"works now", "no change"} else "looked at"


def _check_side(
    point: str, field: str, form: Form, spoken: Texts, errors: dict[str, BackprobeError | str]
) -> None:
    """Refuse the part side of a plug that is on: no lead gets there."""
    cavity, side, rest = point.partition(" part side")
    plug = cavity.rpartition("-")[0]
    if side and not rest and plug not in form.texts("off"):
        text = spoken.gettext(
            "{plug} is plugged, so its part side cannot be touched. Tick {plug} as unplugged."
        )
        errors[field] = text.format(plug=plug)


def _context(
    form: Form, sheet: Sheet, spoken: Texts, errors: dict[str, BackprobeError | str], *, needed: bool
) -> Context:
    """Operator state and plugs, each asked for where it is missing."""
    state: dict[str, str] = {}
    for control in hand_controls(sheet):
        position = form.text(f"state:{control.name}")
        if position in control.positions:
            state[control.name] = position
        elif needed:
            errors[f"state:{control.name}"] = spoken.gettext("Where was it?")
    plugs = form.text("plugs")
    off = frozenset(form.texts("off")) if plugs != "all" else frozenset()
    if needed and plugs not in {"all", "some"} and sheet.connectors:
        errors["plugs"] = spoken.gettext("What was plugged?")
    elif needed and plugs == "some" and not off:
        errors["off"] = spoken.gettext("Which one was off?")
    return Context(tuple(sorted(state.items())), off, plugs in {"all", "some"} or not sheet.connectors)


ROUTES = [
    Route("/job/{name}/reading", show),
    Route("/job/{name}/reading", take, methods=["POST"]),
]

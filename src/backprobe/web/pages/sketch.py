"""Sketch a circuit in the field, one thing after the other, and start a job on it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any
from urllib.parse import quote

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.errors import BackprobeError
from backprobe.faults.catalogue import CIRCUMSTANCES
from backprobe.jobs.job import Job
from backprobe.readings.lines import parse_reading
from backprobe.sheet.load_words import load_words
from backprobe.sheet.model import Sheet
from backprobe.sheet.sketch import UNNAMED
from backprobe.sheet.unworkable import refuse_unworkable
from backprobe.web import sketch_parts as parts
from backprobe.web.drawing_words import drawing_words
from backprobe.web.frame import Form, MenuItem, back_with, desk_of, done, form_of, kept_of, page, texts_of
from backprobe.web.kept import Kept, problem_words
from backprobe.web.library import LIBRARY
from backprobe.web.sketch_draft import Draft, pack, unpack
from backprobe.web.sketch_edit import head
from backprobe.web.sketch_steps import take
from backprobe.web.sketch_view import SketchView, sheet_of, view_of
from backprobe.web.sketch_warnings import Oddities, could_guard, oddities_of, unguarded_of
from backprobe.web.texts import N_

MENU = [MenuItem("top", N_("Sketch"), "/sketch", 20)]
CONTROL = "control:"
"""Before the name of a control in the form of the job."""
SAVED, CHECKED, RENAMED = "saved", "checked", "renamed"
"""Names in an address of what was just done, so that the page says so."""


def show(request: Request) -> Response:
    """The sketch of the address, or a new one."""
    kept = kept_of(request)
    packed = request.query_params.get("s", "")
    draft = unpack(packed)
    view = view_of(draft)
    spoken = texts_of(request)
    behind, odd = _behind(draft, view), oddities_of(view.sheet)
    values: dict[str, Any] = {
        "draft": draft,
        "packed": pack(draft),
        "fresh": not packed,
        "library": LIBRARY,
        "saved": request.query_params.get(SAVED, ""),
        "checked": CHECKED in request.query_params,
        "renamed": RENAMED in request.query_params,
        "begins": len(behind) < 2,
        "after_load": parts.is_load(behind[-1] if behind else ""),
        "behind": behind,
        "odd": odd,
        "unguarded": unguarded_of(view.sheet),
        "loose": could_guard(view.sheet),
        "view": view,
        "drawing": Markup(drawing_words(view.drawing, spoken)),
        "parts": parts,
        "cavities": parts.next_cavities(list(view.items)),
        "contacts": parts.free_contacts(list(view.items)),
        "current": next((r for r in view.runs if r.current), None),
        "asked": _latest(draft, view),
        "picked": _picked(request.query_params.get("item", ""), view),
        "kept": kept,
        "circumstances": list(CIRCUMSTANCES),
        "states": _job_states(view, odd, kept),
        "CONTROL": CONTROL,
        "wrong": lambda p: spoken.said(problem_words(replace(p, line=0))),
    }
    return page(request, "sketch.html", values)


def step(request: Request) -> Response:
    """One button of the sketch."""
    form = form_of(request)
    draft = unpack(form.text("s"))
    button = form.text("do")
    if button == "new":
        return done("/sketch")
    if button.startswith("pick:"):
        return done(f"{address_of(draft)}&item={quote(button.removeprefix('pick:'))}#picked")
    if button == "job":
        return _start(request, form, draft)
    try:
        draft = take(draft, button, form.values())
    except BackprobeError as error:
        return back_with(request, f"{address_of(draft)}#checked", {"text": error})
    return done(f"{address_of(draft)}{_after(button.partition(':')[0], form)}")


def _after(word: str, form: Form) -> str:
    """What stands behind the address after a button: what is said of it, and where the page opens."""
    if word in {"say", "closed"}:
        return f"&{SAVED}={quote(form.text('part'))}#questions"
    if word == "text":
        return f"&{CHECKED}=1#checked"
    return f"&{RENAMED}=1#named" if word == "head" else "#next"


def address_of(draft: Draft) -> str:
    """The address of a draft."""
    return f"/sketch?s={pack(draft)}"


def _picked(text: str, view: SketchView) -> tuple[str, int, str] | None:
    """Run, place and words of the thing that is to be changed."""
    run, _, place = text.rpartition(":")
    found = next((r for r in view.runs if r.name == run), None)
    if found is None or not place.isdigit() or int(place) >= len(found.items):
        return None
    return run, int(place), found.items[int(place)]


def _behind(draft: Draft, view: SketchView) -> tuple[str, ...]:
    """The things of the run behind which the next one goes."""
    current = next((r for r in view.runs if r.current), None)
    items = current.items if current else ()
    return items[: draft.at] if 0 < draft.at <= len(items) else items


def _latest(draft: Draft, view: SketchView) -> str:
    """The part that was added last, which the drawing shows first."""
    sheet = view.sheet
    if sheet is None or draft.run not in sheet.runs:
        return ""
    items = sheet.runs[draft.run].items
    names = [
        i.part for i in items if i.role == "cavity" or (i.role == "part" and not sheet.parts[i.part].implied)
    ]
    return names[-1] if names else ""


# --- the job --------------------------------------------------------------------------------------


def _job_states(view: SketchView, odd: Oddities, kept: Kept) -> dict[str, str]:
    """Each control with the position to begin with: the state in which most should work."""
    if view.sheet is None:
        return {}
    found = dict(odd.state)
    return {
        c.name: kept.value(f"{CONTROL}{c.name}", found.get(c.name, c.positions[0]))
        for c in view.sheet.controls.values()
        if not c.remembered
    }


def complaint_of(form: Form, sheet: Sheet) -> str:
    """The first reading of a job: what is dead, in which operator state, with the plugs on."""
    function = form.text("dead")
    if not function:
        return ""
    names = [c.name for c in sheet.controls.values() if not c.remembered]
    said = [f"{name} {form.text(CONTROL + name)}" for name in names if form.text(CONTROL + name)]
    plugs = ["all plugged"] if sheet.connectors else []
    return ", ".join([f"{function} dead", *said, *plugs])


def _start(request: Request, form: Form, draft: Draft) -> Response:
    try:
        sheet = sheet_of(draft)
    except BackprobeError:
        return done(f"{address_of(draft)}#problems")
    back = f"{address_of(draft)}#job"
    try:
        refuse_unworkable(sheet)
    except BackprobeError as error:
        return back_with(request, back, {"dead": error})
    complaint = complaint_of(form, sheet)
    if complaint:
        try:
            parse_reading(complaint, sheet)
        except BackprobeError as error:
            return back_with(request, back, {"dead": error})
    words = [word for word in form.texts("circumstances") if word in CIRCUMSTANCES]
    dead = load_words(form.text("dead"), sheet)
    title = form.text("title") or (f"{dead} dead" if complaint else "")
    if sheet.name == UNNAMED:
        sheet = sheet_of(
            head(
                draft,
                form.text("machine") or title or f"Circuit of {dead}",
                view_of(draft).system,
            )
        )
    try:
        job = Job.new(
            desk_of(request).store,
            sheet,
            title=title,
            machine=form.text("machine"),
            circumstances=words,
        )
    except BackprobeError as error:
        return back_with(request, back, {"title": error})
    if complaint:
        job.read(complaint)
    return done(f"/job/{job.record.id}")


ROUTES = [Route("/sketch", show), Route("/sketch", step, methods=["POST"])]

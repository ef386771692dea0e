"""The jobs: what stands open and where it stopped, and a new one from a sheet, a template or a typed run."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.demo.story import NAMES, demo_sheet_text
from backprobe.errors import BackprobeError
from backprobe.faults.catalogue import CIRCUMSTANCES
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.report.job_words import entry_words
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet
from backprobe.sheet.sketch import sketch
from backprobe.sheet.templates import template, templates
from backprobe.web.frame import Form, MenuItem, back_with, desk_of, done, form_of, kept_of, missing, page
from backprobe.web.texts import N_

MENU = [MenuItem("top", N_("Jobs"), "/", 10)]
SHOWN_CLOSED = 20
MAX_SHEET = 500_000
"""Longest sheet that is taken [byte]."""


@dataclass(frozen=True, slots=True)
class Line:
    """One job of the list, and where it stopped."""

    id: str
    title: str
    machine: str
    last_at: datetime
    readings: int
    stopped: str


def show(request: Request) -> Response:
    """All jobs, those that stand open first."""
    store = desk_of(request).store
    lines = store.jobs()
    return page(
        request,
        "jobs.html",
        {
            "open": list(_lines(store, [line.id for line in lines if line.is_open])),
            "closed": [line for line in lines if not line.is_open][:SHOWN_CLOSED],
            "kept": kept_of(request),
            "templates": templates(),
            "demos": NAMES,
            "circumstances": tuple(CIRCUMSTANCES),
        },
    )


def _lines(store: Store, names: list[str]) -> Iterator[Line]:
    for name in names:
        record = store.job(name)
        seen = record.readings
        stopped = entry_words(seen[-1]) if seen else ""
        yield Line(name, record.title, record.machine, record.entries[-1].at, len(seen), stopped)


def start(request: Request) -> Response:
    """Open a job."""
    form = form_of(request)
    try:
        sheet = _sheet(form)
    except BackprobeError as error:
        return back_with(request, "/#new", {_source(form): error})
    job = Job.new(
        desk_of(request).store,
        sheet,
        title=form.text("title"),
        machine=form.text("machine"),
        circumstances=[c for c in form.texts("circumstance") if c in CIRCUMSTANCES],
    )
    return done(f"/job/{job.record.id}")


def _source(form: Form) -> str:
    """The field that a new job's sheet comes from."""
    if form.upload("sheet"):
        return "sheet"
    return next((name for name in ("run", "template", "demo") if form.text(name)), "sheet")


def _sheet(form: Form) -> Sheet:
    source = _source(form)
    if uploaded := form.upload("sheet"):
        return parse_sheet(_text(*uploaded), file=uploaded[0])
    if source == "run":
        return sketch(form.text("run"))
    if source == "template":
        return template(form.text("template")).sheet()
    if form.text("demo") in NAMES:
        return parse_sheet(demo_sheet_text(form.text("demo")), file=f"{form.text('demo')}.yaml")
    raise missing("sheet", "No circuit was given", "Choose a sheet file or a template, or type one run.")


def _text(name: str, data: bytes) -> str:
    if len(data) > MAX_SHEET:
        raise missing(name, "The file is longer than 500 kB", "A sheet has a few thousand characters.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise missing(name, "The file is not UTF-8 text", "Choose a sheet file, saved as UTF-8.") from None


ROUTES = [Route("/", show), Route("/jobs", start, methods=["POST"])]

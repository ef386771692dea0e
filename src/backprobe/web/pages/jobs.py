"""The jobs: what stands open and where it stopped, and a new one from a sheet, a template or a typed run."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.errors import BackprobeError
from backprobe.faults.catalogue import CIRCUMSTANCES
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.report.job_words import entry_words
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet
from backprobe.sheet.sketch import sketch
from backprobe.sheet.templates import template, templates
from backprobe.sheet.unworkable import refuse_unworkable
from backprobe.web.frame import (
    Form,
    MenuItem,
    back_with,
    desk_of,
    done,
    form_of,
    kept_of,
    missing,
    page,
    texts_of,
    work_of,
)
from backprobe.web.library import LIBRARY
from backprobe.web.numbers import pointed
from backprobe.web.reading_view import line_words
from backprobe.web.sketch_draft import Draft, pack
from backprobe.web.sketch_edit import data_of, head, runs_of
from backprobe.web.texts import N_, Texts

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
    opened_at: datetime


def show(request: Request) -> Response:
    """All jobs, those that stand open first."""
    store = desk_of(request).store
    lines = store.jobs()
    return page(
        request,
        "jobs.html",
        {
            "open": list(_lines(store, [line.id for line in lines if line.is_open], texts_of(request))),
            "closed": [line for line in lines if not line.is_open][:SHOWN_CLOSED],
            "kept": kept_of(request),
            "library": LIBRARY,
            "abouts": {t.name: t.about for t in templates()},
            "circumstances": tuple(CIRCUMSTANCES),
        },
    )


def _lines(store: Store, names: list[str], spoken: Texts) -> Iterator[Line]:
    for name in names:
        record = store.job(name)
        seen = record.readings
        stopped = line_words(entry_words(seen[-1]), spoken) if seen else ""
        first, last = record.entries[0].at, record.entries[-1].at
        yield Line(name, record.title, record.machine, last, len(seen), stopped, first)


def start(request: Request) -> Response:
    """Open a job, or go on to its sketch."""
    form = form_of(request)
    # Things are parted by > here, so that a comma between two digits can only be a decimal one.
    run = pointed(form.text("run"), comma=texts_of(request).decimal_comma)
    try:
        if form.text("from") in {"taps", "change"}:
            return done(f"/sketch?s={pack(_draft(form, run))}")
        sheet = _sheet(form, run)
        refuse_unworkable(sheet)
    except BackprobeError as error:
        source = _source(form)
        return back_with(request, f"/#{source}", {source: error})
    job = Job.new(
        desk_of(request).store,
        sheet,
        title=form.text("title"),
        machine=form.text("machine"),
        circumstances=_before(form),
    )
    return done(f"/job/{job.record.id}")


def _before(form: Form) -> list[str]:
    return [c for c in form.texts("circumstance") if c in CIRCUMSTANCES]


def _draft(form: Form, run: str) -> Draft:
    """The sketch that a job begins with: empty, or what was typed already."""
    title, machine = form.text("title"), form.text("machine")
    if form.text("from") == "change":
        text = _sheet(form, "").text
        first = next(iter(runs_of(data_of(text))), "main")
        return Draft(text, first, title=title, machine=machine, before=tuple(_before(form)))
    name = " ".join((machine or title).split())
    draft = Draft(title=title, machine=machine, before=tuple(_before(form)))
    if run:
        draft = draft.then(sketch(run, name=name).text, run="run 1")
        return replace(draft, past=())
    return replace(head(draft, name, ""), past=()) if name else draft


def _source(form: Form) -> str:
    """The field that a new job's sheet comes from, or is missed in."""
    if form.text("from") in {"library", "change"}:
        return "template"
    if form.upload("sheet"):
        return "sheet"
    return next((name for name in ("run", "template") if form.text(name)), "run")


def _sheet(form: Form, run: str) -> Sheet:
    source = _source(form)
    if source == "sheet" and (uploaded := form.upload("sheet")):
        return parse_sheet(_text(*uploaded), file=uploaded[0])
    if source == "template" and form.text("template"):
        return template(form.text("template")).sheet()
    if source == "template":
        raise missing(source, "No circuit was chosen", "Choose the one that is nearest to what is wrong.")
    if not run:
        raise missing(source, "No circuit was given", "Type what the current meets, or choose a sheet file.")
    return sketch(run, name=form.text("machine"))


def _text(name: str, data: bytes) -> str:
    if len(data) > MAX_SHEET:
        raise missing(name, "The file is longer than 500 kB", "A sheet has a few thousand characters.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise missing(name, "The file is not UTF-8 text", "Choose a sheet file, saved as UTF-8.") from None


def name_machine(request: Request) -> Response:
    """Say on which machine a job is, and go back to the page that asked."""
    form = form_of(request)
    work, machine = work_of(request), form.text("machine")
    if machine:
        desk_of(request).store.name_machine(work.name, machine)
    return done(form.text("back") or f"/job/{work.name}")


ROUTES = [
    Route("/", show),
    Route("/jobs", start, methods=["POST"]),
    Route("/job/{name}/machine", name_machine, methods=["POST"]),
]

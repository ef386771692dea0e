"""Pages that work something out: what was asked is kept behind a number in the address, then answered there.

A form is taken by `ask`, which keeps it and goes on to its page; the page makes an `Asked` of what was kept,
reads its fields, and shows the answer or what is wrong with a field beside what was typed.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from starlette.requests import Request
from starlette.responses import Response

from backprobe.diagnosis.engine import Engine
from backprobe.errors import BackprobeError, Problem
from backprobe.jobs.standing import ranked_readings
from backprobe.readings.model import Reading
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet
from backprobe.sheet.sketch import sketch
from backprobe.sheet.templates import template, templates
from backprobe.web.desk import Work
from backprobe.web.frame import back_with, desk_of, form_of, kept_of, page, parse_number, texts_of, work_of
from backprobe.web.kept import Kept, message_of
from backprobe.web.numbers import typed_number
from backprobe.web.texts import Texts

T = TypeVar("T")
MAX_TEXT = 2_000_000
"""Longest text that is taken [byte]."""
JOB, TEMPLATE = "job:", "template:"
OPEN_JOBS = 30


@dataclass(frozen=True, slots=True)
class Place:
    """Where a page stands: in a job, or among the calculations.

    Parameters
    ----------
    address
        The page, such as ``/budget`` or ``/job/b7/budget``.
    work
        The job; None among the calculations.
    """

    address: str
    work: Work | None

    @property
    def layout(self) -> str:
        """The template that the page extends."""
        return "base.html" if self.work is None else "job.html"


@dataclass(frozen=True, slots=True)
class Circuit:
    """A circuit that was chosen, with what was read on it.

    Parameters
    ----------
    work
        The job that it belongs to; None for a template or a typed one.
    lock
        Held around whatever uses the engine.
    """

    engine: Engine
    lock: threading.RLock
    work: Work | None = None

    @property
    def sheet(self) -> Sheet:
        """Its sheet."""
        return self.engine.sheet

    @property
    def readings(self) -> list[Reading]:
        """What its suspects are ranked by: what was read on it, before its repair where it works since."""
        return [] if self.work is None else ranked_readings(self.work.job)


@dataclass(slots=True)
class Asked:
    """A form that was kept, read field by field.

    Parameters
    ----------
    kept
        What was typed.
    spoken
        Texts of the reader's language: they say whether a comma is a decimal one.
    errors
        Field to what is wrong with it.
    """

    kept: Kept
    spoken: Texts
    errors: dict[str, str] = field(default_factory=dict)

    @property
    def given(self) -> bool:
        """Whether anything was asked yet."""
        return bool(self.kept.values)

    def text(self, name: str, default: str = "") -> str:
        """One field, blanks at its ends left out; the default where it was left empty."""
        return self.kept.value(name).strip() or default

    def read(self, name: str, reader: Callable[[str], T]) -> T | None:
        """What a reader makes of a field; None where it is empty or cannot be read."""
        typed = self.text(name)
        if not typed:
            return None
        try:
            return reader(typed)
        except BackprobeError as error:
            self.wrong(name, error)
            return None

    def number(self, name: str, unit: str) -> float | None:
        """A number in the base of a unit; None where the field is empty or cannot be read [`unit`]."""
        picked = self.text(f"{name}_unit")
        quantity = self.read(
            name, lambda t: parse_number(t, picked, comma=self.spoken.decimal_comma, unit=unit)
        )
        if quantity is not None and quantity.over_range:
            self.wrong(name, BackprobeError(Problem(name, self.text(name), "is no value to use", "")))
            return None
        return None if quantity is None else quantity.value

    def pointed(self, name: str) -> str:
        """A field with a number, or two ends of a range, in it, a decimal comma made a point."""
        return typed_number(self.text(name), "", comma=self.spoken.decimal_comma).strip()

    def wrong(self, name: str, error: BackprobeError | str) -> None:
        """Say what is wrong with a field; the field ``""`` is the form as a whole."""
        lines = message_of(error).split("\n")
        self.errors[name] = "\n".join(self.spoken.said(line.strip()) for line in lines)

    def needs(self, name: str, value: T | None) -> T | None:
        """The value of a field that must not be empty; says so where it is."""
        if value is None and self.given and name not in self.errors:
            self.errors[name] = self.spoken.gettext("This is needed.")
        return value

    def answer(self, work: Callable[[], T], where: str = "") -> T | None:
        """What the work gives, when something was asked and every field could be read.

        Parameters
        ----------
        where
            The field that an error is shown at when it names none of the form.
        """
        if not self.given or self.errors:
            return None
        try:
            return work()
        except BackprobeError as error:
            named = next((p.field for p in error.problems if p.field in self.kept.values), where)
            self.wrong(named, error)
            return None

    def shown(self) -> Kept:
        """The form as the page shows it."""
        return Kept(self.kept.values, self.errors)


def asked_of(request: Request) -> Asked:
    """What was asked, from what was kept."""
    kept = kept_of(request)
    return Asked(kept, texts_of(request), dict(kept.errors))


def ask(
    request: Request, address: str, uploads: tuple[str, ...] = (), more: Mapping[str, str] | None = None
) -> Response:
    """Take a form and go on to the page that answers it.

    Parameters
    ----------
    uploads
        Fields in which a file may stand in place of what is typed into the field of that name.
    more
        Values that did not come with the form.
    """
    form = form_of(request)
    values = form.values() | dict(more or {})
    errors: dict[str, BackprobeError | str] = {}
    for name in uploads:
        if sent := form.upload(f"{name}_file"):
            try:
                values[name] = sent[1].decode("utf-8-sig")
            except UnicodeDecodeError:
                errors[name] = BackprobeError(
                    Problem(name, sent[0], "is not UTF-8 text", "Save the file as UTF-8.")
                )
    return back_with(request, f"{address}#answer", errors, values)


def place_of(request: Request, tool: str) -> Place:
    """Where a page of a calculation stands."""
    if "name" in request.path_params:
        work = work_of(request)
        return Place(f"/job/{work.name}/{tool}", work)
    return Place(f"/{tool}", None)


def circuit_of(request: Request, place: Place, asked: Asked) -> Circuit | None:
    """The circuit that is asked about: the job's, one that was picked, or one that was typed."""
    if place.work is not None:
        return Circuit(place.work.engine, place.work.lock, place.work)
    picked = asked.text("circuit")
    if picked.startswith(JOB):
        work = asked.read("circuit", lambda t: desk_of(request).work(t.removeprefix(JOB)))
        return None if work is None else Circuit(work.engine, work.lock, work)
    if picked.startswith(TEMPLATE):
        engine = asked.read("circuit", lambda t: Engine(template(t.removeprefix(TEMPLATE)).sheet()))
    else:
        engine = asked.read("sheet", lambda t: Engine(typed_sheet(t)))
    return None if engine is None else Circuit(engine, threading.RLock())


def typed_sheet(text: str) -> Sheet:
    """A sheet from its text, or from one typed run."""
    lines = text.strip().splitlines()
    if len(lines) == 1 and ">" in text:
        return sketch(text)
    return parse_sheet(text + "\n")


def circuits(request: Request) -> list[tuple[str, str]]:
    """Circuits to pick from: open jobs, then templates, each with its code."""
    lines = [j for j in desk_of(request).store.jobs() if j.is_open][:OPEN_JOBS]
    jobs = [(f"{JOB}{j.id}", f"{j.title} {j.machine} ({j.id})".replace("  ", " ")) for j in lines]
    return [*jobs, *((f"{TEMPLATE}{t.name}", t.name) for t in templates())]


def tool_page(
    request: Request, name: str, place: Place, asked: Asked, values: dict[str, Any] | None = None
) -> Response:
    """The page of a calculation, with its form as it was sent and what is wrong with it."""
    common: dict[str, Any] = {
        "layout": place.layout,
        "address": place.address,
        "work": place.work,
        "kept": asked.shown(),
        "circuits": [] if place.work else circuits(request),
    }
    return page(request, name, common | (values or {}))

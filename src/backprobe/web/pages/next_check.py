"""The home of a job: the next check, what its outcomes would mean, and what was read so far."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.coach import coach
from backprobe.errors import BackprobeError
from backprobe.jobs.log import Entry, undone
from backprobe.readings.lines import Context
from backprobe.readings.model import Reading
from backprobe.report.check_words import advice, enough_words, worth_doing
from backprobe.report.job_words import entry_words
from backprobe.report.reading_words import as_typed
from backprobe.report.setup_words import parts_of
from backprobe.report.words import headline, nothing_read, shown_groups
from backprobe.web.check_view import Told, read_where, same_check, told_of, view_of
from backprobe.web.complaint import Complaint, complaint_of
from backprobe.web.desk import Work
from backprobe.web.frame import (
    MenuItem,
    back_with,
    done,
    form_of,
    kept_of,
    localised,
    missing,
    page,
    texts_of,
    work_of,
)
from backprobe.web.lamps import lamp_words
from backprobe.web.numbers import typed_number
from backprobe.web.texts import N_, Texts

MENU = [MenuItem("job", N_("Next check"), "/job/{name}", 10)]
OTHERS = 8


@dataclass(frozen=True, slots=True)
class Line:
    """One entry of the log, with what can be done about it."""

    entry: Entry
    words: str
    gone: bool
    may_undo: bool


@dataclass(frozen=True, slots=True)
class Last:
    """The reading just made: what was seen, in which setup, and where it fell."""

    entry: Entry
    words: str
    setup: str
    told: tuple[Told, ...] = ()
    strip: str = ""
    mind: tuple[str, ...] = ()


def show(request: Request) -> Response:
    """The next check of a job, or the complaint that begins it."""
    work = work_of(request)
    with work.lock:
        answer = work.answer()
        if nothing_read(answer):
            return _begin(request, work)
        return _next(request, work, answer)


def _begin(request: Request, work: Work) -> Response:
    complaint: Complaint = complaint_of(work.engine)
    return page(
        request,
        "complaint.html",
        {"work": work, "kept": kept_of(request), "complaint": complaint, "log": _log(work)},
    )


def _next(request: Request, work: Work, answer: Answer) -> Response:
    spoken = texts_of(request)
    local = partial(localised, spoken)
    worth = worth_doing(work.checks())
    chosen = _chosen(request, worth)
    return page(
        request,
        "next.html",
        {
            "work": work,
            "kept": kept_of(request),
            "headline": spoken.said(headline(answer)),
            "groups": shown_groups(answer)[:3],
            "none": answer.none_of_these,
            "stop": advice(answer, worth),
            "enough": "" if worth else spoken.said(enough_words(answer)),
            "view": view_of(worth[chosen], answer, spoken, local) if worth else None,
            "mind": [spoken.said(a.text) for a in coach(work.engine, worth[chosen])] if worth else [],
            "chosen": chosen,
            "others": [
                (k, view_of(c, answer, spoken, local)) for k, c in enumerate(worth[:OTHERS]) if k != chosen
            ],
            "lamps": lamp_words(work.sheet),
            "last": _last(request, work, spoken),
            "log": _log(work),
        },
    )


def _chosen(request: Request, checks: Sequence[Check]) -> int:
    asked = request.query_params.get("check", "0")
    return int(asked) if asked.isascii() and asked.isdigit() and int(asked) < len(checks) else 0


def _last(request: Request, work: Work, spoken: Texts) -> Last | None:
    entries = work.job.entries
    if not entries or request.query_params.get("read") != str(entries[-1].number):
        return None
    entry, reading = entries[-1], work.job.readings()[-1]
    parts = parts_of(reading.setup, work.sheet) if reading.placed else []
    setup = ", ".join(spoken.said(p) for p in parts)
    mind = tuple(spoken.said(a.text) for a in coach(work.engine, reading))
    check = work.asked.get(entry.number)
    if check is None:
        return Last(entry, as_typed(reading), setup, mind=mind)
    value = _value(reading, check)
    return Last(
        entry,
        as_typed(reading),
        setup,
        *told_of(check, spoken, partial(localised, spoken), value),
        mind,
    )


def _value(reading: Reading, check: Check) -> float | None:
    return reading.value if reading.kind == check.candidate.kind and not reading.unsteady else None


def _log(work: Work) -> list[Line]:
    gone = undone(work.job.record.entries)
    return [
        Line(e, entry_words(e), e.number in gone, e.number > 1 and e.kind != "undo" and e.number not in gone)
        for e in reversed(work.job.record.entries)
    ]


def read(request: Request) -> Response:
    """Take the answer to a check: a number, a word, or what a lamp shows."""
    work, form = work_of(request), form_of(request)
    home = f"/job/{work.name}"
    check = form.text("check")
    again = f"{home}?check={check}#read" if check else f"{home}#read"
    try:
        where = read_where(form.text("where"))
        line = form.text("shows") or form.text("lamp" if form.text("take") == "lamp" else "")
        if not line:
            typed = form.text("value")
            if not typed:
                raise missing(
                    "value", "Nothing was typed", "Type what the meter shows, such as 4.78 or 4.7k."
                )
            number = typed_number(typed, form.text("value_unit"), comma=texts_of(request).decimal_comma)
            line = f"{where.start}: {number}"
        with work.lock:
            asked = same_check(work.checks(), form.text("where"))
            context = Context(where.context.state, where.context.unplugged, True, work.job.context().leads)
            entry = work.job.read(", ".join([line, *where.held]), context)
            work.forget()
            if asked is not None and not form.text("lamp"):
                work.asked[entry.number] = asked
    except BackprobeError as error:
        return back_with(request, again, {"value": error})
    return done(f"{home}?read={entry.number}")


def undo(request: Request) -> Response:
    """Take back an entry of the log."""
    work, form = work_of(request), form_of(request)
    number = form.text("number")
    if not (number.isascii() and number.isdigit()):
        raise missing("number", "No entry was named", "Take back one entry of the log.")
    with work.lock:
        work.job.undo(int(number))
        work.forget()
    return done(f"/job/{work.name}#log")


def unreachable(request: Request) -> Response:
    """Take a point or a part out of the proposals of this job."""
    work = work_of(request)
    with work.lock:
        work.job.cannot_reach(form_of(request).text("point"))
        work.forget()
    return done(f"/job/{work.name}")


ROUTES = [
    Route("/job/{name}", show),
    Route("/job/{name}/read", read, methods=["POST"]),
    Route("/job/{name}/undo", undo, methods=["POST"]),
    Route("/job/{name}/unreachable", unreachable, methods=["POST"]),
]

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
from backprobe.diagnosis.doubts import live_ohms
from backprobe.diagnosis.stop import one_part
from backprobe.errors import BackprobeError
from backprobe.jobs.log import Entry, undone
from backprobe.jobs.standing import Standing, standing_of
from backprobe.readings.lines import Context
from backprobe.readings.model import Reading
from backprobe.report.check_words import enough_words, repair_advice, why_words, worth_doing
from backprobe.report.coach_words import doubt_words, drop_words, live_words
from backprobe.report.repair_words import first_part, works_now
from backprobe.report.setup_words import parts_of
from backprobe.report.words import LEAST, headline, nothing_read, worn_as_well
from backprobe.web.caution_view import cautions_on, put_back, try_cautions
from backprobe.web.check_view import Told, read_where, same_check, told_of, view_of
from backprobe.web.complaint import Complaint, complaint_of
from backprobe.web.desk import Work
from backprobe.web.frame import (
    Form,
    MenuItem,
    back_with,
    done,
    form_of,
    kept_of,
    localised,
    missing,
    page,
    sent,
    texts_of,
    work_of,
)
from backprobe.web.lamps import lamp_words
from backprobe.web.numbers import typed_number
from backprobe.web.past_view import past_of
from backprobe.web.reading_view import read_words, told_words
from backprobe.web.texts import N_, Texts
from backprobe.web.try_view import log_words, proof_of, tries_of

MENU = [MenuItem("job", N_("Check"), "/job/{name}", 10)]
OTHERS = 8
SHOWN = 5
"""Suspects that are shown with their shares."""
NAMED = 2


@dataclass(frozen=True, slots=True)
class Line:
    """One entry of the log, with what can be done about it."""

    entry: Entry
    words: str
    gone: bool
    may_undo: bool


@dataclass(frozen=True, slots=True)
class Last:
    """The reading just made: what was seen, in which setup, where it fell and whom that points to."""

    entry: Entry
    words: str
    setup: str
    told: tuple[Told, ...] = ()
    strip: str = ""
    mind: tuple[str, ...] = ()

    @property
    def points_to(self) -> tuple[str, ...]:
        """The likeliest of the outcome that it fell into."""
        return next((t.means[:NAMED] for t in self.told if t.hit), ())


def show(request: Request) -> Response:
    """The next check of a job, or the complaint that begins it."""
    work = work_of(request)
    with work.lock:
        answer, standing = work.answer(), standing_of(work.job)
        if nothing_read(answer) and standing.complaint is None:
            shown = _begin(request, work)
        else:
            shown = _next(request, work, answer, standing)
    if (ahead := request.app.state.ahead) is not None:
        ahead.think(work.name)
    return shown


def _begin(request: Request, work: Work) -> Response:
    complaint: Complaint = complaint_of(work.engine)
    spoken = texts_of(request)
    return page(
        request,
        "complaint.html",
        {
            "work": work,
            "kept": kept_of(request),
            "complaint": complaint,
            "standing": standing_of(work.job),
            "log": _log(work, spoken),
        },
    )


def _next(request: Request, work: Work, answer: Answer, standing: Standing) -> Response:
    spoken = texts_of(request)
    local = partial(localised, spoken)
    worth = worth_doing(work.checks())
    chosen, stop = _chosen(request, worth), repair_advice(answer, worth)
    tried, is_open = standing.complaint.setup if standing.complaint else None, work.job.record.is_open
    return page(
        request,
        "next.html",
        {
            "work": work,
            "kept": kept_of(request),
            "headline": spoken.said(headline(answer)),
            "suspects": [s for s in answer.suspects if s.probability >= LEAST][:SHOWN],
            "worn": worn_as_well(answer),
            "further": one_part(answer) is not None and stop is not None,
            "none_of_these": answer.none_of_these,
            "standing": standing,
            "past": past_of(work, work.finding(), spoken) if standing.is_past and not is_open else None,
            "is_open": is_open,
            "put_back": put_back(work, tried, spoken) if tried else [],
            "try_cautions": try_cautions(work, tried) if tried else work.sheet.cautions,
            "try_setup": [spoken.said(p) for p in parts_of(tried, work.sheet)] if tried else [],
            "tries": tries_of(work, spoken) if standing.to_prove else [],
            "proof": proof_of(work, spoken) if standing.repairs else None,
            "revived": works_now(answer),
            "repairable": [*work.sheet.parts, *work.sheet.connectors],
            "first_part": first_part(answer),
            "again": _again(work, answer, spoken),
            "stop": stop,
            "why": spoken.said(why_words(worth[chosen])) if worth else "",
            "enough": "" if worth else spoken.said(enough_words(answer)),
            "cautions": cautions_on(work, worth[chosen], spoken) if worth else None,
            "view": view_of(worth[chosen], answer, spoken, local) if worth else None,
            "mind": [spoken.said(a.text) for a in coach(work.engine, worth[chosen])] if worth else [],
            "chosen": chosen,
            "others": [
                (k, view_of(c, answer, spoken, local)) for k, c in enumerate(worth[:OTHERS]) if k != chosen
            ],
            "lamps": lamp_words(work.sheet),
            "last": _last(request, work, spoken),
            "log": _log(work, spoken),
        },
    )


def _again(work: Work, answer: Answer, spoken: Texts) -> list[str]:
    """Readings to take again, each in one sentence."""
    found = [doubt_words(answer, d) for d in work.doubts()]
    found = found or [drop_words(answer, d) for d in answer.drops]
    return [
        told_words(answer, w, spoken) for w in [*found, *(live_words(answer, o) for o in live_ohms(answer))]
    ]


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
    check = work.asked.get(entry.number)
    mind = tuple(spoken.said(a.text) for a in coach(work.engine, reading, asked=check is not None))
    if check is None:
        return Last(entry, read_words(reading, spoken), setup, mind=mind)
    value = _value(reading, check)
    return Last(
        entry,
        read_words(reading, spoken),
        setup,
        *told_of(check, spoken, partial(localised, spoken), value),
        mind,
    )


def _value(reading: Reading, check: Check) -> float | None:
    return reading.value if reading.kind == check.candidate.kind and not reading.unsteady else None


def _log(work: Work, spoken: Texts) -> list[Line]:
    gone = undone(work.job.record.entries)
    return [
        Line(
            e,
            log_words(e, spoken),
            e.number in gone,
            e.number > 1 and e.kind != "undo" and e.number not in gone,
        )
        for e in reversed(work.job.record.entries)
    ]


def read(request: Request) -> Response:
    """Take the answer to a check: a number, a word, or what a lamp shows."""
    form = form_of(request)
    sent(request, form)
    work = work_of(request)
    home = f"/job/{work.name}"
    check = form.text("check")
    again = f"{home}?check={check}#read" if check else f"{home}#read"
    try:
        line, context = answer_of(form, work, texts_of(request))
        with work.lock:
            asked = same_check(work.checks(), form.text("where"))
            entry = work.job.read(line, context)
            if asked is not None and not form.text("lamp"):
                work.asked[entry.number] = asked
    except BackprobeError as error:
        return back_with(request, again, {"value": error})
    return done(f"{home}?read={entry.number}")


def answer_of(form: Form, work: Work, spoken: Texts) -> tuple[str, Context]:
    """The answer to a check as the line of a reading, and in which setup it was read.

    Raises
    ------
    BackprobeError
        When nothing was typed or the check is none of ours.
    """
    where = read_where(form.text("where"))
    line = form.text("shows") or form.text("lamp" if form.text("take") == "lamp" else "")
    if not line:
        typed = form.text("value")
        if not typed:
            raise missing("value", "Nothing was typed", "Type what the meter shows, such as 4.78 or 4.7k.")
        line = f"{where.start}: {typed_number(typed, form.text('value_unit'), comma=spoken.decimal_comma)}"
    with work.lock:
        leads = work.job.context().leads
    context = Context(where.context.state, where.context.unplugged, True, leads)
    return ", ".join([line, *where.held]), context


def undo(request: Request) -> Response:
    """Take back an entry of the log."""
    work, form = work_of(request), form_of(request)
    number = form.text("number")
    if not (number.isascii() and number.isdigit()):
        raise missing("number", "No entry was named", "Take back one entry of the log.")
    with work.lock:
        work.job.undo(int(number))
    return done(f"/job/{work.name}#log")


def unreachable(request: Request) -> Response:
    """Take a point or a part out of the proposals of this job."""
    work = work_of(request)
    with work.lock:
        work.job.cannot_reach(form_of(request).text("point"))
    return done(f"/job/{work.name}")


ROUTES = [
    Route("/job/{name}", show),
    Route("/job/{name}/read", read, methods=["POST"]),
    Route("/job/{name}/undo", undo, methods=["POST"]),
    Route("/job/{name}/unreachable", unreachable, methods=["POST"]),
]

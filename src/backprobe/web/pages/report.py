"""The report of a job, made to be printed: what was read, what it says, what to repair, a proof to sign."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.jobs.log import Entry, undone
from backprobe.jobs.proving import tried_of
from backprobe.jobs.standing import standing_of
from backprobe.report.assumed import assumed_words
from backprobe.report.check_words import repair_advice
from backprobe.report.drawing import draw
from backprobe.report.layout import clock
from backprobe.report.reading_words import has_setup
from backprobe.report.setup_words import setup_words
from backprobe.report.words import LEAST, headline, nothing_read, shown_groups, worn_as_well
from backprobe.web.desk import Work
from backprobe.web.drawing_words import drawing_words
from backprobe.web.frame import MenuItem, page, texts_of, work_of
from backprobe.web.past_view import answer_of, past_of
from backprobe.web.reading_view import read_words
from backprobe.web.texts import N_, Texts
from backprobe.web.try_view import log_words, proof_of, tries_of

MENU = [MenuItem("job", N_("Report"), "/job/{name}/report", 80)]
GROUPS = 4


@dataclass(frozen=True, slots=True)
class Row:
    """One entry of the log as it is printed; what was taken back stays and says so."""

    number: int
    at: str
    words: str
    setup: str
    gone: bool


@dataclass(frozen=True, slots=True)
class Tried:
    """A momentary trial on the record."""

    claim: str
    shown: str
    put_back: str


def show(request: Request) -> Response:
    """The report."""
    work, spoken = work_of(request), texts_of(request)
    with work.lock:
        standing = standing_of(work.job)
        answer = answer_of(work, standing)
        past = past_of(work, answer, spoken)
        groups = [g for g in shown_groups(answer) if g.probability >= LEAST][:GROUPS]
        readings = len(answer.readings.all)
        stop = repair_advice(answer, work.checks()) if readings and not past else None
        suspects = [] if nothing_read(answer) else [s.name for g in groups[:1] for s in g.suspects[:3]]
        record = work.job.record
        return page(
            request,
            "report.html",
            {
                "work": work,
                "printed": datetime.now(UTC),
                "opened": record.entries[0].at,
                "is_open": record.is_open,
                "closed_as": record.closed_as,
                "repairs": work.job.repairs,
                "past": past,
                "rows": list(_rows(work, spoken)),
                "tried": [_tried(e) for e in record.entries if e.kind == "trial"],
                "headline": spoken.said(headline(answer)),
                "nothing": nothing_read(answer),
                "groups": groups,
                "none_of_these": answer.none_of_these,
                "stop": stop,
                "worn": worn_as_well(answer),
                "assumed": assumed_words(work.sheet),
                "tries": tries_of(work, spoken),
                "proof": proof_of(work, spoken),
                "ticked": tried_of(record.closing),
                "cautions": work.sheet.cautions,
                "drawing": Markup(drawing_words(draw(work.sheet, suspects=suspects), spoken)),
                "numbered": suspects,
            },
        )


def _rows(work: Work, spoken: Texts) -> Iterator[Row]:
    record = work.job.record
    gone = undone(record.entries)
    readings = iter(work.job.readings())
    standing = {e.number for e in work.job.entries}
    before = ""
    for entry in record.entries:
        at = clock(entry.at)
        if entry.kind == "undo":
            continue
        if entry.number not in standing:
            yield Row(entry.number, at, log_words(entry, spoken), "", entry.number in gone)
            continue
        reading = next(readings)
        setup = spoken.listed(setup_words(reading.setup, work.sheet)) if has_setup(reading) else ""
        told = spoken.gettext("as above") if setup and setup == before else setup
        yield Row(entry.number, at, read_words(reading, spoken), told, gone=False)
        before = setup or before


def _tried(entry: Entry) -> Tried:
    data = entry.data
    return Tried(*(str(data.get(k, "")) for k in ("claim", "shown", "put_back")))


ROUTES = [Route("/job/{name}/report", show)]

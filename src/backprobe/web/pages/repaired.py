"""What was repaired, whether it works again, and why a job is closed: each kept in its log."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.errors import BackprobeError
from backprobe.jobs.proving import ticks_of
from backprobe.jobs.repairs import read_repair
from backprobe.jobs.standing import standing_of
from backprobe.readings.lines import Context
from backprobe.report.repair_words import tick_words
from backprobe.web.frame import back_with, done, form_of, missing, work_of

FAILED = "failed "
"""What the name of a button begins with that says that a guard failed."""


def repaired(request: Request) -> Response:
    """Keep a repair of one part, or of several that were repaired together."""
    work, form = work_of(request), form_of(request)
    home = f"/job/{work.name}"
    parts = form.texts("part")
    try:
        if not parts:
            raise missing("part", "No part was named", "Say what was repaired.")
        with work.lock:
            said = [f"{part}: {form.text('what')}" for part in parts]
            # All are read before the first is kept: a wrong one leaves nothing half done.
            for text in said:
                read_repair(text, work.sheet)
            for text in said:
                work.job.repaired(text)
    except BackprobeError as error:
        return back_with(request, home, {"part": error})
    return done(home)


def tried(request: Request) -> Response:
    """Keep whether what was dead works after a repair, in the state in which it was dead."""
    work, works = work_of(request), form_of(request).text("works")
    with work.lock:
        complaint = standing_of(work.job).complaint
        if complaint is None or works not in {"works", "dead"}:
            raise missing("works", "Nothing is to be tried again", "Load the page again.")
        context = Context(complaint.setup.state, complaint.setup.unplugged, True, work.job.context().leads)
        entry = work.job.read(f"{complaint.subject} {works}", context)
    return done(f"/job/{work.name}?read={entry.number}")


def close(request: Request) -> Response:
    """Close a job for a reason."""
    work, form = work_of(request), form_of(request)
    proving = form.text("proving")
    try:
        with work.lock:
            ticked = form.texts("tick")
            words = {t.key: tick_words(t, work.sheet) for t in ticks_of(work.engine) if t.key in ticked}
            work.job.close(form.text("reason") or form.text("other"), words, form.text("by_hand"))
    except BackprobeError as error:
        where, field = ("#proving", "tick") if proving else ("", "reason")
        return back_with(request, f"/job/{work.name}{where}", {field: error})
    return done(f"/job/{work.name}")


def failed(request: Request) -> Response:
    """Keep that a guard failed when it was tried; the field that was sent ends with the key of its tick."""
    work, form = work_of(request), form_of(request)
    try:
        with work.lock:
            key = next((k.removeprefix(FAILED) for k in form.data if k.startswith(FAILED)), "")
            words = {t.key: tick_words(t, work.sheet) for t in ticks_of(work.engine)}
            work.job.guard_failed(key, words.get(key, ""))
    except BackprobeError as error:
        return back_with(request, f"/job/{work.name}#proving", {"tick": error})
    return done(f"/job/{work.name}#proving")


ROUTES = [
    Route("/job/{name}/repaired", repaired, methods=["POST"]),
    Route("/job/{name}/tried", tried, methods=["POST"]),
    Route("/job/{name}/close", close, methods=["POST"]),
    Route("/job/{name}/failed", failed, methods=["POST"]),
]

"""The drawing of a job's circuit: volts, the leads of the next check, suspects; tap a part or a point."""

from __future__ import annotations

from dataclasses import replace

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.jobs.standing import standing_of
from backprobe.report.check_words import worth_doing
from backprobe.report.repair_words import works_now
from backprobe.web.circuit_part import part_of
from backprobe.web.circuit_view import view_of
from backprobe.web.decimals import with_comma
from backprobe.web.drawing_words import drawing_words
from backprobe.web.frame import MenuItem, page, texts_of, work_of
from backprobe.web.past_view import answer_of, past_of
from backprobe.web.texts import N_

MENU = [MenuItem("job", N_("Circuit"), "/job/{name}/circuit", 30)]


def show(request: Request) -> Response:
    """The drawing, and the part of the address if there is one."""
    work, spoken = work_of(request), texts_of(request)
    chosen = request.query_params.get("state", "")
    with work.lock:
        answer = answer_of(work, standing_of(work.job))
        past = past_of(work, answer, spoken)
        settled = past or works_now(answer)
        check = None if settled else next(iter(worth_doing(work.checks())), None)
        view = view_of(answer, check, int(chosen) if chosen.isdigit() and len(chosen) < 4 else 0)
        name = request.query_params.get("part", "")
        part = part_of(answer, check, name) if name else None
    view = replace(view, setups=tuple(spoken.listed(s) for s in view.setups))
    part = part and replace(part, state=spoken.listed(part.state))
    values = {
        "work": work,
        "view": view,
        "drawing": Markup(drawing_words(view.drawing, spoken)),
        "local": lambda text: with_comma(text, spoken.decimal_comma),
        "check": check,
        "past": past,
        "part": part,
        "asked": name,
    }
    return page(request, "circuit.html", values)


ROUTES = [Route("/job/{name}/circuit", show)]

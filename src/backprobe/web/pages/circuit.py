"""The drawing of a job's circuit: volts, the leads of the next check, suspects; tap a part or a point."""

from __future__ import annotations

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.web.circuit_part import part_of
from backprobe.web.circuit_view import view_of
from backprobe.web.decimals import svg_with_comma, with_comma
from backprobe.web.frame import MenuItem, page, texts_of, work_of
from backprobe.web.texts import N_

MENU = [MenuItem("job", N_("Circuit"), "/job/{name}/circuit", 30)]


def show(request: Request) -> Response:
    """The drawing, and the part of the address if there is one."""
    work = work_of(request)
    chosen = request.query_params.get("state", "")
    with work.lock:
        answer = work.answer()
        check = next(iter(work.checks()), None)
        view = view_of(answer, check, int(chosen) if chosen.isdigit() and len(chosen) < 4 else 0)
        name = request.query_params.get("part", "")
        part = part_of(answer, check, name) if name else None
    comma = texts_of(request).decimal_comma
    values = {
        "work": work,
        "view": view,
        "drawing": Markup(svg_with_comma(view.drawing, comma)),
        "local": lambda text: with_comma(text, comma),
        "check": check,
        "part": part,
        "asked": name,
    }
    return page(request, "circuit.html", values)


ROUTES = [Route("/job/{name}/circuit", show)]

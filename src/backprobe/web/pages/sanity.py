"""Numbers that cannot be so: in a sheet, or in what somebody claims."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.errors import SheetError
from backprobe.sheet.reader import parse_sheet
from backprobe.web.asking import ask, asked_of, place_of, tool_page
from backprobe.web.frame import MenuItem
from backprobe.web.texts import N_
from backprobe.workbench.finding import Finding
from backprobe.workbench.sanity import sanity

MENU = [MenuItem("tools", N_("Numbers that cannot be so"), "/sanity", 40)]
SHEET = re.compile(r"(?m)^(sheet|runs)\s*:")


def show(request: Request) -> Response:
    """The form, and the findings; in a job, those of its sheet at once."""
    place, asked = place_of(request, "sanity"), asked_of(request)
    found: tuple[Finding, ...] | None = None
    typed = asked.text("text")
    claims = bool(typed) and not SHEET.search(typed)
    if typed:
        found = asked.answer(lambda: sanity(typed) if claims else _sheet(typed), "text")
    elif place.work is not None:
        with place.work.lock:
            found = sanity(place.work.sheet)
    else:
        asked.needs("text", None)
    return tool_page(
        request, "sanity.html", place, asked, {"found": found, "claims": claims, "count": _count(found)}
    )


def _sheet(text: str) -> tuple[Finding, ...]:
    try:
        return sanity(parse_sheet(f"{text}\n"))
    except SheetError as error:
        # What the reader refuses is wrong in the same sense: limits the wrong way round, bands that overlap.
        return tuple(Finding(p.field, p.value, p.message, p.remedy, line=p.line) for p in error.problems)


def _count(found: tuple[Finding, ...] | None) -> int:
    return sum(f.wrong and not f.holds for f in found or ())


def take(request: Request) -> Response:
    """Keep what was asked and show its answer."""
    return ask(request, place_of(request, "sanity").address)


ROUTES = [
    Route("/sanity", show),
    Route("/sanity", take, methods=["POST"]),
    Route("/job/{name}/sanity", show),
    Route("/job/{name}/sanity", take, methods=["POST"]),
]

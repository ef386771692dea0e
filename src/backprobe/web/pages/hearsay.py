"""Everything that people propose as a cure, judged in one table, with an answer to paste."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.web.asking import ask, asked_of, circuit_of, place_of, tool_page
from backprobe.web.hearsay_reply import reply as reply_words
from backprobe.web.past_view import past_here
from backprobe.workbench.hearsay import Hearsay, hearsay
from backprobe.workbench.verdict import DEFEATS, RANK, SOUND_REPAIR, SOUND_TEST

_PLACE = re.compile(r"(?:^|(?<=; ))[^:;]*:\d+: \w+: ")


def show(request: Request) -> Response:
    """The form, and the table."""
    place, asked = place_of(request, "hearsay"), asked_of(request)
    circuit = circuit_of(request, place, asked) if asked.given or place.work else None
    asked.needs("lines", asked.text("lines") or None)
    found: Hearsay | None = None
    if circuit is not None:
        with circuit.lock:
            text = asked.kept.value("lines")
            found = asked.answer(lambda: hearsay(circuit.engine, text, circuit.readings), "lines")
    return tool_page(
        request,
        "hearsay.html",
        place,
        asked,
        {
            "found": found,
            "why_not": {s.line: _PLACE.sub("", s.problem) for s in found.said} if found else {},
            "reply": reply_words(found, asked.spoken) if found else "",
            "past": past_here(circuit.work if circuit else None, asked.spoken),
            "defeats": DEFEATS,
            "harmful": RANK[1:],
            "repair": SOUND_REPAIR,
            "sound": (SOUND_REPAIR, SOUND_TEST),
        },
    )


def take(request: Request) -> Response:
    """Keep what was said and show the table."""
    return ask(request, place_of(request, "hearsay").address)


ROUTES = [
    Route("/hearsay", show),
    Route("/hearsay", take, methods=["POST"]),
    Route("/job/{name}/hearsay", show),
    Route("/job/{name}/hearsay", take, methods=["POST"]),
]

"""The list of the calculations."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.web.frame import MenuItem, page
from backprobe.web.texts import N_

MENU = [MenuItem("top", N_("Tools"), "/tools", 30)]


def show(request: Request) -> Response:
    """All calculations that have a page."""
    return page(request, "tools.html")


ROUTES = [Route("/tools", show)]

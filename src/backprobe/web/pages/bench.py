"""The calculations that a job has a page of its own for."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.web.frame import MenuItem, page, work_of
from backprobe.web.texts import N_

MENU = [MenuItem("job", N_("Tools"), "/job/{name}/bench", 70)]


def show(request: Request) -> Response:
    """Calculations on the job's own circuit, and those that need none."""
    work = work_of(request)
    own = _of_jobs(request)
    items = request.app.state.menu["tools"]
    return page(
        request,
        "bench_list.html",
        {
            "work": work,
            "own": [(i.label, f"/job/{work.name}{i.address}") for i in items if i.address in own],
            "others": [(i.label, i.address) for i in items if i.address not in own],
        },
    )


def _of_jobs(request: Request) -> set[str]:
    """Addresses of calculations that also stand under a job."""
    head = "/job/{name}"
    paths = [r.path for r in request.app.routes if isinstance(r, Route)]
    return {p.removeprefix(head) for p in paths if p.startswith(head)}


ROUTES = [Route("/job/{name}/bench", show)]

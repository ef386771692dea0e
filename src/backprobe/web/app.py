"""The application: pages by file, one guard in front, one desk behind."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from backprobe.errors import BackprobeError, JobError
from backprobe.jobs.store import Store
from backprobe.web import pages
from backprobe.web.ahead import Ahead, Courtesy
from backprobe.web.desk import Desk
from backprobe.web.frame import LANGUAGE, STATIC, MenuItem, done, form_of, page, texts_of
from backprobe.web.guard import LOOPBACK, Guard, cookie
from backprobe.web.kept import Keeper, message_of
from backprobe.web.pairing import Pairing
from backprobe.web.texts import LANGUAGES, N_

YEAR = 365 * 24 * 3600


@dataclass(frozen=True, slots=True)
class Serving:
    """How the pages are served.

    Parameters
    ----------
    hosts
        Names in the address that are ours.
    address
        Where a phone finds the laptop, such as ``http://192.168.4.2:8765``; empty without one.
    pairing
        Phones that may come.
    thinks_ahead
        Whether likely answers are worked out while nobody asks.
    """

    hosts: Collection[str] = LOOPBACK
    address: str = ""
    pairing: Pairing = field(default_factory=Pairing)
    thinks_ahead: bool = False


class Assets(StaticFiles):
    """Files of the package; their address changes with their content, so a browser may keep them."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """One file."""
        response = await super().get_response(path, scope)
        if response.status_code == 200 and b"v=" in scope.get("query_string", b""):
            response.headers["Cache-Control"] = f"public, max-age={YEAR}, immutable"
        return response


def make_app(store: Store, serving: Serving | None = None) -> Starlette:
    """The pages on a store.

    Parameters
    ----------
    serving
        How they are served; by default to this machine only.
    """
    how = serving or Serving()
    desk = Desk(store)
    ahead = Ahead(desk) if how.thinks_ahead else None
    routes, menu = found_pages()
    app = Starlette(
        routes=[
            *routes,
            Route("/language", choose_language, methods=["POST"]),
            Mount("/static", Assets(directory=STATIC), name="static"),
        ],
        middleware=[
            *([] if ahead is None else [Middleware(Courtesy, ahead=ahead)]),
            Middleware(Guard, broken=_broken, hosts=how.hosts, pairing=how.pairing),
        ],
        exception_handlers={
            HTTPException: _refused,
            BackprobeError: _wrong,
            JobError: _no_job,
        },
    )
    app.state.desk = desk
    app.state.ahead = ahead
    app.state.keeper = Keeper()
    app.state.serving = how
    app.state.menu = menu
    return app


def found_pages() -> tuple[list[BaseRoute], Mapping[str, list[MenuItem]]]:
    """Routes of all pages, and the menus."""
    routes: list[BaseRoute] = []
    items: list[MenuItem] = []
    for info in sorted(pkgutil.iter_modules(pages.__path__), key=lambda m: m.name):
        module = importlib.import_module(f"{pages.__name__}.{info.name}")
        routes += getattr(module, "ROUTES", [])
        items += getattr(module, "MENU", [])
    items.sort(key=lambda item: (item.order, item.label))
    return routes, {place: [i for i in items if i.place == place] for place in ("top", "tools", "job")}


def choose_language(request: Request) -> Response:
    """Change the language and stay where one is."""
    form = form_of(request)
    response = done(form.text("back"))
    if (code := form.text("language")) in LANGUAGES:
        response.headers.append("Set-Cookie", cookie(LANGUAGE, code, lasts=YEAR))
    return response


def _refused(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 500
    titles = {404: N_("There is no such page."), 405: N_("This page takes no such request.")}
    return problem(request, texts_of(request).gettext(titles.get(status, str(error))), status)


def _wrong(request: Request, error: Exception) -> Response:
    said = texts_of(request).said
    text = message_of(error) if isinstance(error, BackprobeError) else str(error)
    return problem(request, "\n".join(said(line) for line in text.split("\n")), 422)


def _no_job(request: Request, error: Exception) -> Response:
    response = _wrong(request, error)
    response.status_code = 404
    return response


def _broken(request: Request, error: Exception) -> Response:
    text = N_(
        "Something went wrong inside backprobe: {cause}. Nothing that was stored is lost. Please report it."
    )
    first = (str(error).strip().splitlines() or [""])[0]
    cause = f"{type(error).__name__}: {first}" if first else type(error).__name__
    return problem(request, texts_of(request).gettext(text).format(cause=cause), 500)


def problem(request: Request, text: str, status: int) -> Response:
    """A page with one clear message and the way back."""
    return page(request, "problem.html", {"text": text}, status=status)

"""What every page is made with: texts, templates, forms and where to go next."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache, partial
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from backprobe.errors import BackprobeError, Problem
from backprobe.report import layout
from backprobe.report.guard_words import guard_words
from backprobe.units import Quantity, parse_quantity
from backprobe.web.desk import Desk, Work
from backprobe.web.guard import TOKEN
from backprobe.web.kept import Keeper, Kept, message_of
from backprobe.web.numbers import pointed
from backprobe.web.texts import LANGUAGES, Texts, pick_language, texts
from backprobe.web.unbroken import UNIT, kept_together

STATIC = Path(__file__).parent / "static"
LANGUAGE = "backprobe_language"
UNTOLD = frozenset({("take", "number"), ("take", "line")})
"""Buttons that send what is typed, as the enter key does: they tell nothing more of what was read."""
AGAIN = "again"
"""Name in an address of the form that could not be taken."""
_UNIT_AFTER = re.compile(UNIT)
_POINT = re.compile(r"(?<=\d)\.(?=\d)")


@dataclass(frozen=True, slots=True)
class MenuItem:
    """An entry of a menu.

    Parameters
    ----------
    place
        ``top``, ``tools`` or ``job``.
    label
        Its text, marked by `N_`.
    address
        Where it leads; with ``{name}`` for the job's id in a job's menu.
    order
        Small numbers come first.
    """

    place: str
    label: str
    address: str
    order: int = 50


@dataclass(frozen=True, slots=True)
class Form:
    """A form as it was sent."""

    data: FormData

    def text(self, name: str) -> str:
        """One field, blanks at its ends left out; empty when it is not there."""
        value = self.data.get(name, "")
        return value.strip() if isinstance(value, str) else ""

    def texts(self, name: str) -> list[str]:
        """A field that may be given more than once."""
        return [v.strip() for v in self.data.getlist(name) if isinstance(v, str) and v.strip()]

    def upload(self, name: str) -> tuple[str, bytes] | None:
        """Name and content of an uploaded file; None when there is none."""
        value = self.data.get(name)
        if not isinstance(value, UploadFile) or not value.filename:
            return None
        value.file.seek(0)
        return value.filename, value.file.read()

    def told(self) -> frozenset[tuple[str, str]]:
        """What was filled in, whichever button sends it."""
        items = [(n, v) for n, v in self.data.multi_items() if isinstance(v, str)]
        return frozenset(i for i in items if i not in UNTOLD and i[0] != TOKEN)

    def values(self) -> dict[str, str]:
        """All texts by field, for a form that is shown again."""
        names = [n for n in dict.fromkeys(self.data.keys()) if n != TOKEN]
        return {n: "\n".join(v for v in self.data.getlist(n) if isinstance(v, str)) for n in names}


def form_of(request: Request) -> Form:
    """The form of a POST; the guard has read and checked it."""
    return Form(request.scope["backprobe"].get("form") or FormData())


def sent(request: Request, form: Form) -> None:
    """Whatever else was typed is not thought of any more: a form was sent."""
    if (ahead := request.app.state.ahead) is not None:
        ahead.sent(str(request.path_params["name"]), form.told())


def desk_of(request: Request) -> Desk:
    """The store and the jobs at work."""
    desk: Desk = request.app.state.desk
    return desk


def work_of(request: Request) -> Work:
    """The job of a page whose address has its name.

    Raises
    ------
    JobError
        When there is no such job.
    """
    return desk_of(request).work(str(request.path_params["name"]))


def texts_of(request: Request) -> Texts:
    """Texts in the reader's language."""
    chosen = request.cookies.get(LANGUAGE, "")
    return texts(pick_language(chosen, request.headers.get("accept-language", "")))


def kept_of(request: Request) -> Kept:
    """The form that could not be taken and is shown again; empty on a page seen first."""
    keeper: Keeper = request.app.state.keeper
    return keeper.take(request.query_params.get(AGAIN, ""))


def page(
    request: Request, template: str, values: Mapping[str, Any] | None = None, *, status: int = 200
) -> HTMLResponse:
    """A page from a template, in the reader's language."""
    spoken = texts_of(request)
    about = request.scope["backprobe"]
    common: dict[str, Any] = {
        "path": request.url.path,
        "language": spoken.language,
        "languages": LANGUAGES,
        "form_token": about["token"],
        "is_local": about["local"],
        "menu": request.app.state.menu,
        "now": datetime.now(UTC),
    }
    made = environment(spoken.language).get_template(template).render(common | dict(values or {}))
    return HTMLResponse(
        kept_together(made), status, {"Content-Language": spoken.language, "Vary": "Accept-Language, Cookie"}
    )


def done(address: str) -> Response:
    """Go on to a page after a form was taken, so that a reload sends nothing twice."""
    return RedirectResponse(inside(address), 303)


def back_with(
    request: Request,
    address: str,
    errors: Mapping[str, BackprobeError | str],
    values: Mapping[str, str] | None = None,
) -> Response:
    """Show a form again, with what was typed and what is wrong with it.

    Parameters
    ----------
    address
        The page with the form.
    errors
        Field to what is wrong with it; the field ``""`` is the form as a whole.
    values
        What the fields show instead of what was typed.
    """
    spoken = texts_of(request)
    said = {
        name: "\n".join(spoken.said(line) for line in message_of(error).split("\n"))
        for name, error in errors.items()
    }
    keeper: Keeper = request.app.state.keeper
    number = keeper.keep(Kept(form_of(request).values() if values is None else dict(values), said))
    plain, hash_sign, place = inside(address).partition("#")
    return RedirectResponse(
        f"{plain}{'&' if '?' in plain else '?'}{AGAIN}={number}{hash_sign}{place}", status_code=303
    )


def inside(address: str) -> str:
    """An address of these pages; the first page in place of any other."""
    parts = urlsplit(address)
    ours = address.startswith("/") and not address.startswith(("//", "/\\")) and not parts.netloc
    return address if ours and address.isprintable() else "/"


def parse_number(typed: str, picked: str, *, comma: bool, unit: str | None = None) -> Quantity:
    """A typed number, completed by the unit that was picked beside it where it has none itself.

    Parameters
    ----------
    picked
        Such as ``V``, ``mV`` or ``kohm``; empty when there was nothing to pick.
    comma
        Whether ``4,7`` is read as 4.7.
    unit
        The kind that is asked for.
    """
    typed = pointed(typed, comma=comma)
    if picked:
        joined = f"{typed}{picked}" if typed[-1:] in {"k", "M", "m"} else f"{typed} {picked}"
        try:
            if not parse_quantity(typed, decimal_comma=comma).unit:
                return parse_quantity(joined, unit=unit, decimal_comma=comma)
        except BackprobeError:
            return parse_quantity(typed or joined, unit=unit, decimal_comma=comma)
    return parse_quantity(typed, unit=unit, decimal_comma=comma)


def missing(field: str, message: str, remedy: str) -> BackprobeError:
    """The error of a field that was left empty or does not fit."""
    return BackprobeError(Problem(field, "", message, remedy))


@cache
def asset(name: str) -> str:
    """The address of a file of ``static``, which changes with its content."""
    digest = hashlib.sha256((STATIC / name).read_bytes()).hexdigest()[:10]
    return f"/static/{name}?v={digest}"


def localised(spoken: Texts, text: str) -> str:
    """A printed number as the reader's language writes it, kept on one line with its unit."""
    shown = text.replace(" ", "\u00a0")
    return shown.replace(".", ",") if spoken.decimal_comma else shown


def sentence(spoken: Texts, text: str) -> str:
    """A sentence with numbers in it as the reader's language writes them, each kept with its unit."""
    kept = _UNIT_AFTER.sub("\\1\u00a0", text)
    return _POINT.sub(",", kept) if spoken.decimal_comma else kept


@cache
def environment(language: str) -> Environment:
    """Templates in one language."""
    spoken = texts(language)
    env = Environment(
        loader=PackageLoader("backprobe.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
    )
    env.install_gettext_callables(  # type: ignore[attr-defined]
        spoken.gettext, spoken.ngettext, newstyle=True
    )

    local = partial(localised, spoken)
    env.filters |= {
        "said": spoken.said,
        "local": local,
        "value": lambda number, unit, digits=3: local(layout.quantity(number, unit, digits)),
        "between": lambda ends, unit: local(layout.span(ends[0], ends[1], unit).replace(" to ", " \u2013 ")),
        "percent": lambda share: spoken.said(layout.percent(share)).replace(" ", "\u00a0"),
        "guards": lambda function: spoken.rule(guard_words(function)),
        "clock": layout.clock,
        "minutes": lambda number: layout.minutes(number).replace(" ", "\u00a0"),
    }
    env.globals |= {"asset": asset, "zip": zip}
    return env

"""The phone beside the laptop: a code to scan on the laptop, one tap on the phone."""

from __future__ import annotations

import segno
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.web.frame import MenuItem, back_with, done, form_of, kept_of, page, texts_of
from backprobe.web.guard import PAIRED, cookie
from backprobe.web.texts import N_

MENU = [MenuItem("top", N_("Phone"), "/phone", 40)]
DAY = 24 * 3600


def show(request: Request) -> Response:
    """On the laptop: a fresh code for one phone."""
    serving = request.app.state.serving
    local = request.scope["backprobe"]["local"]
    address, code = "", Markup()
    if serving.address and local:
        address = pair_address(serving.address, serving.pairing.offer())
        code = scan_code(address)
    return page(
        request,
        "phone.html",
        {"address": address, "code": code, "lan": bool(serving.address), "local": local},
    )


def pair_address(address: str, code: str) -> str:
    """What a phone opens to be let in."""
    return f"{address}/pair?code={code}"


def scan_code(address: str) -> Markup:
    """An address as a code to scan, dark on light in every theme."""
    made = segno.make(address, error="m")
    return Markup(
        made.svg_inline(
            scale=6, border=4, dark="#000", light="#fff", omitsize=False, title="Address for the phone"
        )
    )


def ask(request: Request) -> Response:
    """On the phone: one button, so that no preview of a link spends the code."""
    return page(
        request, "pair.html", {"code": request.query_params.get("code", "")[:100], "kept": kept_of(request)}
    )


def pair(request: Request) -> Response:
    """Let the phone in."""
    spoken = texts_of(request)
    pairing = request.app.state.serving.pairing
    code = form_of(request).text("code")
    phone = pairing.admit(code)
    if phone is None:
        text = N_("This code is spent, too old or wrong. Take a new one from the laptop, under Phone.")
        if pairing.slowed:
            text = N_("Too many wrong codes. Wait a minute, then take a new one from the laptop.")
        return back_with(request, "/pair", {"": spoken.gettext(text)})
    response = done("/")
    response.headers.append("Set-Cookie", cookie(PAIRED, phone, lasts=DAY))
    return response


ROUTES = [
    Route("/phone", show),
    Route("/pair", ask),
    Route("/pair", pair, methods=["POST"]),
]

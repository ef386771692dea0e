"""What stands before every page: whom it answers, where a form may come from, what a browser may load.

The laptop answers itself. A phone is answered after pairing; a name in the address that is not ours (DNS
rebinding), a form from another page (cross-site request forgery) and anything that is no form are refused.
"""

from __future__ import annotations

import hashlib
import hmac
import logging
import os
import re
import secrets
from collections.abc import Callable, Collection, MutableMapping
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import urlsplit

from starlette.datastructures import FormData, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from backprobe.web.pairing import Pairing

LOOPBACK = frozenset({"127.0.0.1", "::1", "localhost"})
SESSION = "backprobe"
PAIRED = "backprobe_paired"
TOKEN = "token"
MAX_BODY = 2_000_000
"""Longest form [byte]; a sheet has a few thousand, a log of a recorder some hundred thousand."""
LOG = logging.getLogger("backprobe.web")
DEBUG = "BACKPROBE_DEBUG"
MONTH = 30 * 24 * 3600
OPEN_TO_ALL = ("/static/", "/pair")
"""Addresses that a phone may see before it is paired."""
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    # `no-referrer` would make browsers send `Origin: null` with our own forms.
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}


class Refused(HTTPException):
    """A request that is not answered, with the reason in words."""


@dataclass(slots=True)
class Guard:
    """ASGI middleware.

    Parameters
    ----------
    app
        What answers.
    hosts
        Names in the address that are ours, without a port.
    pairing
        Phones that may come; without it only this machine is answered.
    broken
        Makes the page for what nobody foresaw.
    """

    app: ASGIApp
    broken: Callable[[Request, Exception], Response]
    hosts: Collection[str] = LOOPBACK
    pairing: Pairing = field(default_factory=Pairing)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        request = Request(scope, receive)
        cookies = read_cookies(request.headers.get("cookie", ""))
        session = cookies.get(SESSION, "")
        fresh = not re.fullmatch(r"[\w-]{20,64}", session)
        session = secrets.token_urlsafe(24) if fresh else session
        scope["backprobe"] = {
            "session": session,
            "token": token_of(session),
            "local": is_local(scope) and host_of(request) in LOOPBACK,
        }
        sending = _Sender(send, session if fresh else "")
        try:
            self._admit(request, cookies)
            if request.method == "POST":
                scope["backprobe"]["form"] = await read_form(request, session)
        except Refused as error:
            await self._refuse(error)(scope, receive, sending)
            return
        except ClientDisconnect:
            return
        try:
            await self.app(scope, receive, sending)
        except Exception as error:
            # One line for the one who serves, one page for the one who asked; a traceback only if wanted.
            LOG.error("%s: %s", type(error).__name__, error, exc_info=bool(os.environ.get(DEBUG)))
            if sending.started:
                raise
            await self.broken(request, error)(scope, receive, sending)
        finally:
            # What was uploaded waits in a file of its own.
            if "form" in scope["backprobe"]:
                await scope["backprobe"]["form"].close()

    def _admit(self, request: Request, cookies: MutableMapping[str, str]) -> None:
        if host_of(request) not in self.hosts:
            raise Refused(400, "This address is not served here. Use the one that `backprobe serve` shows.")
        if request.method not in {"GET", "HEAD", "POST"}:
            raise Refused(405, "Only pages and forms are served here.")
        open_to_all = request.url.path.startswith(OPEN_TO_ALL)
        local = request.scope["backprobe"]["local"]
        if not local and not open_to_all and not self.pairing.knows(cookies.get(PAIRED, "")):
            raise Refused(403, "This phone is not paired. Scan the code that the laptop shows under Phone.")

    @staticmethod
    def _refuse(error: Refused) -> Response:
        return PlainTextResponse(f"{error.detail}\n", error.status_code)


@dataclass(slots=True)
class _Sender:
    """Adds the headers that every answer has, and the session of a browser seen first."""

    send: Send
    session: str
    started: bool = False

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.started = True
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("Cache-Control", "no-cache")
            if self.session:
                headers.append("Set-Cookie", cookie(SESSION, self.session))
        await self.send(message)


def cookie(name: str, value: str, *, lasts: int = MONTH) -> str:
    """A cookie that no script reads and no other site sends along [s]."""
    return f"{name}={value}; Path=/; Max-Age={lasts}; HttpOnly; SameSite=Strict"


def read_cookies(header: str) -> dict[str, str]:
    """Cookies by name; none where the browser sends nonsense."""
    try:
        return {k: m.value for k, m in SimpleCookie(header).items()}
    except CookieError:
        return {}


def token_of(session: str) -> str:
    """What our own forms carry along; nobody without the session can know it."""
    return hmac.new(session.encode(), b"form of a page", hashlib.sha256).hexdigest()[:32]


def is_local(scope: Scope) -> bool:
    """Whether the request comes from this machine."""
    client = scope.get("client")
    return client is not None and client[0] in LOOPBACK


def host_of(request: Request) -> str:
    """The name in the address, without port and brackets."""
    try:
        return (urlsplit(f"//{request.headers.get('host', '')}").hostname or "").lower()
    except ValueError:
        return ""


async def read_form(request: Request, session: str) -> FormData:
    """The form of a POST, when it is one of ours.

    Raises
    ------
    Refused
        For a form of another page, without its token, too long, or that is no form.
    """
    headers = request.headers
    here = headers.get("host", "")
    origin = headers.get("origin") or headers.get("referer", "")
    foreign = bool(origin) and urlsplit(origin).netloc != here
    if foreign or headers.get("sec-fetch-site", "same-origin") not in {"same-origin", "none"}:
        raise Refused(403, "This form came from another page, so nothing was done.")
    kind = headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind not in {"application/x-www-form-urlencoded", "multipart/form-data"}:
        raise Refused(415, "Only forms are taken here.")
    length = headers.get("content-length", "")
    if length.isdigit() and int(length) > MAX_BODY:
        raise Refused(413, "That is too long: at most 2 MB.")
    body = b""
    async for chunk in request.stream():
        body += chunk
        if len(body) > MAX_BODY:
            raise Refused(413, "That is too long: at most 2 MB.")
    try:
        form = await Request(request.scope, _Replay(body)).form(max_fields=400, max_part_size=MAX_BODY)
    except (MultiPartException, HTTPException, UnicodeDecodeError, ValueError):
        raise Refused(400, "This form cannot be read. Load the page again.") from None
    good = hmac.compare_digest(str(form.get(TOKEN, "")).encode(), token_of(session).encode())
    if not good:
        await form.close()
        raise Refused(
            403, "This form is too old, so nothing was done. Go back, load the page, send it again."
        )
    return form


@dataclass(slots=True)
class _Replay:
    """Hands out a body that was read already."""

    body: bytes
    given: bool = False

    async def __call__(self) -> MutableMapping[str, Any]:
        if self.given:
            return {"type": "http.disconnect"}
        self.given = True
        return {"type": "http.request", "body": self.body, "more_body": False}

"""The server itself: where it listens, whom it answers, how it stops."""

from __future__ import annotations

import contextlib
import io
import signal
import socket
from types import FrameType

import segno
import uvicorn

from backprobe.errors import BackprobeError, Problem
from backprobe.jobs.store import Store
from backprobe.web.app import Serving, make_app
from backprobe.web.guard import LOOPBACK
from backprobe.web.pages.phone import pair_address

LINGER = 1
"""Seconds that a browser's open request may hold up the stop [s]."""
MOST_REQUESTS = 64
"""Requests at the same time, from all browsers together."""


def listen(port: int, *, lan: bool) -> socket.socket:
    """A socket that listens, on this machine only unless `lan`.

    Raises
    ------
    BackprobeError
        When the port cannot be had.
    """
    try:
        listening = socket.create_server(("0.0.0.0" if lan else "127.0.0.1", port))
    except OSError as error:
        reason = (error.strerror or "cannot be used").lower()
        problem = Problem(
            "--port", str(port), f"cannot be listened on: {reason}", "Give another, or 0 for a free one."
        )
        raise BackprobeError(problem) from None
    # Connections inherit it. Head and body of a page are two writes: without it the second one waits some
    # 40 ms for the browser's acknowledgement of the first (RFC 896 against RFC 1122, section 4.2.3.2).
    listening.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    return listening


def lan_name() -> str:
    """Address of this machine in its network; empty where it has none."""
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        # Nothing is sent: the system only picks the way to an address that is kept for books (RFC 5737).
        probe.connect(("192.0.2.1", 9))
        found = str(probe.getsockname()[0])
        if not found.startswith(("127.", "0.")):
            return found
    return ""


def make_serving(port: int, address: str) -> Serving:
    """How the pages are served.

    Parameters
    ----------
    address
        This machine's address in its network; empty to answer this machine only.
    """
    if not address:
        return Serving(thinks_ahead=True)
    host = socket.gethostname().lower()
    names = {address, host, f"{host.partition('.')[0]}.local"} - {""}
    return Serving(LOOPBACK | names, f"http://{address}:{port}", thinks_ahead=True)


def pairing_text(serving: Serving) -> tuple[str, str]:
    """The address a phone opens, and the same as a code for the terminal; both empty without a network."""
    if not serving.address:
        return "", ""
    address = pair_address(serving.address, serving.pairing.offer())
    drawn = io.StringIO()
    segno.make(address, error="l").terminal(drawn, compact=True)
    return address, drawn.getvalue()


def serve(store: Store, serving: Serving, listening: socket.socket) -> None:
    """Serve until Ctrl-C or the end of the process is asked for."""
    app = make_app(store, serving)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        # Nobody stands between: a header that claims another client is not believed.
        proxy_headers=False,
        lifespan="off",
        limit_concurrency=MOST_REQUESTS,
        timeout_graceful_shutdown=LINGER,
    )
    begun = [line for line in store.jobs() if line.is_open]
    if begun and app.state.ahead is not None:
        # Most likely what somebody goes on with.
        app.state.ahead.think(max(begun, key=lambda line: line.last_at).id)
    before = signal.signal(signal.SIGTERM, _end)
    try:
        uvicorn.Server(config).run(sockets=[listening])
    except (KeyboardInterrupt, _EndError):
        # The server has finished what it was answering before it raised this.
        pass
    finally:
        signal.signal(signal.SIGTERM, before)
        if app.state.ahead is not None:
            app.state.ahead.stop()


class _EndError(Exception):
    """The process was asked to end."""


def _end(number: int, frame: FrameType | None) -> None:
    raise _EndError

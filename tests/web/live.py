"""The pages in a real browser: a server on a free port of this machine, and the system's Chromium."""

from __future__ import annotations

import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn
from playwright.sync_api import Browser, sync_playwright

from backprobe.jobs.store import Store
from backprobe.web.app import make_app

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or ""
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@contextmanager
def served(store: Store) -> Iterator[str]:
    """The pages on a store; gives their address."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    config = uvicorn.Config(
        make_app(store), host="127.0.0.1", port=port, log_level="error", timeout_graceful_shutdown=1
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started and thread.is_alive():
        time.sleep(0.02)
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        server.should_exit = True
        thread.join(5)


@contextmanager
def browsing() -> Iterator[Browser]:
    """The system's Chromium."""
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        try:
            yield browser
        finally:
            browser.close()

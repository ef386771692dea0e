"""The pages served on a free port of this machine."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn

from backprobe.jobs.store import Store
from backprobe.web.app import make_app


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

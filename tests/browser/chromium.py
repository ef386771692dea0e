"""The system's Chromium: where it is, and how it is started."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Browser, sync_playwright

NAMES = ("chromium", "chromium-browser")
MISSING = (
    "the browser tests need Chromium. On Debian: sudo apt install chromium; as root, `make test` installs it."
)
QUIET = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
"""No graphics card is looked for, and nothing is asked of the maker of the browser."""


@contextmanager
def chromium() -> Iterator[Browser]:
    """The browser, started.

    Raises
    ------
    FileNotFoundError
        With what to do, where there is none.
    """
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        raise FileNotFoundError(MISSING)
    # Chromium's own sandbox refuses to start for root.
    args = [*QUIET, "--no-sandbox"] if os.geteuid() == 0 else list(QUIET)
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=found, args=args)
        try:
            yield started
        finally:
            started.close()

"""A small invented job for the tests of the log, the store and the exchange file."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from backprobe.jobs.log import Job
from backprobe.jobs.store import Store

SHEET = "sheet: Straddle sprayer, gate circuit\nsystem: 12 V\n# Kabelschuh grün/gelb 2,5 mm²\n"


def ticking(start: datetime = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)) -> Callable[[], datetime]:
    """Return a clock that moves on by one second at each look."""
    seconds = iter(range(10**9))
    return lambda: start + timedelta(seconds=next(seconds))


def spelling(*ids: str) -> Callable[[str], str]:
    """Return a chooser of letters that spells these ids, one after the other."""
    letters: Iterator[str] = iter("".join(ids))
    return lambda _: next(letters)


def open_job(store: Store, title: str = "boom stays locked") -> Job:
    """Open a job as a mechanic would."""
    return store.create(title, "sprayer 3", "gate.yaml", SHEET, {"complaint": "boom dead, drive works"})


def start_python(code: str, *arguments: str | Path) -> subprocess.Popen[str]:
    """Run code in a second process that can import this package."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    command = [sys.executable, "-c", code, *map(str, arguments)]
    return subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True)

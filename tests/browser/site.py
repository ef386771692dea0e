"""The pages, served in this process on a free port of the loopback, from a store that goes with it."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from random import Random

import uvicorn

from backprobe.demo.show import fill
from backprobe.demo.story import demo_jobs
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.web.app import Serving, make_app
from backprobe.web.serving import listen

BEGUN = datetime(2026, 3, 9, 6, 30, tzinfo=UTC)
"""When the first job of the demo was opened; every entry is some minutes later than the one before."""
PATIENCE = 10.0
"""How long the server may take to start [s]."""


@dataclass(frozen=True, slots=True)
class Site:
    """Pages that are being served.

    Parameters
    ----------
    address
        Such as ``http://127.0.0.1:40123``, without a slash at its end.
    """

    address: str
    store: Store

    def job(self, machine: str) -> str:
        """The address of the demo's job whose machine has these words in its name."""
        found = next(line for line in self.store.jobs() if machine in line.machine)
        return f"/job/{found.id}"


def _begin(store: Store) -> None:
    """Jobs on the sheet of the platform: nothing read yet, half way through, and one to read on."""
    story = demo_jobs()[-1]
    for machine, count_read in (("untouched", 0), ("halfway", 3), ("underway", 3)):
        job = Job.new(store, story.sheet, title="Boom stays locked", machine=f"mast lift P5, {machine}")
        for step in story.steps[:count_read]:
            job.read(step.line)


@contextmanager
def serving(store: Store) -> Iterator[Site]:
    """Serve the jobs of a store."""
    with listen(0, lan=False) as listening:
        port = listening.getsockname()[1]
        config = uvicorn.Config(
            make_app(store, Serving()), log_level="warning", lifespan="off", timeout_graceful_shutdown=1
        )
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        try:
            end = time.monotonic() + PATIENCE
            while not server.started:
                if time.monotonic() > end or not thread.is_alive():
                    raise RuntimeError(f"the server did not start within {PATIENCE:g} s")
                time.sleep(0.01)
            yield Site(f"http://127.0.0.1:{port}", store)
        finally:
            server.should_exit = True
            thread.join(PATIENCE)


@contextmanager
def served(folder: Path, *, demo: bool) -> Iterator[Site]:
    """Serve a new store, the same to the last entry each time it is made.

    Parameters
    ----------
    folder
        Where the store is kept.
    demo
        Whether it has the jobs of the demo, and three that have only begun.
    """
    minutes, random = count(), Random(5)
    with Store.open(
        folder / "jobs.sqlite",
        clock=lambda: BEGUN + timedelta(minutes=4 * next(minutes)),
        choose=random.choice,
    ) as store:
        if demo:
            _begin(store)
            fill(store)
        with serving(store) as found:
            yield found

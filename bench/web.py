"""How long a mechanic waits for the page: a reading is sent as a form, and the answer comes as a page.

The pages are served on a port of this machine, as `backprobe serve` does it, and asked for as a browser does.
"""

from __future__ import annotations

import re
import statistics
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

import httpx2
import uvicorn
from starlette.applications import Starlette

from backprobe.demo.story import Story, demo_jobs
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.readings.lines import context_after, parse_reading
from backprobe.readings.model import Reading
from backprobe.web.ahead import Ahead
from backprobe.web.app import Serving, make_app
from backprobe.web.serving import listen
from bench.figures import Figures, print_table

WANTED = 100.0
"""What a reading should take at most on the demo sheets [ms]."""
ROUNDS = 3
"""How often the jobs are played."""
LONGEST_START = 10.0
"""How long the server may take to start [s]."""
LONGEST_WALK = 30.0
"""Time that a mechanic gives the program between two readings; it is gone on at once when idle [s]."""


def web() -> Figures:
    """Time each reading of the demo jobs from the form that sends it to the page that answers it."""
    rows: list[tuple[str, ...]] = [("from the form to the page", "median ms", "worst ms", "under 100 ms")]
    figures: Figures = {}
    for name, key, how in (
        ("typed, then sent", "typed", How(ahead=True, typed=True)),
        ("after the walk to the machine, without the page's script", "walked", How(ahead=True)),
        ("at once, nothing thought of before", "at_once", How()),
    ):
        rounds = [[_play(story, how) for story in demo_jobs()] for _ in range(ROUNDS)]
        figures |= _row(rows, name, key, [[t for play in one for t in play.sent] for one in rounds])
        if how.typed:
            thought = [[t for play in one for t in play.thought] for one in rounds]
            figures |= _row(rows, "  from its last digit until it was thought of", "thought", thought)
    print_table(f"readings of three demo jobs on the page, best of {ROUNDS}", rows)
    return figures


def _row(rows: list[tuple[str, ...]], name: str, key: str, rounds: list[list[float]]) -> Figures:
    """One row of the table."""
    # Other work on the machine slows single runs: the best of each reading is what it costs.
    times = [min(each) for each in zip(*rounds, strict=True)]
    quick = sum(t < WANTED for t in times)
    rows.append((name, f"{statistics.median(times):.0f}", f"{max(times):.0f}", f"{quick} of {len(times)}"))
    return {f"web_{key}_median_ms": statistics.median(times), f"web_{key}_worst_ms": max(times)}


@dataclass(frozen=True, slots=True)
class How:
    """How a job is played.

    Parameters
    ----------
    ahead
        Whether the program thinks ahead, as `backprobe serve` does.
    typed
        Whether the page tells what is typed before it is sent, as its script does.
    """

    ahead: bool = False
    typed: bool = False


@dataclass(frozen=True, slots=True)
class Play:
    """What each reading of a job took [ms]: from the form to the page, and before, once it was typed."""

    sent: list[float] = field(default_factory=list)
    thought: list[float] = field(default_factory=list)


def _play(story: Story, how: How) -> Play:
    """A job in a store of its own."""
    play = Play()
    with TemporaryDirectory() as folder, Store.open(Path(folder) / "jobs.sqlite") as store:
        app = make_app(store, Serving(thinks_ahead=how.ahead))
        try:
            with _served(app) as address, httpx2.Client(base_url=address, follow_redirects=True) as browser:
                _send_all(_Visit(browser, app.state.ahead), store, story, how, play)
        finally:
            if how.ahead:
                app.state.ahead.stop()
    return play


@contextmanager
def _served(app: Starlette) -> Iterator[str]:
    """Serve on a free port, and give the address."""
    with listen(0, lan=False) as listening:
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning", lifespan="off"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        end = time.monotonic() + LONGEST_START
        while not server.started:
            if time.monotonic() > end:
                raise RuntimeError(f"the server did not start within {LONGEST_START:g} s")
            time.sleep(0.01)
        try:
            yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        finally:
            server.should_exit = True
            thread.join(LONGEST_START)


@dataclass(frozen=True, slots=True)
class _Visit:
    """A browser, and what the program thinks of meanwhile."""

    browser: httpx2.Client
    ahead: Ahead | None

    def wait(self, line: str) -> None:
        """Wait until the program thinks of nothing."""
        if self.ahead is not None and not self.ahead.wait(LONGEST_WALK):
            raise RuntimeError(f"{line}: still thinking after {LONGEST_WALK:g} s")


def _send_all(visit: _Visit, store: Store, story: Story, how: How, play: Play) -> None:
    """Send the readings of a job, each with the page of the job open before it, as a mechanic has it."""
    job = Job.new(
        store, story.sheet, title=story.title, machine=story.machine, circumstances=story.circumstances
    )
    home = f"/job/{job.record.id}"
    readings: list[Reading] = []
    for step in story.steps:
        readings.append(parse_reading(step.line, story.sheet, context_after(readings)))
        setup = readings[-1].setup
        fields: dict[str, str | list[str]] = {f"state:{name}": position for name, position in setup.state}
        fields |= {"plugs": "some" if setup.unplugged else "all", "off": sorted(setup.unplugged)}
        fields |= {"token": _token(visit.browser.get(home).text), "take": "line", "line": step.line}
        visit.wait(step.line)
        if how.typed:
            start = time.perf_counter()
            if visit.browser.post(f"{home}/typed", data=fields).status_code != 204:
                raise RuntimeError(f"{step.line}: not taken as typed")
            visit.wait(step.line)
            play.thought.append(1e3 * (time.perf_counter() - start))
        play.sent.append(_send(visit.browser, f"{home}/reading", fields))


def _send(browser: httpx2.Client, address: str, fields: dict[str, str | list[str]]) -> float:
    """Milliseconds from a form to its page [ms].

    Raises
    ------
    RuntimeError
        When the reading was not taken.
    """
    start = time.perf_counter()
    answer = browser.post(address, data=fields)
    spent = 1e3 * (time.perf_counter() - start)
    if answer.status_code != 200 or "read=" not in str(answer.url):
        raise RuntimeError(f"{fields['line']}: {answer.status_code} {answer.url}")
    return spent


def _token(page: str) -> str:
    found = re.search(r'name="token" value="(\w+)"', page)
    if found is None:
        raise RuntimeError("a page without a form")
    return found[1]

"""How long a mechanic waits for the page: a reading is sent as a form, and the answer comes as a page."""

from __future__ import annotations

import re
import statistics
import time

from starlette.testclient import TestClient

from backprobe.demo.story import Story, demo_jobs
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.readings.lines import context_after, parse_reading
from backprobe.readings.model import Reading
from backprobe.web.app import make_app
from bench.figures import Figures, print_table

HERE = "http://127.0.0.1:8765"
AGAIN = 3
"""How often each reading is taken back and sent again."""


def web() -> Figures:
    """Time each reading of the demo jobs from the form that sends it to the page that answers it."""
    first: list[float] = []
    again: list[float] = []
    with (
        Store.open(":memory:") as store,
        TestClient(make_app(store), base_url=HERE, client=("127.0.0.1", 1)) as client,
    ):
        for story in demo_jobs():
            _play(client, store, story, first, again)
    rows: list[tuple[str, ...]] = [("from the form to the page", "median ms", "worst ms")]
    for name, times in (("a reading", first), ("taken back and read again", again)):
        rows.append((name, f"{statistics.median(times):.0f}", f"{max(times):.0f}"))
    print_table(f"{len(first)} readings of three demo jobs on the page", rows)
    return {
        "web_reading_median_ms": statistics.median(first),
        "web_reading_worst_ms": max(first),
        "web_again_median_ms": statistics.median(again),
        "web_again_worst_ms": max(again),
    }


def _play(client: TestClient, store: Store, story: Story, first: list[float], again: list[float]) -> None:
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
        fields |= {"token": _token(client.get(home).text), "take": "line", "line": step.line}
        first.append(_send(client, f"{home}/reading", fields))
        for _ in range(AGAIN):
            number = str(store.job(job.record.id).readings[-1].number)
            client.post(f"{home}/undo", data={"token": fields["token"], "number": number})
            again.append(_send(client, f"{home}/reading", fields))


def _send(client: TestClient, address: str, fields: dict[str, str | list[str]]) -> float:
    """Milliseconds from a form to its page [ms].

    Raises
    ------
    RuntimeError
        When the reading was not taken.
    """
    start = time.perf_counter()
    answer = client.post(address, data=fields)
    spent = 1e3 * (time.perf_counter() - start)
    if answer.status_code != 200 or "read=" not in str(answer.url):
        raise RuntimeError(f"{fields['line']}: {answer.status_code} {answer.url}")
    return spent


def _token(page: str) -> str:
    found = re.search(r'name="token" value="(\w+)"', page)
    if found is None:
        raise RuntimeError("a page without a form")
    return found[1]

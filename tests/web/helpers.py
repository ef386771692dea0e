"""Drives the pages in process, as a browser on this machine does."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from starlette.testclient import TestClient

from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.sheet.reader import parse_sheet
from backprobe.web.app import Serving, make_app

HERE = "http://127.0.0.1:8765"
SHEET = """\
sheet: Vine trimmer, bar circuit
system: 12 V
controls: {key: [off, on], bar: [up, down]}
runs:
  main: [battery+, fuse F3 5 A, key switch, C4-1, bar switch, C4-2, relay coil K7 88 ohm, frame]
connectors:
  C4: {part: bar switch, minutes: 2, caution: The bar falls when its pin is out.}
functions:
  cutter: {loads: relay K7, guard: bar is down}
cautions: [Cutter bar on the ground before the bar circuit is worked on.]
"""
DEAD = "cutter dead, key on, bar down, all plugged"


def visitor(
    store: Store, *, language: str = "en", address: str = "127.0.0.1", serving: Serving | None = None
) -> TestClient:
    """A browser; by default on this machine."""
    return TestClient(
        make_app(store, serving),
        base_url=HERE,
        client=(address, 50_000),
        headers={"accept-language": language},
        follow_redirects=False,
    )


@contextmanager
def at_work(*lines: str, text: str = SHEET, language: str = "en") -> Iterator[tuple[TestClient, Job]]:
    """A browser and a job with some readings."""
    with Store.open(":memory:") as store:
        job = Job.new(store, parse_sheet(text), title="cutter dead", machine="vine trimmer T2")
        for line in lines:
            job.read(line)
        with visitor(store, language=language) as client:
            yield client, job


def token(client: TestClient, address: str = "/") -> str:
    """The token that this browser's forms carry."""
    found = re.search(r'name="token" value="(\w+)"', client.get(address).text)
    assert found
    return found[1]


def post(client: TestClient, address: str, fields: Mapping[str, Any], **more: Any) -> Any:
    """Send a form with its token, as a browser does from this site."""
    headers = {"origin": HERE} | dict(more.pop("headers", {}))
    return client.post(address, data={"token": token(client), **fields}, headers=headers, **more)


def plain(page: str) -> str:
    """A page without the spans that keep the names of points on one line."""
    bare = re.sub(r'<span class="kept">([^<]*)</span>', r"\1", page)
    return re.sub(r"<span>([^<]*)</span>", r"\1", bare)


def words(page: str) -> str:
    """The text of a page, without its markup."""
    bare = re.sub(r"<(script|style|svg).*?</\1>", " ", plain(page), flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", bare)).split())


def hidden(page: str, name: str) -> str:
    """The value of the first hidden field of that name."""
    found = re.search(rf'<input type="hidden" name="{name}" value="([^"]*)"', page)
    assert found, name
    return html.unescape(found[1])

"""The screens in German: no sentence of the engine stays in English; names of the sheet do."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from starlette.testclient import TestClient

from backprobe.demo.story import demo_jobs
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.readings.points import reachable_points
from backprobe.sheet.model import Sheet
from tests.web.helpers import plain, post, visitor

ENGLISH = re.compile(
    r"\b(the|is|are|of|and|with|when|which|not|this|that|from|to|into|it|has|have|been|before|after|than|then"
    r"|only|what|where|who|does|did|done|there|these|they|between|through|until|because|reads?)\b",
    re.I,
)
"""Function words that no German sentence has."""
TYPED = ("etwa: ", "Maschine: A open", "Vorgeschlagen: ")
"""How texts begin that show what is typed: that is English in any language."""
STORIES = {story.name: story for story in demo_jobs()}
VISITED = {
    "sprayer": (
        "",
        "/suspects",
        "/circuit?part=gate+sensor",
        "/reading",
        "/report",
        "/sanity",
        "/bench",
        "/stand-in",
        "/band",
        "/log",
        "/hearsay",
        "/trial",
    ),
    "dumper": ("", "/suspects", "/circuit"),
    "platform": ("", "/suspects", "/budget"),
}
ASKED = (
    ("sprayer", "/hearsay", {"lines": "new sensor\nunplug C5\nbridge it"}),
    ("sprayer", "/trial", {"claim": "put 220 ohm between C5-3 and C5-2"}),
    ("sprayer", "/stand-in", {"wanted": "gate input|shut"}),
    ("sprayer", "/budget", {"capacity": "80"}),
    ("dumper", "/trial", {"claim": "join C7-1 C7-2", "time": "good"}),
    ("", "/band", {"sweep": "3.1: open\n4.6: shut\n6.8: code"}),
    ("", "/wire", {"amps": "7.2", "length": "3.4", "size": "1.5"}),
    ("", "/temperature", {"ohms": "21.4", "celsius": "64"}),
    ("", "/sanity", {"text": "68 F is 30 C\n5 V and 2 A trip below 40 ohm"}),
    ("", "/pin-out", {"side": "part", "readings": "A+ B- 2.41 V"}),
)
OTHERS = ("/", "/tools", "/phone", "/sketch", "/pin-out", "/nowhere", "/job/zzzzz")
Site = tuple[TestClient, dict[str, Job]]


class Seen(HTMLParser):
    """Everything of a page that is read or read out, without what is to be typed or pasted."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.texts: list[str] = []
        self._open: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.texts += [value for name, value in attrs if name in {"aria-label", "title"} and value]
        # What is typed is English in any language, and says so.
        self._open.append("pre" if tag == "button" and ("lang", "en") in attrs else tag)

    def handle_endtag(self, tag: str) -> None:
        if tag == "button" and "pre" in self._open and tag not in self._open:
            tag = "pre"
        if tag in self._open:
            while self._open.pop() != tag:
                pass

    def handle_data(self, data: str) -> None:
        # A text of a drawing is broken into lines, so that half a name of a part stands in one.
        if data.strip() and not {"script", "style", "pre", "option", "text"} & set(self._open):
            self.texts.append(" ".join(data.split()))


def names_of(sheet: Sheet) -> set[str]:
    """What the sheet calls its things, and what it says itself."""
    found = {sheet.name, *sheet.cautions, *sheet.parts, *sheet.controls, *sheet.functions, *sheet.runs}
    found |= {p.name for p in reachable_points(sheet)}
    found |= {c.caution for c in sheet.connectors.values() if c.caution}
    # What a caution of the sheet is headed by is its first clause.
    found |= {re.split("[:;,] ", c)[0] for c in found if c in sheet.cautions}
    return found | {f"{name} {end}" for name in sheet.parts for end in ("lug", "wire")}


NAMES = sorted(
    set().union(*(names_of(s.sheet) | {s.title, s.machine} for s in STORIES.values()))
    | {"template", "charging-and-ground", "clean the plug", "bridge it"},
    key=len,
    reverse=True,
)


def english(page: str) -> list[str]:
    """Texts with an English function word in them that no name of a sheet explains."""
    found = []
    for text in Seen(plain(page)).texts:
        bare = text
        for name in NAMES:
            bare = bare.replace(name, "\u00a7") if " " in name or "-" in name else bare
        if ENGLISH.search(bare) and not text.startswith(TYPED):
            found.append(text)
    return found


@pytest.fixture(scope="module")
def site() -> Iterator[Site]:
    """The jobs of the demo, their readings taken, in a German browser."""
    with Store.open(":memory:") as store:
        jobs: dict[str, Job] = {}
        for name, story in STORIES.items():
            jobs[name] = Job.new(
                store,
                story.sheet,
                title=story.title,
                machine=story.machine,
                circumstances=story.circumstances,
            )
            for step in story.steps:
                jobs[name].read(step.line)
        with visitor(store, language="de") as client:
            yield client, jobs


@pytest.mark.parametrize(("name", "page"), [(n, p) for n, pages in VISITED.items() for p in pages])
def test_screens_of_a_job_are_german(site: Site, name: str, page: str) -> None:
    client, jobs = site
    answer = client.get(f"/job/{jobs[name].record.id}{page}")
    assert answer.status_code == 200
    assert english(answer.text) == []


@pytest.mark.parametrize("address", OTHERS)
def test_other_screens_are_german(site: Site, address: str) -> None:
    assert english(site[0].get(address).text) == []


@pytest.mark.parametrize(("name", "page", "typed"), ASKED)
def test_answers_are_german(site: Site, name: str, page: str, typed: dict[str, str]) -> None:
    client, jobs = site
    address = f"/job/{jobs[name].record.id}{page}" if name else page
    answer = post(client, address, typed)
    assert answer.status_code == 303
    text = client.get(answer.headers["location"]).text
    assert 'id="answer"' in text
    # What was typed is shown as it was typed.
    quoted = [line for value in typed.values() for line in value.split("\n")]
    assert [t for t in english(text) if not any(q in t for q in quoted)] == []


def test_before_any_reading_a_job_is_german_too() -> None:
    story = STORIES["platform"]
    with Store.open(":memory:") as store, visitor(store, language="de") as client:
        job = Job.new(store, story.sheet, title=story.title, machine=story.machine)
        assert english(client.get(f"/job/{job.record.id}").text) == []
        job.read(story.steps[0].line)
        for page in ("", "/suspects"):
            assert english(client.get(f"/job/{job.record.id}{page}").text) == []


def test_what_is_looked_for_is_found() -> None:
    assert english("<p>Key off, then unplug: there is a wire.</p>") != []
    assert english("<p>Rot an wire C3-2 to ring G5, Schwarz an battery-</p>") == []

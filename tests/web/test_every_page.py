"""What holds for every page: policy, labels, landmarks, languages, nothing from outside."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from starlette.routing import Route
from starlette.testclient import TestClient

from backprobe.jobs.job import Job
from backprobe.web.app import found_pages
from backprobe.web.desk import Work
from backprobe.web.frame import STATIC
from tests.web.helpers import DEAD, at_work

ADDRESSES = sorted(
    {
        route.path
        for route in found_pages()[0]
        if isinstance(route, Route)
        and "GET" in (route.methods or ())
        and set(re.findall(r"\{(\w+)", route.path)) <= {"name"}
    }
)
FIELDS = {"input", "select", "textarea"}
VOID = {"input", "meta", "link", "br", "img", "hr", "path", "rect", "circle", "line", "use", "col", "wbr"}


class Page(HTMLParser):
    """Collects what the rules below look at."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.labelled: set[str] = set()
        self.unnamed: list[str] = []
        self._open: list[str] = []
        self.feed(text)
        self.unnamed = [n for n in self.unnamed if n not in self.labelled]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {k: v or "" for k, v in attrs}
        self.tags.append((tag, found))
        if tag == "label" and "for" in found:
            self.labelled.add(found["for"])
        hidden = found.get("type") == "hidden"
        if tag in FIELDS and not hidden and "label" not in self._open and "aria-label" not in found:
            self.unnamed.append(found.get("id", found.get("name", "?")))
        if tag not in VOID:
            self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag in self._open:
            while self._open.pop() != tag:
                pass

    def all(self, tag: str) -> list[dict[str, str]]:
        return [attributes for name, attributes in self.tags if name == tag]


@pytest.fixture(scope="module")
def work() -> Iterator[tuple[TestClient, Job]]:
    with at_work(DEAD, "C4-1 to battery-: 12.2 V") as found:
        yield found


@pytest.fixture(params=ADDRESSES, scope="module")
def page(request: pytest.FixtureRequest, work: tuple[TestClient, Job]) -> tuple[str, Page]:
    client, job = work
    answer = client.get(request.param.replace("{name}", job.record.id))
    assert answer.status_code in {200, 303}, request.param
    while answer.status_code == 303:
        answer = client.get(answer.headers["location"])
    return answer.text, Page(answer.text)


def test_pages_are_found_by_being_there() -> None:
    assert {
        "/",
        "/phone",
        "/pair",
        "/tools",
        "/job/{name}",
        "/job/{name}/suspects",
        "/job/{name}/reading",
    } <= set(ADDRESSES)


def test_nothing_inline_that_the_policy_forbids(page: tuple[str, Page]) -> None:
    text, parsed = page
    assert "<style" not in text
    for _, attributes in parsed.tags:
        assert "style" not in attributes
        assert not [a for a in attributes if a.startswith("on")]
    assert all(s.get("src", "").startswith("/static/") for s in parsed.all("script"))


def test_nothing_comes_from_outside(page: tuple[str, Page]) -> None:
    for _, attributes in page[1].tags:
        for name in ("src", "href", "action", "srcset"):
            assert not attributes.get(name, "").startswith(("http:", "https:", "//"))


def test_every_field_has_a_label(page: tuple[str, Page]) -> None:
    assert page[1].unnamed == []


def test_every_form_that_changes_something_has_its_token(page: tuple[str, Page]) -> None:
    text, _ = page
    for form in re.findall(r'<form[^>]*method="post".*?</form>', text, re.S):
        assert 'name="token"' in form


def test_ids_are_used_once(page: tuple[str, Page]) -> None:
    ids = [attributes["id"] for _, attributes in page[1].tags if "id" in attributes]
    assert len(ids) == len(set(ids))
    for _, attributes in page[1].tags:
        for name in ("aria-labelledby", "aria-describedby"):
            assert set(attributes.get(name, "").split()) <= set(ids)


def test_headings_and_landmarks_are_complete(page: tuple[str, Page]) -> None:
    _, parsed = page
    assert len(parsed.all("h1")) == 1
    assert len(parsed.all("main")) == 1
    assert parsed.all("html")[0]["lang"] == "en"
    assert all(n.get("aria-label") for n in parsed.all("nav"))
    assert parsed.all("a")[0]["href"] == "#main"
    assert any(a.get("aria-live") for _, a in parsed.tags)
    assert "<title> ·" not in page[0]


def test_unknown_addresses_have_a_page_too() -> None:
    with at_work() as (client, _):
        answer = client.get("/nothing/here")
        assert answer.status_code == 404
        assert "There is no such page." in answer.text


def test_what_nobody_foresaw_is_a_page_and_no_traceback(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    with at_work(DEAD) as (client, job):

        def breaks(self: Work) -> None:
            raise ZeroDivisionError("secret of the inside")

        monkeypatch.setattr(Work, "answer", breaks)
        answer = client.get(f"/job/{job.record.id}")
        assert answer.status_code == 500
        assert "Something went wrong inside backprobe" in answer.text
        assert "Traceback" not in answer.text
        assert "content-security-policy" in answer.headers
        assert "Traceback" not in caplog.text
        assert client.get("/").status_code == 200


def test_files_of_the_pages_may_be_kept_by_their_content() -> None:
    with at_work() as (client, _):
        address = re.search(r'href="(/static/page\.css\?v=\w+)"', client.get("/").text)
        assert address
        assert "immutable" in client.get(address[1]).headers["cache-control"]
        assert client.get("/static/../app.py").status_code == 404
        assert client.get("/static/%2e%2e/app.py").status_code == 404


def test_no_file_of_the_pages_names_an_outside_address() -> None:
    for path in STATIC.iterdir():
        found = re.findall(r"https?://[^\s\"')]+", path.read_text(encoding="utf-8"))
        assert set(found) <= {"http://www.w3.org/2000/svg"}, path.name

"""A real browser for the tests of pages: the Chromium of the system, with its network cut."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.chromium import chromium
from tests.browser.site import Site, served


@dataclass
class Watched:
    """A page with everything that it said or asked for."""

    page: Page
    said: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def outside(self, site: Site) -> list[str]:
        """Addresses that were asked for and are not the site's."""
        return [url for url in self.asked if not url.startswith((site.address + "/", "data:", "blob:"))]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for all tests; without Chromium they fail with what to do."""
    with ExitStack() as stack:
        try:
            started = stack.enter_context(chromium())
        except FileNotFoundError as error:
            pytest.fail(str(error), pytrace=False)
        yield started


@contextmanager
def watching(browser: Browser, *, script: bool = True, width: int = 360) -> Iterator[Watched]:
    """A page of a phone that reaches the loopback; what it warns of and asks for is kept."""
    context = browser.new_context(
        viewport={"width": width, "height": 740},
        has_touch=True,
        is_mobile=width < 600,
        java_script_enabled=script,
        reduced_motion="reduce",
        locale="en-GB",
    )
    context.set_default_timeout(15_000)
    watched = Watched(context.new_page())
    bad = {"error", "warning", "assert"}
    watched.page.on("console", lambda m: watched.said.append(m.text) if m.type in bad else None)
    watched.page.on("pageerror", lambda error: watched.said.append(str(error)))
    watched.page.on("request", lambda request: watched.asked.append(request.url))
    yield watched
    context.close()


@pytest.fixture(scope="session")
def site(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """The pages with the jobs of the demo, to look at; who writes to a job takes its own site."""
    with served(tmp_path_factory.mktemp("site"), demo=True) as found:
        yield found


@pytest.fixture
def phone(browser: Browser) -> Iterator[Watched]:
    """A page of a phone, 360 px wide, without a network."""
    context = browser.new_context(viewport={"width": 360, "height": 740}, offline=True, has_touch=True)
    watched = Watched(context.new_page())
    watched.page.on("console", lambda message: watched.said.append(message.text))
    watched.page.on("pageerror", lambda error: watched.said.append(str(error)))
    watched.page.on("request", lambda request: watched.asked.append(request.url))
    yield watched
    context.close()


def open_file(watched: Watched, path: Path) -> Page:
    """Open a page from disk."""
    watched.page.goto(path.as_uri())
    return watched.page

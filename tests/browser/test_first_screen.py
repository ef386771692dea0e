"""The next check on the first screen of a phone: cautions, leads, setup, field and button, unscrolled."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from backprobe.demo.story import NAMES, demo_jobs
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.web.frame import LANGUAGE
from tests.browser.conftest import watching
from tests.browser.site import Site, serving

TALL = 740
"""Height of the phone's page [px]."""
NEEDED = (
    "#check",
    "#read .leads dt >> nth=0",
    "#read .leads dt >> nth=1",
    "#read .leads .dial >> nth=0",
    "#read .setup",
    "#read [name=value]",
    "#read button[name=take][value=number]",
)
"""What a mechanic needs to make the reading and to enter it."""


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    with Store.open(tmp_path_factory.mktemp("shop") / "jobs.sqlite") as store, serving(store) as found:
        yield found


def bottom(page: Page, selector: str) -> float:
    """Where something ends on the page [px]."""
    box = page.locator(selector).bounding_box()
    assert box is not None, selector
    return box["y"] + box["height"]


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("name", NAMES)
def test_all_that_a_check_needs_is_on_the_first_screen(
    name: str, language: str, browser: Browser, shop: Site
) -> None:
    story = next(s for s in demo_jobs() if s.name == name)
    job = Job.new(shop.store, story.sheet, title=story.title, machine=story.machine)
    seen = 0
    with watching(browser) as watched:
        page = watched.page
        page.context.add_cookies([{"name": LANGUAGE, "value": language, "url": shop.address}])
        for step in story.steps:
            entry = job.read(step.line)
            for address in ("", f"?read={entry.number}", "?check=3#read"):
                page.goto(f"{shop.address}/job/{job.record.id}{address}")
                # A check that is picked from the others is jumped to.
                # Where repairing is the better step it comes first; where it is only allowed it is one line.
                if not page.locator("main h1#check").count() or page.locator("main > div > .lead").count():
                    continue
                if not page.locator("#read [name=value]").count():
                    assert bottom(page, "#read button[name=shows] >> nth=0") <= TALL
                    continue
                seen += 1
                for selector in NEEDED:
                    assert bottom(page, selector) <= TALL, (step.line, address, selector)
                warned(page)
    assert seen >= 2


def warned(page: Page) -> None:
    """Every caution has at least its headline above the leads, in one line, and all of it after one tap."""
    leads = page.locator("#read .leads").bounding_box()
    assert leads is not None
    heads = page.locator("#read .caution.brief .cut > span")
    for head in heads.all():
        box = head.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= leads["y"]
        assert box["height"] < 30
    if heads.count():
        page.locator("#read .caution.brief > summary").tap()
        told = page.locator("#read .caution.brief > p")
        assert told.count() == heads.count()
        assert all(t.is_visible() for t in told.all())

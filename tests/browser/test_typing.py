"""What is typed beside the machine is told to the laptop before it is sent; it is stored only then."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Response

from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.sheet.reader import parse_sheet
from tests.browser.conftest import watching
from tests.browser.hand import Hand
from tests.browser.site import Site, serving
from tests.jobs.test_repairs import READ, SHEET


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    with Store.open(tmp_path_factory.mktemp("typing") / "jobs.sqlite") as store, serving(store) as found:
        yield found


def told(response: Response) -> bool:
    return response.url.endswith("/typed") and response.status == 204


def test_a_number_is_told_once_it_is_typed_and_stored_once_it_is_sent(browser: Browser, shop: Site) -> None:
    job = Job.new(shop.store, parse_sheet(SHEET), title="will not crank")
    job.read(READ[0])
    with watching(browser) as watched:
        page = watched.page
        page.goto(f"{shop.address}/job/{job.record.id}")
        with page.expect_response(told) as response:
            page.locator("#value").press_sequentially("12.5", delay=20)
        # One telling for all that was typed in one go, with the number as it stands.
        assert "value=12.5" in (response.value.request.post_data or "")
        assert [url.endswith("/typed") for url in watched.asked].count(True) == 1
        assert len(Job.open(shop.store, job.record.id).entries) == 1
        with page.expect_response(lambda r: "read=" in r.url and r.status == 200):
            page.locator("#value").press("Enter")
        page.locator("#last").wait_for()
        assert len(Job.open(shop.store, job.record.id).entries) == 2
        assert watched.said == []
        assert watched.outside(shop) == []


def test_keys_beside_the_field_are_told_too(browser: Browser, shop: Site) -> None:
    job = Job.new(shop.store, parse_sheet(SHEET), title="will not crank")
    job.read(READ[0])
    with watching(browser) as watched:
        page, hand = watched.page, Hand(watched.page)
        page.goto(f"{shop.address}/job/{job.record.id}")
        with page.expect_response(told):
            page.locator("#value").fill("12.5")
        with page.expect_response(told) as response:
            hand.tap(page.locator("[data-keys=value] [data-before]").first)
        assert "value=about+12.5" in (response.value.request.post_data or "")

"""A job on a phone after a reading: the next check in sight, nothing cut off, one row of menu."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.sheet.reader import parse_sheet
from backprobe.web.frame import LANGUAGE
from tests.browser.conftest import Watched, watching
from tests.browser.hand import Hand
from tests.browser.site import Site, serving
from tests.jobs.test_repairs import READ, SHEET

TALL = 740
"""Height of the phone's page [px]."""
SMALLEST = 12.0
"""Letters that can be read at arm's length [px]."""


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    with Store.open(tmp_path_factory.mktemp("shop") / "jobs.sqlite") as store, serving(store) as found:
        yield found


@pytest.fixture(params=[True, False], ids=["script", "no script"])
def seen(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Watched]:
    with watching(browser, script=request.param) as found:
        yield found
        assert found.said == []


def begun(shop: Site, *lines: str) -> str:
    job = Job.new(shop.store, parse_sheet(SHEET), title="will not crank")
    for line in lines:
        job.read(line)
    return f"{shop.address}/job/{job.record.id}"


def test_the_next_check_is_in_sight_after_a_reading(seen: Watched, shop: Site) -> None:
    page, hand = seen.page, Hand(seen.page)
    page.goto(begun(shop, READ[0]))
    page.locator("#value").fill("12.5")
    with page.expect_response(lambda r: "read=" in r.url and r.status == 200):
        hand.tap(page.locator('#read button[value="number"]'))
    page.locator("#last").wait_for()
    box = page.locator("#check").bounding_box()
    assert box is not None
    assert box["y"] + box["height"] < TALL
    assert not page.locator("text=What the last reading could have shown >> xpath=.. >> svg").is_visible()


@pytest.mark.parametrize("lines", [READ[:1], READ[:2]], ids=["first check", "second check"])
def test_the_leads_are_on_the_first_screen(browser: Browser, shop: Site, lines: tuple[str, ...]) -> None:
    with watching(browser) as watched:
        page = watched.page
        page.goto(begun(shop, *lines))
        box = page.locator(".leads").bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= TALL
        # A caution stands above them, in full or folded, and none is gone.
        assert page.locator("#read .caution").first.bounding_box()["y"] < box["y"]  # type: ignore[index]
        assert "small wire off the starter" in (page.locator("#read").text_content() or "")


@pytest.mark.parametrize("where", ["", "/suspects", "/circuit", "/reading", "/report", "/trial"])
@pytest.mark.parametrize("language", ["en", "de"])
def test_the_tabs_stand_in_one_row_of_one_line(
    browser: Browser, shop: Site, where: str, language: str
) -> None:
    with watching(browser) as watched:
        page = watched.page
        address = begun(shop, READ[0])
        page.context.add_cookies([{"name": LANGUAGE, "value": language, "url": shop.address}])
        page.goto(address + where)
        tabs = page.locator(".compact > li")
        boxes = [b for b in (t.bounding_box() for t in tabs.all()) if b is not None]
        assert len(boxes) == 5
        assert {round(b["y"]) for b in boxes} == {round(boxes[0]["y"])}
        assert max(b["height"] for b in boxes) <= 50
        assert max(b["x"] + b["width"] for b in boxes) <= 360


def test_the_drawing_of_the_report_is_whole_on_a_phone(browser: Browser, shop: Site) -> None:
    with watching(browser) as watched:
        page = watched.page
        page.goto(begun(shop, *READ) + "/report")
        box = page.locator("svg.circuit").bounding_box()
        assert box is not None
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= 360


def test_the_menu_of_a_job_is_one_row_and_more_opens(seen: Watched, shop: Site) -> None:
    page, hand = seen.page, Hand(seen.page)
    page.goto(begun(shop, READ[0]))
    row = page.locator(".compact").bounding_box()
    assert row is not None
    assert row["height"] <= 60
    assert row["x"] + row["width"] <= 360
    link = page.locator('.compact a[href$="/report"]')
    assert not link.is_visible()
    hand.tap(page.locator(".more > summary"))
    hand.tap(link)
    page.wait_for_url("**/report")
    assert "Report" in page.locator(".more > summary").inner_text()


@pytest.mark.parametrize("where", ["/suspects", "/report"])
def test_no_table_is_cut_off(seen: Watched, shop: Site, where: str) -> None:
    page = seen.page
    page.goto(begun(shop, *READ) + where)
    for summary in page.locator("main summary").all():
        summary.tap()
    tables = page.locator(".stacks")
    assert tables.count() > 0
    for table in tables.all():
        wide, box = table.evaluate("e => [e.scrollWidth, e.clientWidth]")
        assert wide <= box
        inside = table.evaluate(
            "e => Math.max(...[...e.querySelectorAll('td')].map(t => t.getBoundingClientRect().right))"
        )
        assert inside <= 360
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


def test_the_drawing_opens_at_the_suspect_in_letters_that_can_be_read(browser: Browser, shop: Site) -> None:
    with watching(browser) as watched:
        page = watched.page
        page.goto(begun(shop, *READ) + "/circuit")
        page.locator(".drawing.live").wait_for()
        view, first = (
            page.locator(".drawing-view").bounding_box(),
            page.locator(".suspect").first.bounding_box(),
        )
        assert view is not None
        assert first is not None
        assert view["x"] <= first["x"] + first["width"] / 2 <= view["x"] + view["width"]
        sizes = page.locator("svg.circuit text").evaluate_all(
            "all => all.map(t => parseFloat(getComputedStyle(t).fontSize) * t.getCTM().a)"
        )
        assert min(sizes) >= SMALLEST


def test_a_repair_is_told_tried_and_closed_by_thumb(
    seen: Watched, shop: Site, request: pytest.FixtureRequest
) -> None:
    page, hand = seen.page, Hand(seen.page)
    scripted = "no script" not in request.node.name
    address = begun(shop, *READ)
    page.goto(address)
    for button in ("I have repaired this", "It works", "All tried: close the job"):
        name = page.get_by_role("button", name=button, exact=True)
        if button.startswith("All"):
            boxes = page.locator("form.tries input[type=checkbox]")
            for box in boxes.all()[1:]:
                hand.tap(box)
            if scripted:
                assert name.is_disabled()
            else:
                # Without a script the server says what is missing, and keeps what was ticked.
                hand.tap(name)
                page.locator("#wrong", has_text="1 of 6 on the list is not ticked").wait_for()
            hand.tap(boxes.first)
            assert name.is_enabled()
        hand.tap(name)
        name.wait_for(state="detached")
    assert "This job is closed" in page.locator("main").inner_text()
    page.goto(shop.address)
    assert "repaired and tried" in page.locator("main").inner_text()

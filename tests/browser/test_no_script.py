"""Every form works with JavaScript off: it is sent, answered and taken back as plain pages."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page

from tests.browser.conftest import watching
from tests.browser.site import Site, served


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """The jobs of the demo, to write to."""
    with served(tmp_path, demo=True) as found:
        yield found


@pytest.fixture
def page(browser: Browser, site: Site) -> Iterator[Page]:
    """A phone that runs no script."""
    with watching(browser, script=False) as watched:
        watched.page.goto(site.address)
        yield watched.page
        assert watched.said == []
        assert watched.outside(site) == []


def send(page: Page, button: Locator) -> None:
    """Press a button; the whole page is answered."""
    with page.expect_navigation():
        button.click()


def press(page: Page, name: str) -> None:
    """Press the first button of that name."""
    send(page, page.get_by_role("button", name=name, exact=True).first)


def test_a_job_from_its_first_form_to_a_reading_taken_back(page: Page) -> None:
    page.locator('[name="run"]').fill("battery+ > fuse F2 7.5 A > key > bar switch > relay coil K4 > frame")
    press(page, "Start the job")
    assert page.get_by_role("heading", name="What is dead?").count() == 1
    press(page, "That is the complaint")
    said = page.locator("[data-say]").inner_text()
    assert page.locator('#read input[name="where"]').count() == 1

    with page.expect_navigation():
        page.get_by_role("link", name="Read something else").click()
    page.locator('[name="red"]').select_option("after key switch")
    page.locator('[name="value"]').fill("12.3")
    press(page, "Take the number")
    assert page.locator("#last").count() == 1
    assert page.locator("[data-say]").inner_text() != said
    press(page, "Wrong? Take it back")
    assert page.locator("[data-say]").inner_text() == said


def test_the_next_check_is_answered_and_a_point_is_out_of_reach(page: Page, site: Site) -> None:
    page.goto(site.address + site.job("halfway"))
    page.locator('#read [name="value"]').fill("10.2")
    press(page, "Take the reading")
    assert "10.2" in page.locator("#last").inner_text()
    reach = page.locator('button[name="point"]').first
    gone = reach.get_attribute("value") or ""
    send(page, reach)
    assert f"Out of reach on this machine: {gone}" in page.locator("main").inner_text()
    page.locator('#read [name="value"]').fill("4.7 cats")
    press(page, "Take the reading")
    assert page.locator('#read [name="value"]').input_value() == "4.7 cats"
    assert page.locator("#value-wrong").count() == 1


def test_a_sketch_grows_and_becomes_a_job(page: Page) -> None:
    with page.expect_navigation():
        page.get_by_role("link", name="Sketch", exact=True).click()
    for name in ("Fuse", "Seat switch", "Relay coil", "Frame (ground)"):
        send(page, page.locator("#next").get_by_role("button", name=name, exact=True).first)
    assert page.locator('svg.circuit [data-part="seat switch"]').count() == 1
    press(page, "Start the job")
    assert page.locator("[data-say]").inner_text()


def test_a_calculation_is_asked_and_the_language_changed(page: Page, site: Site) -> None:
    page.goto(f"{site.address}/wire")
    for name, value in {"amps": "7.2", "length": "3.4", "size": "1.5"}.items():
        page.locator(f'main [name="{name}"]').fill(value)
    press(page, "Work it out")
    # 3.4 m of 1.5 mm2: 13.3 mohm/m at 20 C (IEC 60228, class 5) [mem], so 45.2 mohm and 0.326 V at 7.2 A.
    assert "0.33\u00a0V" in page.locator("#answer").inner_text()
    press(page, "Deutsch")
    assert page.locator("html").get_attribute("lang") == "de"
    page.goto(f"{site.address}/wire")
    page.locator('main [name="amps"]').fill("7,2")
    page.locator('main [name="length"]').fill("3,4")
    page.locator('main [name="size"]').fill("1,5")
    send(page, page.locator("main form button:not([type=button])").first)
    assert "0,33\u00a0V" in page.locator("#answer").inner_text()


def test_the_drawing_is_a_picture_that_scrolls(page: Page, site: Site) -> None:
    page.goto(f"{site.address}{site.job('sprayer')}/circuit")
    view = page.locator(".drawing-view")
    assert view.locator("svg.circuit").count() == 1
    assert view.evaluate("e => getComputedStyle(e).overflowX") == "auto"
    with page.expect_navigation():
        page.locator(".names a").first.click()
    assert page.locator("#part .fault").count() > 0

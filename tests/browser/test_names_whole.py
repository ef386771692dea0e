"""No name of a point is torn at its hyphen, and none has lost a blank beside it."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from tests.browser.conftest import watching
from tests.browser.screens import SCREENS
from tests.browser.site import Site

TORN = """() => [...document.querySelectorAll('.kept')]
  .filter(e => e.checkVisibility() && e.getClientRects().length > 1).map(e => e.textContent)"""
SHOWN = ("next-number", "suspects-dumper", "hearsay", "report", "plan-template", "stand-in")


@pytest.mark.parametrize("name", SHOWN)
@pytest.mark.parametrize("width", [360, 343, 390])
def test_no_name_is_torn(name: str, width: int, browser: Browser, site: Site) -> None:
    screen = next(s for s in SCREENS if s.name == name)
    with watching(browser, width=width) as watched:
        screen.open(watched.page, site)
        assert watched.page.locator(".kept").count() > 2
        assert watched.page.evaluate(TORN) == []


def test_without_the_rule_names_are_torn(browser: Browser, site: Site) -> None:
    with watching(browser) as watched:
        for name in SHOWN:
            next(s for s in SCREENS if s.name == name).open(watched.page, site)
            watched.page.evaluate(
                "document.querySelectorAll('.kept').forEach(e => { e.style.whiteSpace = 'normal'; })"
            )
            if watched.page.evaluate(TORN):
                return
    pytest.fail("nothing here would be torn: the test above proves nothing")


def test_a_button_keeps_its_blanks(browser: Browser, site: Site) -> None:
    with watching(browser) as watched:
        watched.page.goto(site.address + site.job("halfway"))
        assert watched.page.locator('button[name="point"]').first.inner_text() == "Cannot reach C3-2"

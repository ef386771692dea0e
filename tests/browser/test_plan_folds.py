"""A plan on a phone: its branches are folded, each opens by a tap, and on a laptop all of it is there."""

from __future__ import annotations

from playwright.sync_api import Browser

from tests.browser.conftest import watching
from tests.browser.screens import SCREENS
from tests.browser.site import Site

PLAN = next(s for s in SCREENS if s.name == "plan-template")
SCREENFULS = 1.5
"""Most that a folded plan takes of a phone's screen."""


def test_the_branches_of_a_plan_open_by_a_tap(browser: Browser, site: Site) -> None:
    with watching(browser, script=False) as watched:
        page = watched.page
        PLAN.open(page, site, unfolded=False)
        plan = page.locator(".plan")
        box = plan.bounding_box()
        assert box is not None
        assert box["height"] < SCREENFULS * 740
        first = plan.locator(".branch").first
        inner = first.locator("li").first
        assert not inner.is_visible()
        first.locator("> summary").tap()
        assert inner.is_visible()
        end = first.locator(".brief > summary").first
        closed = end.bounding_box()
        end.tap()
        opened = end.bounding_box()
        assert closed is not None
        assert opened is not None
        assert closed["height"] <= 50 < opened["height"]


def test_a_plan_is_whole_on_a_laptop(browser: Browser, site: Site) -> None:
    with watching(browser, width=1280) as watched:
        PLAN.open(watched.page, site, unfolded=False)
        ends = watched.page.locator(".plan li")
        assert ends.count() > 6
        assert all(e.is_visible() for e in ends.all())

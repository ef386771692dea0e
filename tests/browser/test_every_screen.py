"""Every screen as a phone and a laptop show it, in light and dark, with all that is folded opened."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

import pytest
from axe_playwright_python.base import AXE_SCRIPT  # type: ignore[import-untyped]
from playwright.sync_api import Browser, Page
from starlette.routing import Route

from backprobe.web.app import found_pages
from tests.browser.conftest import Watched, watching
from tests.browser.screens import SCREENS, Screen
from tests.browser.site import Site

PHONE, LAPTOP = 360, 1280
TARGET = 48
"""Least width and height of what is tapped [px]."""
CONTRAST = "color-contrast-enhanced"
"""Contrast of 7:1, success criterion 1.4.6 of WCAG 2.2; the rule for 4.5:1 asks less of the same."""
WHOLE = {
    "rules": {
        CONTRAST: {"enabled": True},
        "color-contrast": {"enabled": False},
        "target-size": {"enabled": True},
    }
}
BY_COLOUR = {"runOnly": {"type": "rule", "values": [CONTRAST]}}
BY_WIDTH = {"runOnly": {"type": "rule", "values": [CONTRAST, "target-size", "scrollable-region-focusable"]}}
"""Rules whose answer changes with colours and with the width; all others are asked once."""

SMALL = """least => {
  const tapped = 'button, summary, select, textarea, input:not([type=hidden]), nav a, .button, .card, li > a';
  return [...document.querySelectorAll(tapped)].map(e => {
    const label = e.closest('label');
    const box = (/radio|checkbox/.test(e.type) && label ? label : e).getBoundingClientRect();
    return [box.width, box.height, e.outerHTML.slice(0, 90)];
  }).filter(([width, height]) => width && (width < least - 0.5 || height < least - 0.5));
}"""
WIDER = """() => document.scrollingElement.scrollWidth <= window.innerWidth ? [] :
  [...document.querySelectorAll('body *')]
    .filter(e => e.getBoundingClientRect().right > window.innerWidth && !e.closest('.scroll, .drawing-view'))
    .map(e => e.outerHTML.slice(0, 90))"""


@pytest.fixture(scope="module")
def looked(browser: Browser) -> Iterator[Watched]:
    """One page for all screens."""
    with watching(browser) as watched:
        yield watched


def violations(page: Page, options: dict[str, Any]) -> list[str]:
    """What axe finds, each with the first element that it means."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    found = page.evaluate(
        "options => axe.run({ ...options, resultTypes: ['violations'], preload: false })", options
    )
    firsts = [(v["id"], v["nodes"][0]) for v in found["violations"]]
    return [f"{rule}: {node['html'][:120]} {node['failureSummary']}" for rule, node in firsts]


def show(page: Page, width: int, scheme: Literal["light", "dark"]) -> None:
    """Show it on a screen of that width, by day or by night."""
    page.set_viewport_size({"width": width, "height": 740})
    page.emulate_media(color_scheme=scheme)


@pytest.mark.parametrize("screen", SCREENS, ids=lambda s: s.name)
def test_a_screen_can_be_used_by_everybody(screen: Screen, looked: Watched, site: Site) -> None:
    page = looked.page
    looked.said.clear()
    looked.asked.clear()
    show(page, PHONE, "light")
    screen.open(page, site)
    assert page.evaluate(WIDER) == []
    assert page.evaluate("document.scrollingElement.scrollWidth") <= PHONE
    assert page.evaluate(SMALL, TARGET) == []
    assert violations(page, WHOLE) == []
    show(page, PHONE, "dark")
    assert violations(page, BY_COLOUR) == []
    show(page, LAPTOP, "dark")
    assert violations(page, BY_WIDTH) == []
    assert page.evaluate("document.scrollingElement.scrollWidth") <= LAPTOP
    show(page, LAPTOP, "light")
    assert violations(page, BY_COLOUR) == []
    assert [text for text in looked.said if not (screen.name == "no-page" and "404" in text)] == []
    assert looked.outside(site) == []


def test_what_is_hard_to_see_or_to_hit_is_found(looked: Watched, site: Site) -> None:
    page = looked.page
    show(page, PHONE, "light")
    page.goto(site.address)
    page.evaluate("document.querySelector('main section p').style.color = '#666'")
    assert [v.partition(":")[0] for v in violations(page, BY_COLOUR)] == [CONTRAST]
    page.evaluate("document.querySelector('nav a').style.minHeight = '40px'")
    page.evaluate("document.querySelector('h1').style.width = '400px'")
    assert len(page.evaluate(SMALL, TARGET)) == 1
    assert page.evaluate("document.scrollingElement.scrollWidth") > PHONE


def test_no_page_is_left_out(site: Site) -> None:
    shown = {screen.where(site).removeprefix(site.address).partition("?")[0] for screen in SCREENS}
    routes = [r for r in found_pages()[0] if isinstance(r, Route) and "GET" in (r.methods or ())]
    assert [r.path for r in routes if not any(r.path_regex.match(address) for address in shown)] == []

"""The pages on paper: black on white, unfolded, nothing to press, nothing cut, and no page too many."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

import backprobe as bp
from backprobe.demo.story import demo_jobs
from tests.browser.screens import SCREENS, Screen
from tests.browser.site import Site

WIDTH, HEIGHT = 680, 1004
"""What the margins leave of A4 (180 by 266 mm), at 96 px to the inch [px]."""
LEAST_TYPE = 13.3
"""10 pt [px]."""
FAULTS = """
([width, least]) => {
  const faults = new Set();
  const shown = e => e.checkVisibility({ visibilityProperty: true }) && e.getClientRects().length > 0;
  const dark = colour => colour.match(/[\\d.]+/g).slice(0, 3).every(part => Number(part) <= 0x33);
  const own = e => [...e.childNodes].some(n => n.nodeType === Node.TEXT_NODE && n.data.trim());
  if (getComputedStyle(document.body).backgroundColor !== "rgb(255, 255, 255)") faults.add("paper");
  for (const e of document.body.querySelectorAll("*")) {
    if (!shown(e) || e.closest(".unseen, script, noscript")) continue;
    const style = getComputedStyle(e);
    const pressed = e.matches("nav, button, .button, input[type=file], select:not(form *)");
    if (pressed && (style.borderTopStyle !== "none" || e.tagName === "NAV")) faults.add("menus");
    if (e.tagName === "DETAILS") {
      const kept = [...e.children].filter(c => c.tagName !== "SUMMARY" && c.textContent.trim());
      if (kept.some(c => !shown(c) && getComputedStyle(c).display !== "none")) faults.add("folded");
    }
    if (e.getBoundingClientRect().right > width + 1) faults.add("cut");
    if (e.ownerSVGElement) {
      if (e.tagName === "text" && !e.closest(".lead") && !dark(style.fill)) faults.add("ink");
    } else if (own(e)) {
      if (!dark(style.color)) faults.add("ink");
      if (parseFloat(style.fontSize) < least) faults.add("type");
    }
    if (e.tagName === "A" && getComputedStyle(e, "::after").content !== "none") faults.add("addresses");
  }
  return [...faults].sort();
}
"""
TORN = """
() => [...document.querySelectorAll("main tr, main .caution")]
  .filter(e => e.checkVisibility() && getComputedStyle(e).breakInside !== "avoid").length
"""


def screen(name: str) -> Screen:
    """A screen by its name."""
    return next(s for s in SCREENS if s.name == name)


@contextmanager
def printing(browser: Browser) -> Iterator[Page]:
    """A page as wide as the paper's, of a reader whose screen is dark."""
    context = browser.new_context(
        viewport={"width": WIDTH, "height": HEIGHT}, color_scheme="dark", locale="en-GB"
    )
    context.set_default_timeout(15_000)
    yield context.new_page()
    context.close()


@pytest.fixture
def sheet(browser: Browser) -> Iterator[Page]:
    """A page that will be printed."""
    with printing(browser) as page:
        yield page


def faults(page: Page) -> list[str]:
    """What is wrong with a page on paper."""
    page.emulate_media(media="print", color_scheme="dark")
    found: list[str] = page.evaluate(FAULTS, [WIDTH, LEAST_TYPE])
    return found


def pages(page: Page) -> list[tuple[int, int]]:
    """Width and height of every page of the PDF [mm]."""
    page.emulate_media(media="print", color_scheme="dark")
    made = page.pdf(format="A4", print_background=False, prefer_css_page_size=True)
    boxes = re.findall(rb"/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)\s*\]", made)
    return [(round(float(w) / 72 * 25.4), round(float(h) / 72 * 25.4)) for w, h in boxes]


@pytest.mark.parametrize("name", ["next-number", "suspects-dumper", "circuit-dumper", "report", "stand-in"])
def test_a_screen_on_paper(name: str, sheet: Page, site: Site) -> None:
    shown = screen(name)
    shown.open(sheet, site, unfolded=False)
    assert faults(sheet) == []
    assert sheet.evaluate(TORN) == 0
    # Whose job it is and when it was printed stand at the top.
    record = next(r for r in site.store.jobs() if shown.where(site).split("/")[4].startswith(r.id))
    above = sheet.locator("body").inner_text()[:400]
    assert record.title in above
    assert record.machine in above
    assert re.search(r"Printed\s+\d{4}-\d{2}-\d{2}", above)
    assert (
        sheet.locator("h1:visible, h2:visible").first.evaluate("e => getComputedStyle(e).breakAfter")
        == "avoid"
    )


def test_without_its_style_sheet_every_fault_is_seen(browser: Browser, site: Site) -> None:
    seen, torn = set[str](), 0
    for name in ("next-number", "suspects-dumper", "circuit-dumper"):
        with printing(browser) as page:
            page.route("**/print.css*", lambda route: route.abort())
            screen(name).open(page, site, unfolded=False)
            seen |= set(faults(page))
            torn += page.evaluate(TORN)
    assert seen >= {"paper", "menus", "folded", "ink"}
    assert torn > 0


def test_the_report_is_two_pages_with_a_place_to_sign(sheet: Page, site: Site) -> None:
    screen("report").open(sheet, site, unfolded=False)
    assert pages(sheet) == [(210, 297)] * 2
    said = sheet.locator("main").inner_text()
    for words in (
        "Complaint",
        "What was read",
        "epair: ",
        "proven by hand",
        "Mechanic, day:",
        "Owner, day:",
    ):
        assert words in said
    assert "Made to be printed" not in said


def test_a_plan_is_read_upright_and_seen_across(sheet: Page, site: Site) -> None:
    short = {"circuit": "template:start-chain", "depth": "2", "steps": "3"}
    Screen("plan", "/plan", short).open(sheet, site, unfolded=False)
    assert pages(sheet) == [(210, 297), (297, 210)]
    assert sheet.locator("main form:visible").count() == 0
    # Its branches are folded on a phone, and open on paper to the last end.
    assert "folded" not in faults(sheet)
    ends = sheet.locator(".plan li")
    assert ends.count() > 4
    assert all(e.is_visible() for e in ends.all())


def test_a_drawing_is_fitted_however_large_it_was_on_the_screen(sheet: Page, site: Site) -> None:
    screen("circuit-dumper").open(sheet, site, unfolded=False)
    for _ in range(5):
        sheet.locator('[data-zoom="in"]').click()
    assert sheet.locator("svg.circuit").evaluate("e => e.getBoundingClientRect().width") > WIDTH
    assert len(pages(sheet)) == 2
    box = sheet.locator("svg.circuit").bounding_box()
    assert box is not None
    assert WIDTH / 3 < box["width"] <= WIDTH
    assert HEIGHT / 2 < box["height"] <= HEIGHT


def test_a_check_is_filled_in_by_pen(sheet: Page, site: Site) -> None:
    screen("next-number").open(sheet, site, unfolded=False)
    sheet.emulate_media(media="print")
    field = sheet.locator("#read [name=value]")
    assert field.is_visible()
    assert field.evaluate("e => getComputedStyle(e).borderBottomStyle") == "solid"
    choice = sheet.locator("#read button[name=shows]").first
    assert choice.evaluate("e => getComputedStyle(e, '::before').content").startswith('"\N{BALLOT BOX}')
    # Its cautions stay in its frame, before the leads.
    assert sheet.locator("#read .caution").count() >= 2
    assert sheet.locator("#read .caution ~ .leads").is_visible()


def test_readings_and_complaints_have_a_form_for_a_pen(sheet: Page, site: Site) -> None:
    screen("reading").open(sheet, site, unfolded=False)
    assert not sheet.locator(".pen").is_visible()
    sheet.emulate_media(media="print")
    assert sheet.locator(".pen tbody tr:visible").count() >= 12
    assert sheet.locator("main form:visible").count() == 0
    screen("complaint").open(sheet, site, unfolded=False)
    assert sheet.locator(".boxes span:visible").count() > 6


def test_a_pocket_card_on_paper(sheet: Page, tmp_path: Path) -> None:
    story = demo_jobs()[0]
    card = tmp_path / "card.html"
    card.write_text(bp.pocket(bp.Engine(story.sheet, story.circumstances)), encoding="utf-8")
    sheet.goto(card.as_uri())
    sheet.locator("#next .check").first.wait_for()
    assert faults(sheet) == []
    assert sheet.locator("select:visible, textarea:visible").count() == 0
    assert len(pages(sheet)) == 2

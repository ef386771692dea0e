"""Each job of the demo is resumed where it stopped, and its next check answered, as its machine would."""

from __future__ import annotations

import html
import json
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from backprobe.demo.acting import Machine
from backprobe.demo.story import NAMES, demo_jobs
from backprobe.readings.lines import Context
from tests.browser.conftest import Watched, watching
from tests.browser.hand import Hand
from tests.browser.site import Site, served


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Jobs of the demo that may be written to."""
    with served(tmp_path_factory.mktemp("own"), demo=True) as site:
        yield site


@pytest.fixture
def hand(browser: Browser, own: Site) -> Iterator[Hand]:
    """A phone at the list of jobs."""
    with watching(browser) as watched:
        watched.page.goto(own.address)
        yield Hand(watched.page)
        quiet(watched, own)


def quiet(watched: Watched, site: Site) -> None:
    """Nothing was complained of, and nothing asked for elsewhere."""
    assert watched.said == []
    assert watched.outside(site) == []


@pytest.mark.parametrize("name", NAMES)
def test_a_job_is_resumed_and_its_next_check_answered(name: str, hand: Hand) -> None:
    story = next(s for s in demo_jobs() if s.name == name)
    page = hand.page
    hand.send(page.get_by_role("link").filter(has_text=story.machine))
    before = page.locator("[data-say]").inner_text()
    part = story.acted.fault.partition(":")[0]
    assert part in before
    if not page.locator("#check").count():
        # Proven as far as the sheet goes: the last reading is taken back, and comes again as the next check.
        assert page.get_by_role("heading", name="Repair:").count() == 1
        hand.unfold("Log of this job")
        hand.send(page.locator("#log form button").first)
        before = page.locator("[data-say]").inner_text()

    where = json.loads(page.locator('#read input[name="where"]').get_attribute("value") or "")
    context = Context(tuple(sorted(where["state"].items())), frozenset(where["unplugged"]), True)
    world = Machine(story.sheet, story.acted)
    if where["kind"] in {"volts", "ohms"}:
        unit = "V" if where["kind"] == "volts" else "ohm"
        line, _ = world.line(f"{where['start']}: 0 {unit}", context)
        hand.put("value", line.rpartition(": ")[2])
        hand.press("Take the reading")
    else:
        offered = page.locator('#read button[name="shows"]')
        lines = [html.unescape(b.get_attribute("value") or "") for b in offered.all()]
        line, _ = world.line(lines[0], context)
        # Corroded is one of the ways to look bad.
        seen = line if line in lines else f"{line.rpartition(' ')[0].removesuffix(':')}: bad"
        hand.send(page.locator(f'#read button[value="{seen}"]'))
    assert page.locator("#last").count() == 1
    assert part in page.locator("[data-say]").inner_text()
    assert page.locator("#status").inner_text() == page.locator("[data-say]").inner_text()

    hand.press("Wrong? Take it back")
    assert page.locator("[data-say]").inner_text() == before
    assert "taken back" in (page.locator("#log li").nth(1).text_content() or "")


def test_a_number_is_typed_as_the_meter_shows_it_and_shown_where_it_fell(hand: Hand) -> None:
    page = hand.page
    hand.send(page.get_by_role("link").filter(has_text="halfway"))
    strip = page.locator(".strip svg")
    assert strip.count() == 1
    marks = strip.locator(".mark").count()
    hand.put("value", "10.2")
    hand.press("Take the reading")
    assert "10.2" in page.locator("#last").inner_text()
    # The old strip is folded away: the next check comes first.
    hand.unfold("What the last reading could have shown")
    old = page.locator("details", has_text="What the last reading could have shown")
    assert old.locator(".strip .mark").count() > marks
    assert old.locator(".strip .hit").count() == 1
    hand.press("Wrong? Take it back")


def test_what_was_typed_stays_when_it_cannot_be_read(hand: Hand) -> None:
    page = hand.page
    hand.send(page.get_by_role("link").filter(has_text="halfway"))
    hand.put("value", "4.7 cats")
    hand.press("Take the reading")
    field = page.locator('#read [name="value"]')
    assert field.input_value() == "4.7 cats"
    assert field.get_attribute("aria-invalid") == "true"
    assert field.evaluate("e => e === document.activeElement")
    assert "cats" in page.locator("#value-wrong").inner_text()

"""Where the page goes and what keeps its place: jumps, messages where the eye is, buttons under the thumb."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from backprobe.web.sketch_draft import Draft, pack
from tests.browser.conftest import watching
from tests.browser.hand import Hand
from tests.browser.site import Site, served

TEXT = (
    "sheet: Vine mower\nsystem: 12 V\nruns:\n"
    "  main: [battery+, fuse F1 5 A, key start, brake switch, seat switch, relay coil K1, frame]\n"
)
STILL = "name => new Promise(done => {{ let last; const look = () => {{ const y = scrollY; \
if (y === last) done(document.getElementById('{0}').getBoundingClientRect().top); else {{ last = y; \
setTimeout(look, 250); }} }}; setTimeout(look, 250); }})"
"""Where a place stands in the window once the page has come to rest [px]."""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Pages with no job in them yet."""
    with served(tmp_path_factory.mktemp("places"), demo=False) as found:
        yield found


@contextmanager
def screen(browser: Browser, width: int) -> Iterator[Page]:
    """A page whose jumps are smooth, as most browsers have it."""
    context = browser.new_context(
        viewport={"width": width, "height": 740},
        reduced_motion="no-preference",
        has_touch=width < 600,
        is_mobile=width < 600,
    )
    context.set_default_timeout(15_000)
    yield context.new_page()
    context.close()


def sketch(site: Site, text: str = TEXT, place: str = "") -> str:
    return f"{site.address}/sketch?s={pack(Draft(text))}{place}"


def rest_of(page: Page, name: str) -> float:
    """How far below the upper edge of the window something comes to rest [px]."""
    return float(page.evaluate(STILL.format(name)))


@pytest.mark.parametrize("width", [360, 1280])
def test_a_jump_within_the_page_arrives_and_loads_nothing(browser: Browser, site: Site, width: int) -> None:
    with screen(browser, width) as page:
        page.goto(sketch(site))
        loads: list[str] = []
        page.on("load", lambda _: loads.append(page.url))
        assert rest_of(page, "job") > 740
        page.get_by_role("link", name="Another state, or more to say").click()
        assert -2 < rest_of(page, "job") < 370
        assert page.url.endswith("#job")
        assert loads == []
        # Back is a jump too, and another page is still loaded anew.
        page.go_back()
        assert rest_of(page, "job") > 740
        page.goto(sketch(site, place="#job"))
        assert -2 < rest_of(page, "job") < 370


def test_back_to_another_answer_shows_that_answer(browser: Browser, site: Site) -> None:
    with screen(browser, 1280) as page:
        page.goto(site.address + "/wire")
        for amps in ("7", "9"):
            page.locator('[name="amps"]').fill(amps)
            page.evaluate("document.querySelector('main').dataset.old = ''")
            page.locator("main form button:not([type=button])").first.click()
            page.wait_for_selector("main:not([data-old])")
        assert page.locator('[name="amps"]').input_value() == "9"
        page.go_back()
        page.wait_for_function("document.querySelector('[name=amps]').value === '7'")


@pytest.mark.parametrize("width", [360, 1280])
@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("gaet switch, coil Y1, frame]", "Did you mean 'gate switch'?"),
        ("coil Y1, frame", "closing bracket"),
    ],
)
def test_what_is_wrong_with_the_text_is_seen_without_scrolling(
    browser: Browser, site: Site, width: int, wrong: str, said: str
) -> None:
    with screen(browser, width) as page:
        page.goto(sketch(site))
        page.get_by_text("Or type the circuit here").click()
        page.locator('textarea[name="text"]').fill(f"sheet: Vine mower\nruns:\n  main: [battery+, {wrong}\n")
        page.evaluate("document.querySelector('main').dataset.old = ''")
        page.get_by_role("button", name="Check the text").click()
        page.wait_for_selector("main:not([data-old])")
        rest_of(page, "checked")
        message = page.locator("#checked .wrong").first
        assert said in message.inner_text()
        box = message.bounding_box()
        assert box is not None
        assert box["y"] > 0
        assert box["y"] + box["height"] < 740
        button = page.get_by_role("button", name="Check the text").bounding_box()
        assert button is not None
        assert 0 < button["y"] < box["y"]
        assert "before your last change" in page.locator(".side .caution").first.inner_text()


def test_buttons_stay_under_the_thumb(browser: Browser, site: Site) -> None:
    with watching(browser) as watched:
        page = watched.page
        page.goto(site.address + "/sketch")
        hand = Hand(page)
        grid = page.locator("#next .taps").first

        def place(name: str) -> tuple[float, float]:
            inner = grid.get_by_role("button", name=name, exact=True).bounding_box()
            outer = grid.bounding_box()
            assert inner
            assert outer
            return round(inner["x"] - outer["x"]), round(inner["y"] - outer["y"])

        names = ("Fuse", "Seat switch", "Relay coil", "Lamp", "Frame (ground)")
        before = [place(name) for name in names]
        for name in ("Fuse", "Relay coil"):
            hand.send(grid.get_by_role("button", name=name, exact=True))
        assert grid.get_by_role("button", name="Contact of relay K1", exact=True).count() == 1
        assert [place(name) for name in names] == before


def test_a_phone_shows_digits_and_has_keys_for_what_they_cannot_say(browser: Browser, site: Site) -> None:
    with watching(browser) as watched:
        page = watched.page
        page.goto(site.address + "/wire")
        field = page.locator('[name="amps"]')
        keys = page.locator('[data-keys="amps"]')
        assert field.get_attribute("inputmode") == "decimal"
        field.fill("4,7")
        for press, shown in (
            ("m", "4,7m"),
            ("k", "4,7k"),
            ("k", "4,7"),
            ("about", "about 4,7"),
            ("about", "4,7"),
            ("minus", "-4,7"),
            ("minus", "4,7"),
        ):
            keys.get_by_role("button", name=press, exact=True).tap()
            assert field.input_value() == shown


def test_without_a_script_the_whole_keyboard_is_there(browser: Browser, site: Site) -> None:
    with watching(browser, script=False) as watched:
        watched.page.goto(site.address + "/wire")
        assert watched.page.locator('[name="amps"]').get_attribute("inputmode") == "text"
        assert not watched.page.locator('[data-keys="amps"]').is_visible()


@pytest.mark.parametrize(
    ("button", "field"),
    [("Start with this circuit", "template"), ("Start the job", "run")],
)
def test_an_empty_start_is_refused_where_it_was_begun(
    browser: Browser, site: Site, button: str, field: str, tmp_path: Path
) -> None:
    with screen(browser, 360) as page:
        page.goto(site.address)
        page.get_by_role("button", name=button).click()
        page.wait_for_selector(f"#{field}-wrong")
        top = rest_of(page, f"{field}-wrong")
        assert 0 < top < 700

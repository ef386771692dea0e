"""The drawing under a finger and the sketch, in a real browser on a phone's screen."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]
from playwright.sync_api import Browser, Page

import backprobe as bp
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from tests.browser.site import serving
from tests.web.test_circuit_page import SHEET, STATE

Finger = tuple[float, float]


class Phone:
    """A page on a screen of 360 pixels, and what its console said."""

    def __init__(self, page: Page, base: str, job: str) -> None:
        self.page, self.base, self.job = page, base, job
        self.said: list[str] = []
        page.on("console", lambda message: self.said.append(message.text))
        page.on("pageerror", lambda error: self.said.append(str(error)))
        self._wire = page.context.new_cdp_session(page)

    def circuit(self) -> None:
        self.page.goto(f"{self.base}/job/{self.job}/circuit")

    def width(self) -> float:
        return float(self.page.locator("svg.circuit").get_attribute("width") or 0)

    def touch(self, kind: str, *fingers: Finger) -> None:
        points = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(fingers)]
        self._wire.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def tap(self, selector: str) -> None:
        target = self.page.locator(selector).first
        target.scroll_into_view_if_needed()
        box = target.bounding_box()
        assert box is not None
        self.page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)

    def scrolled(self) -> tuple[float, float]:
        left, top = self.page.locator(".drawing-view").evaluate("v => [v.scrollLeft, v.scrollTop]")
        return float(left), float(top)

    def violations(self) -> list[str]:
        rules = ["wcag2a", "wcag2aa", "wcag2aaa", "wcag21aa", "wcag22aa", "best-practice"]
        found = Axe().run(self.page, options={"runOnly": rules})
        return [v["id"] for v in found.response["violations"]]


@pytest.fixture(scope="module")
def phone(tmp_path_factory: pytest.TempPathFactory, browser: Browser) -> Iterator[Phone]:
    """A phone with one job."""
    place: Path = tmp_path_factory.mktemp("phone") / "jobs.sqlite"
    with Store.open(place) as store, serving(store) as site:
        job = Job.new(store, bp.parse_sheet(SHEET), title="Blades dead")
        job.read(f"blades dead, {STATE}")
        context = browser.new_context(
            viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True, reduced_motion="reduce"
        )
        phone = Phone(context.new_page(), site.address, job.record.id)
        yield phone
        context.close()


def test_buttons_keys_and_two_fingers_make_the_drawing_larger_and_smaller(phone: Phone) -> None:
    phone.circuit()
    whole = phone.width()
    phone.page.click('[data-zoom="in"]')
    assert phone.width() == pytest.approx(1.3 * whole)
    phone.page.locator(".drawing-view").focus()
    phone.page.keyboard.press("-")
    assert phone.width() == pytest.approx(whole)
    phone.page.click('[data-zoom="fit"]')
    assert phone.width() < 360
    phone.page.click('[data-zoom="full"]')
    box = phone.page.locator(".drawing-view").bounding_box()
    assert box is not None
    x, y = box["x"] + 150, box["y"] + 150
    phone.touch("touchStart", (x, y))
    phone.touch("touchStart", (x, y), (x + 50, y))
    phone.touch("touchMove", (x - 10, y), (x + 60, y))
    phone.touch("touchMove", (x - 25, y), (x + 75, y))
    phone.touch("touchEnd")
    assert phone.width() == pytest.approx(2 * whole, rel=0.1)
    assert not phone.said


def test_one_finger_moves_the_drawing_and_taps_nothing(phone: Phone) -> None:
    phone.circuit()
    phone.page.click('[data-zoom="in"]')
    box = phone.page.locator(".drawing-view").bounding_box()
    assert box is not None
    phone.page.locator(".drawing-view").evaluate("v => v.scrollTo(100, 100)")
    x, y = box["x"] + 150, box["y"] + 150
    phone.touch("touchStart", (x, y))
    for step in range(1, 5):
        phone.touch("touchMove", (x + 10 * step, y - 10 * step))
    phone.touch("touchEnd")
    left, top = phone.scrolled()
    assert (left, top) == pytest.approx((60, 140), abs=2)
    assert "part=" not in phone.page.url


def test_a_tap_on_a_part_shows_its_faults_and_one_on_a_point_leads_to_a_reading(phone: Phone) -> None:
    phone.circuit()
    phone.tap('[data-part="coil Y1"] text.name')
    phone.page.wait_for_selector("#part h2:has-text('coil Y1')")
    assert "part=coil+Y1" in phone.page.url
    assert phone.page.locator(".chosen").get_attribute("data-part") == "coil Y1"
    assert phone.page.evaluate("document.activeElement.id") == "part"
    phone.tap('.point[data-point="C1-2"]')
    phone.page.wait_for_url("**/reading?*")
    assert phone.page.locator('select[name="red"]').input_value() == "C1-2"
    assert not phone.said


def test_the_sketch_grows_by_taps_and_is_offered_again_when_it_was_left(phone: Phone) -> None:
    phone.page.goto(f"{phone.base}/sketch")
    for button in ("add:key switch", "add:fuse", "add:relay coil", "put:frame"):
        phone.page.locator(f'button[value="{button}"]').first.click()
        phone.page.wait_for_load_state()
    assert phone.page.locator('[data-part="relay K1"]').count() == 1
    assert phone.page.evaluate("document.documentElement.scrollWidth") == 360
    phone.page.goto(f"{phone.base}/sketch")
    phone.page.locator("#left-sketch a").click()
    phone.page.wait_for_url("**/sketch?s=*")
    assert phone.page.locator('[data-part="relay K1"]').count() == 1
    assert not phone.said


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_both_pages_can_be_used_by_everybody(phone: Phone, scheme: str) -> None:
    phone.page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    for address in (f"/job/{phone.job}/circuit?part=gate%20switch", "/sketch"):
        phone.page.goto(phone.base + address)
        if address == "/sketch":
            phone.page.locator('button[value="add:fuse"]').first.click()
            phone.page.wait_for_load_state()
        phone.page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        assert phone.violations() == []
        assert phone.page.evaluate("document.documentElement.scrollWidth") == 360
        small = phone.page.evaluate(
            """[...document.querySelectorAll('main a, main button, main input, main select, main summary')]
            .filter(e => { const r = e.getBoundingClientRect();
              return r.width && (r.height < 47.5 || r.width < 47.5) && e.type !== 'checkbox'
                && !e.closest('p:not(.line)'); })
            .map(e => e.outerHTML.slice(0, 80))"""
        )
        assert small == []

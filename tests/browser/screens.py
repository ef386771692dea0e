"""Every screen of the pages: where it is, what is typed into it first, and what is put to the test on it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from playwright.sync_api import Locator, Page

from tests.browser.site import Site

SWEEP = (
    "3.1: open\n4.0: open\n4.6: shut\n4.3: open\n5.2: shut\n6.4: shut\n6.8: code\n6.6: shut\n4.4 down: open"
)
RECORDING = "time [s],signal [V],note\n" + "".join(
    f"{k / 2:g},{0.4 if 60 <= k < 64 or 100 <= k < 103 else 5.6 + (k % 3) / 100:.2f},"
    f"{'wiggled C5' if k in {59, 99} else ''}\n"
    for k in range(140)
)
UNFOLD = "document.querySelectorAll('details').forEach(d => { d.open = true; })"
ROW = (
    "sheet: Vineyard tractor V7, start chain\n"
    "runs:\n  main: [battery+, key switch, fuse F1 5 A, relay coil K1, PTO switch, pedal neutral switch, "
    "clutch switch, frame]\n"
)
PINS = "A open 8.31 V\nB open 0.00 V\nB with 1k to ground 0 V\nA with 1k to ground 8.26 V\nC open 0.02 V"


@dataclass(frozen=True)
class Screen:
    """One screen.

    Parameters
    ----------
    address
        With the machine of a demo job in braces where it belongs to one, such as ``{sprayer}/suspects``.
    typed
        Field to what is typed, picked or ticked in it before its form is sent; nothing is sent without.
    press
        Button of a form to press instead of the first one, as a CSS selector.
    """

    name: str
    address: str
    typed: Mapping[str, str] = field(default_factory=dict)
    press: str = ""

    @cached_property
    def is_job(self) -> bool:
        """Whether it belongs to a job."""
        return self.address.startswith("{")

    def where(self, site: Site) -> str:
        """Its address on a site."""
        return site.address + re.sub(r"\{(\w+)\}", lambda m: site.job(m[1]), self.address)

    def open(self, page: Page, site: Site, *, unfolded: bool = True) -> None:
        """Go to it, and send its form if it has one to be sent."""
        page.goto(self.where(site))
        for name, value in self.typed.items():
            fill(page.locator(f'main [name="{name}"]'), value)
        if self.typed or self.press:
            button = page.locator(self.press or "main form button:not([type=button])").first
            reveal(button)
            send(page, button)
        if unfolded:
            page.evaluate(UNFOLD)


def reveal(target: Locator) -> None:
    """Open what a field or a button is folded away in."""
    target.evaluate(
        "e => { for (let d = e.closest('details'); d; d = d.parentElement.closest('details')) "
        "d.open = true; }"
    )


def send(page: Page, button: Locator) -> None:
    """Press a button and wait until the page has answered, whether in place or as a page of its own."""
    page.evaluate("document.querySelector('main').dataset.old = ''")
    button.click()
    page.wait_for_selector("main:not([data-old])")


def fill(fields: Locator, value: str) -> None:
    """Type, pick or tick."""
    first = fields.first
    reveal(first)
    tag, kind = first.evaluate("e => [e.tagName, e.type]")
    if tag == "SELECT":
        first.select_option(value)
    elif kind in {"radio", "checkbox"}:
        fields.and_(first.page.locator(f'[value="{value}"]')).check()
    else:
        first.fill(value)


SCREENS = (
    Screen("jobs", "/"),
    Screen(
        "jobs-error",
        "/",
        {"title": "Boom dead", "run": "battery+ > fuse F1 5 V > frame"},
        'button[value="typed"]',
    ),
    Screen("jobs-empty", "/", {"machine": "mower"}, 'button[value="library"]'),
    Screen("no-page", "/nowhere"),
    Screen("sketch", "/sketch"),
    Screen("sketch-row", "/sketch", {"text": ROW}, 'button[value="text"]'),
    Screen(
        "sketch-error",
        "/sketch",
        {"text": "sheet: Mine\nruns:\n  main: [battery+, fuse F1 5 V, frame]\n"},
        'button[value="text"]',
    ),
    Screen(
        "sketch-guess",
        "/sketch",
        {"text": "sheet: Mine\nruns:\n  main: [battery+, fuse F1 5 A, boom switch, coil Y1, frame]\n"},
        'button[value="text"]',
    ),
    Screen("phone", "/phone"),
    Screen("pair", "/pair"),
    Screen("tools", "/tools"),
    Screen("next", "{sprayer}"),
    Screen("next-platform", "{platform}"),
    Screen("complaint", "{untouched}"),
    Screen("next-number", "{halfway}"),
    Screen("next-read", "{underway}", {"value": "10.2"}, '#read button[value="number"]'),
    Screen("next-error", "{halfway}", {"value": "4.7 cats"}, '#read button[value="number"]'),
    Screen("suspects", "{sprayer}/suspects"),
    Screen("suspects-dumper", "{dumper}/suspects"),
    Screen("suspects-platform", "{platform}/suspects"),
    Screen("circuit", "{sprayer}/circuit?part=splice%20S2"),
    Screen("circuit-dumper", "{dumper}/circuit"),
    Screen("reading", "{platform}/reading"),
    Screen("reading-error", "{dumper}/reading", {"value": "12.4"}, 'button[value="number"]'),
    Screen("trial", "{sprayer}/trial", {"claim": "put 220 ohm between C5-3 and C5-2"}),
    Screen("trial-guard", "{dumper}/trial", {"claim": "join C7-1 C7-2", "time": "good"}),
    Screen("trial-joins", "{platform}/trial", {"plug": "C3"}, 'form:has([name="plug"]) button'),
    Screen("hearsay", "{sprayer}/hearsay", {"lines": "new sensor\nclean the plug\nbigger fuse\nbridge it"}),
    Screen("report", "{sprayer}/report"),
    Screen("plan", "{platform}/plan"),
    Screen("plan-template", "/plan", {"circuit": "template:start-chain", "depth": "3", "steps": "5"}),
    Screen("trial-typed", "/trial"),
    Screen("hearsay-typed", "/hearsay"),
    Screen("band-typed", "/band"),
    Screen("log-typed", "/log"),
    Screen("bench", "{dumper}/bench"),
    Screen("budget", "{sprayer}/budget", {"capacity": "80"}),
    Screen("budget-error", "/budget", {"sheet": "battery+ > fuse F1 5 V > frame"}),
    Screen("wire", "/wire", {"amps": "7.2", "length": "3.4", "size": "1.5"}),
    Screen("temperature", "/temperature", {"ohms": "21.4", "celsius": "64"}),
    Screen("sanity", "/sanity", {"text": "68 F is 30 C\n5 V and 2 A trip below 40 ohm"}),
    Screen("sanity-sheet", "{platform}/sanity"),
    Screen("pin-out", "/pin-out", {"readings": PINS}),
    Screen("stand-in", "{sprayer}/stand-in", {"wanted": "gate input|shut"}),
    Screen("stand-in-numbers", "/stand-in", {"feed": "8.6", "band": "4.9..6.9", "pull_down": "39k"}),
    Screen("band", "{sprayer}/band", {"sweep": SWEEP}),
    Screen("log", "{sprayer}/log", {"recording": RECORDING}),
)

"""A newcomer's first job, from an empty store to the right answer, on a phone and by touch."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from backprobe.demo.acting import Acted, Machine
from backprobe.readings.lines import Context
from backprobe.sheet.templates import template
from tests.browser.conftest import Watched, watching
from tests.browser.hand import Hand
from tests.browser.site import Site, served

MOST_TAPS = 12
"""Taps from the first page to the first ranked answer."""
MOST_CHECKS = 8
FAULT = "neutral switch: does not close"


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Site]:
    """Pages with no job in them yet."""
    with served(tmp_path, demo=False) as site:
        yield site


@pytest.fixture
def newcomer(browser: Browser, empty: Site) -> Iterator[tuple[Hand, Watched]]:
    """A phone that opens the first page."""
    with watching(browser) as watched:
        watched.page.goto(empty.address)
        yield Hand(watched.page), watched
    assert watched.said == []
    assert watched.outside(empty) == []


class Mechanic:
    """Does what the page asks for on a machine whose neutral switch never closes, and answers."""

    def __init__(self, hand: Hand, machine: Machine) -> None:
        self.hand, self.machine = hand, machine

    def answer(self) -> None:
        """Answer the check that the page shows first."""
        page = self.hand.page
        where = json.loads(page.locator('#read input[name="where"]').get_attribute("value") or "")
        context = Context(tuple(sorted(where["state"].items())), frozenset(where["unplugged"]), True)
        buttons = page.locator('#read button[name="shows"]')
        if where["kind"] in {"volts", "ohms"}:
            unit = "V" if where["kind"] == "volts" else "ohm"
            line, _ = self.machine.line(f"{where['start']}: 0 {unit}", context)
            self.hand.put("value", line.rpartition(": ")[2])
            self.hand.press("Take the reading")
            return
        line = html.unescape(buttons.first.get_attribute("value") or "")
        if where["kind"] == "swapped":
            cured = f"swapped {FAULT.partition(':')[0]}:" in line
            line = f"{line.partition(': ')[0]}: {'works now' if cured else 'no change'}"
        else:
            line, _ = self.machine.line(line, context)
        self.hand.send(page.locator(f'#read button[value="{line}"]'))


def test_from_nothing_to_the_fault_by_the_template_of_the_circuit(newcomer: tuple[Hand, Watched]) -> None:
    hand, _ = newcomer
    hand.put("title", "does not crank")
    hand.put("template", "start-chain")
    hand.press("Start with this circuit")
    hand.press("That is the complaint")
    ranked = hand.taps
    page = hand.page
    assert page.locator('section[aria-labelledby="says"] .shares li').count() > 0
    assert page.locator('#read input[name="where"]').count() == 1
    print(f"\n{ranked} taps to the first ranked answer, from a template")
    assert ranked <= MOST_TAPS

    world = Machine(
        template("start-chain").sheet(),
        Acted(FAULT, {"neutral switch.contact ohms": 1e10}, gain=0.003),
    )
    mechanic = Mechanic(hand, world)
    for _ in range(MOST_CHECKS):
        mechanic.answer()
        said = page.locator("[data-say]").inner_text()
        print(said)
        done = page.get_by_role("heading", name=re.compile("^Repair:"))
        if done.count():
            break
    print(f"{hand.taps} taps in all: {said}")
    part = FAULT.partition(":")[0]
    assert said.startswith((FAULT, f"It is the {part}: ")) or f"First guess: {FAULT}" in said


def test_from_nothing_to_the_fault_by_a_typed_run(newcomer: tuple[Hand, Watched]) -> None:
    hand, _ = newcomer
    hand.put("run", "battery+ > fuse F1 7.5 A > key > bar switch > relay coil K1 80 ohm > frame")
    hand.press("Start the job")
    hand.press("That is the complaint")
    print(f"\n{hand.taps} taps to the first ranked answer, from a typed run")
    assert hand.taps <= MOST_TAPS
    for line in ("after key switch to battery-: 12.3 V", "after bar switch to battery-: 0 V"):
        hand.send(hand.page.get_by_role("link", name="Read something else"))
        hand.put("line", line)
        hand.press("Take the line")
    assert "bar switch" in hand.page.locator("[data-say]").inner_text()

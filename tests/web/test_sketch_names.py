"""A name that is typed beside a button is honoured, and what was tapped keeps its meaning."""

from __future__ import annotations

import html
import re

import pytest

from backprobe.sheet.reader import parse_sheet

from .sketch_browser import Browser

ASKED = "Which of these keeps people safe: "


def begun(language: str = "en") -> Browser:
    browser = Browser(language)
    browser.tap("add:fuse")
    return browser


@pytest.mark.parametrize(
    ("tile", "name", "guard"),
    [
        ("gate switch", "tailgate", "tailgate is shut"),
        ("gate switch", "rear flip", "gate is shut"),
        ("gate switch", "leg", "gate is shut"),
        ("seat switch", "operator", "seat is seated"),
        # The name says a seat, and was not what was tapped.
        ("bar switch", "seat", "bar is down"),
        ("brake pedal switch", "left", "brake is pressed"),
    ],
)
def test_a_guard_that_was_tapped_guards_whatever_it_is_called(tile: str, name: str, guard: str) -> None:
    browser = begun()
    before = browser.draft.text
    browser.tap(f"add:{tile}", name=name)
    assert name in browser.draft.text
    drawn = browser.draft.text
    browser.taps("add:coil", "put:frame")
    assert parse_sheet(browser.draft.text).functions["coil Y1"].guard == guard
    assert "No guard found" not in browser.text
    for _ in range(2):
        browser.tap("undo")
    assert browser.draft.text == drawn
    # What the button did goes back at one tap, whatever it wrote.
    browser.tap("undo")
    assert browser.draft.text == before


def test_a_switch_whose_work_its_load_tells_is_still_told_by_it() -> None:
    browser = begun()
    browser.tap("add:PTO switch", name="deck engage")
    browser.taps("add:seat switch", "add:clutch coil", "put:frame")
    assert "taken as closed with PTO on, because it feeds clutch coil Y1." in browser.text


@pytest.mark.parametrize(("name", "item"), [("C2-2", "C2-2"), ("c7", "C7-1"), ("", "C1-1")])
def test_a_typed_pin_goes_before_the_one_on_the_button(name: str, item: str) -> None:
    browser = begun()
    browser.tap("put:C1-1", name=name, value="")
    assert f"main: [battery+, fuse F1, {item}]" in browser.draft.text


def test_a_plug_that_was_met_goes_on_with_its_next_pin() -> None:
    browser = begun()
    browser.taps("put:C1-1", "put:C2-1")
    browser.tap("put:C2-2", name="C1")
    assert "C1-1, C2-1, C1-2]" in browser.draft.text


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en", "'grey one' is no pin of a plug. Write plug and pin, such as C2-2"),
        ("de", "'grey one' ist kein Steckerpin. Stecker und Pin schreiben, wie C2-2"),
    ],
)
def test_a_name_that_is_no_pin_is_asked_about_and_not_passed_over(language: str, said: str) -> None:
    browser = begun(language)
    before = browser.draft.text
    browser.tap("put:C1-1", name="grey one")
    assert said in browser.text
    assert browser.draft.text == before


def test_what_keeps_people_safe_is_asked_directly_above_every_start_of_the_job() -> None:
    browser = begun()
    browser.tap("put", item="boom switch > coil Y1 9 ohm > frame")
    page = html.unescape(browser.page.text)
    starts = page.split('<button name="do" value="job">')
    assert len(starts) == 3
    for above in starts[:-1]:
        # Nothing but the question stands between the last field and the button.
        last = above.rpartition('<p class="caution">')[2]
        assert f"{ASKED}boom switch?" in last
        assert "<input" not in last
        assert "<select" not in last


def test_a_typed_run_is_asked_the_same_above_its_complaint() -> None:
    browser = Browser()
    token = re.search(r'name="token" value="([^"]*)"', browser.page.text)
    assert token
    run = "battery+ > fuse F1 5 A > key > boom switch > coil Y1 8 ohm > frame"
    sent = {"token": token[1], "from": "typed"}
    page = html.unescape(browser.client.post("/jobs", data={**sent, "run": run}).text)
    above = page.partition('name="take" value="works"')[0].rpartition('<p class="caution">')[2]
    # The key keeps nobody safe, so it is not asked about.
    assert f"{ASKED}boom switch?" in above
    assert "<select" not in above
    guarded = browser.client.post("/jobs", data={**sent, "run": run.replace("boom", "tailgate")}).text
    assert 'name="take" value="works"' in guarded
    assert "No guard found" not in guarded

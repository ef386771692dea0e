"""What the sketch page says of guards, and that its buttons, names and messages lead nobody astray."""

from __future__ import annotations

import html
import re

import pytest

from backprobe.jobs.job import Job
from backprobe.sheet.templates import templates
from backprobe.web.library import LIBRARY
from backprobe.web.sketch_draft import Draft, pack, unpack

from .sketch_browser import Browser

NO_GUARD = "No guard found for coil Y1: no switch of a seat, gate, door, bar or brake is named on its way."


def drawn(*buttons: str, language: str = "en") -> Browser:
    browser = Browser(language)
    browser.taps(*buttons)
    return browser


def grid(browser: Browser) -> list[tuple[str, str]]:
    """Class and word of every button of the part grid, in its order."""
    taps = (
        browser.page.text.partition('id="next"')[2].partition('<div class="taps">')[2].partition("</div>")[0]
    )
    return re.findall(r'<button class="(\w*)" name="do" value="([^"]*)"', html.unescape(taps))


def test_guards_are_named_and_a_circuit_without_one_says_so() -> None:
    browser = drawn("add:fuse", "add:brake pedal switch", "add:seat switch", "add:relay coil", "put:frame")
    assert "Guards of relay K1: brake pressed, seat seated" in browser.text
    assert "No guard found" not in browser.text
    assert NO_GUARD in drawn("add:fuse", "add:coil", "put:frame").text


def test_a_misspelled_guard_is_asked_about_and_nothing_is_called_right() -> None:
    browser = Browser()
    browser.tap("put", item="gaet switch")
    assert "'gaet switch' is no switch that is known. Did you mean 'gate switch'?" in browser.text
    assert "Nothing is wrong" not in browser.text
    browser.tap("undo")
    browser.tap("put", item="valve coil Y1 20 ohn")
    assert "'20 ohn' has 'ohn' where a unit belongs. Did you mean 20 ohm?" in browser.text


def test_a_switch_of_an_unknown_name_is_asked_about_where_its_positions_stand() -> None:
    browser = Browser()
    browser.taps("add:fuse")
    browser.tap("put", item="boom switch")
    browser.taps("add:coil", "put:frame")
    assert NO_GUARD in browser.text
    assert "Nothing is known of a switch of this name." in browser.text
    browser.tap(
        "closed",
        part="boom switch",
        control="boom",
        on=["pressed"],
        all=["released", "pressed"],
        asked="guard",
        guard="yes",
    )
    assert "boom switch:\n    closed: {boom: pressed}\n    guard: yes\n" in browser.draft.text
    assert "Saved: boom switch" in browser.text
    assert "Guards of coil Y1: boom pressed" in browser.text
    assert "Nothing is known of a switch" not in browser.text


def test_a_switch_whose_name_is_a_guards_can_be_none() -> None:
    browser = drawn("add:fuse", "add:gate switch", "add:coil", "put:frame")
    said: dict[str, str | list[str]] = {
        "part": "gate switch",
        "control": "gate",
        "on": ["shut"],
        "all": ["open", "shut"],
    }
    browser.tap("closed", **said, asked="guard", guard="yes")
    # Its name says it: nothing more is written.
    assert "guard" not in browser.draft.text
    browser.tap("closed", **said, asked="guard")
    assert NO_GUARD in browser.text


def test_buttons_keep_their_places_and_frame_leads_after_a_load() -> None:
    browser = drawn("add:fuse")
    before = grid(browser)
    browser.taps("put:C1-1", "add:relay coil")
    after = grid(browser)
    kept = [word for _, word in before]
    # The next cavity has another number, at the same place.
    assert [re.sub(r"C1-\d", "C1", w) for _, w in after[: len(kept)]] == [
        re.sub(r"C1-\d", "C1", w) for w in kept
    ]
    assert [w for _, w in after[len(kept) :]] == [
        "put:C2-1",
        "put:relay contact K1",
        "put:relay resting contact K1",
    ]
    # Only what mostly comes next is filled: a plug may be anywhere.
    assert [w for look, w in grid(Browser()) if not look] == ["add:fuse"]
    assert [w for look, w in before if not look] == []
    assert [w for look, w in after if not look] == ["put:frame"]


def test_the_key_of_a_start_circuit_has_its_own_button() -> None:
    browser = drawn(
        "add:fuse", "add:key start switch", "add:brake pedal switch", "add:relay coil", "put:frame"
    )
    # What the start at one tap sends: the key in start, as the wire says.
    assert 'name="control:key" value="start"' in browser.page.text
    browser.tap("job", dead="relay K1", **{"control:key": "start", "control:brake": "pressed"})
    job = Job.open(browser.store, str(browser.page.url).rpartition("/")[2])
    assert job.record.title == "relay K1 dead"
    assert job.record.sheet_name == "relay K1 dead"
    assert dict(job.readings()[0].setup.state) == {"key": "start", "brake": "pressed"}


def test_the_neutral_switches_of_pedal_and_lever_stand_among_the_first_buttons() -> None:
    words = [w for _, w in grid(Browser())]
    assert words.index("add:lever neutral switch") == words.index("add:pedal neutral switch") + 1
    browser = drawn("add:fuse", "add:lever neutral switch", "add:relay coil", "put:frame")
    assert "Guards of relay K1: lever neutral" in browser.text


@pytest.mark.parametrize("name", ["lever raise switch", "lever switch raise", "lever contact raise"])
def test_a_lever_that_is_said_to_raise_guards_nobody_and_is_dead_in_raise(name: str) -> None:
    browser = drawn("add:fuse")
    browser.tap("put", item=f"{name} > coil Y1 9 ohm > frame")
    assert NO_GUARD in browser.text
    assert "coil Y1 is dead with: lever raise" in browser.text


def test_a_lever_whose_word_nobody_knows_is_asked_about_in_german_too() -> None:
    browser = drawn("add:fuse", language="de")
    browser.tap("put", item="lever swing switch > coil Y1 9 ohm > frame")
    said = "lever swing switch: gilt als geschlossen bei lever neutral, und als Schutz. Ist das so?"
    assert said in browser.text
    browser.tap("change:main:2", item="raise lever switch")
    assert "gilt als geschlossen bei lever raise, und nicht als Schutz. Ist das so?" in browser.text


def test_the_word_of_a_plug_button_is_its_pin_and_no_long_word_breaks_anywhere() -> None:
    browser = Browser()
    assert "Plug pin C1\u20111" in browser.text
    assert "Potentio\u00admeter" in browser.text


def test_an_open_run_is_not_called_right() -> None:
    browser = drawn("add:fuse", "add:coil")
    assert "Nothing is wrong so far, but without an end as yet: main." in browser.text
    assert "Nothing is wrong with it" not in browser.text
    browser.taps("put:frame")
    assert "Nothing is wrong with it." in browser.text


def test_what_is_saved_is_said_and_a_heading_goes_with_its_last_question() -> None:
    browser = drawn("add:fuse", "add:gate switch", "add:lamp", "put:frame")
    assert "What matters and is not known" in browser.text
    browser.tap("say", part="fuse F1", field="rating", unit="A", value="15")
    assert "Saved: fuse F1" in browser.text
    while asked := re.search(
        r'name="part" value="([^"]+)">\s*<input type="hidden" name="field" value="([^"]+)"', browser.page.text
    ):
        browser.tap("say", part=asked[1], field=asked[2], unit="W", value="21")
    assert "What matters and is not known" not in browser.text
    browser.tap("head", sheet="Sprayer V3", system="24 V")
    assert "Saved." in browser.text
    assert "Name and volts: Sprayer V3, 24 V" in browser.text


def test_the_answer_to_the_text_stands_under_its_button_with_the_line_that_is_wrong() -> None:
    browser = drawn("add:fuse", "add:coil", "put:frame")
    browser.tap("text", text="sheet: Mine\nruns:\n  main: [battery+, coil Y1, frame\n")
    assert str(browser.page.url).endswith("#checked")
    below = browser.page.text.partition('value="text"')[2]
    assert '<li value="3"><code>  main: [battery+, coil Y1, frame</code>' in below
    assert "closing bracket" in below
    assert "From before your last change" in browser.text
    assert 'class="stale"' in browser.page.text
    browser.tap("text", text="sheet: Mine\nruns:\n  main: [battery+, coil Y1, frame]\n")
    assert NO_GUARD in html.unescape(browser.page.text.partition('id="checked"')[2])
    assert 'class="stale"' not in browser.page.text


def test_what_was_said_at_the_start_goes_with_the_sketch_to_the_job() -> None:
    browser = Browser()
    fields = {"title": "Will not crank", "machine": "vine mower M3", "circumstance": ["wet"], "from": "taps"}
    token = re.search(r'name="token" value="(\w+)"', browser.page.text)
    assert token
    browser.page = browser.client.post("/jobs", data={"token": token[1], **fields})
    browser.taps("add:fuse", "add:key switch", "add:relay coil", "put:frame")
    assert 'value="Will not crank"' in browser.page.text
    assert "sheet: vine mower M3" in browser.draft.text
    shown = re.search(r'name="title" value="([^"]*)"', browser.page.text)
    assert shown
    browser.tap("job", dead="relay K1", title=shown[1], machine="vine mower M3", **{"control:key": "on"})
    job = Job.open(browser.store, str(browser.page.url).rpartition("/")[2])
    assert (job.record.title, job.record.machine) == ("Will not crank", "vine mower M3")
    assert job.record.sheet_name == "vine mower M3"


def test_a_circuit_typed_at_the_start_may_be_gone_on_with_by_taps() -> None:
    browser = Browser()
    token = re.search(r'name="token" value="(\w+)"', browser.page.text)
    assert token
    fields = {"run": "battery+ > fuse F1 5 A > gate switch", "from": "taps"}
    browser.page = browser.client.post("/jobs", data={"token": token[1], **fields})
    browser.taps("add:coil", "put:frame")
    assert "run 1: [battery+, fuse F1 5 A, gate switch, coil Y1, frame]" in browser.draft.text


def test_a_draft_survives_its_address_with_all_that_was_said() -> None:
    draft = Draft(title="Läuft nicht", machine="M3", before=("wet", "after repair"))
    assert unpack(pack(draft)) == draft
    assert unpack(pack(Draft())) == Draft()


def test_every_circuit_of_the_library_stands_under_one_complaint() -> None:
    offered = [name for _, circuits in LIBRARY for name, _ in circuits]
    assert sorted(offered) == [t.name for t in templates()]
    assert LIBRARY[0][0] == "It will not crank"


@pytest.mark.parametrize(
    ("language", "said"), [("en", "It will not crank"), ("de", "Der Anlasser dreht nicht")]
)
def test_the_library_speaks_of_complaints_not_of_files(language: str, said: str) -> None:
    page = Browser(language).get("/").text
    library = page.partition('<select id="template"')[2].partition("</select>")[0]
    assert f'<optgroup label="{said}">' in library
    assert not re.search(r">[a-z]+-[a-z-]+<", library)
    assert "demo" not in page.partition("<main")[2].lower()

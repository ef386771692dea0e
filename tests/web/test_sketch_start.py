"""From the last tap of a sketch to its job: at once where nothing must be asked, never on what cannot be."""

from __future__ import annotations

import html
import re

from backprobe.jobs.job import Job
from backprobe.sheet.templates import template
from backprobe.web.sketch_draft import Draft
from backprobe.web.sketch_edit import add, change, data_of, runs_of
from backprobe.web.sketch_view import view_of

from .sketch_browser import Browser

MOWER = ("add:fuse", "add:key switch", "add:PTO switch", "add:seat switch", "add:clutch coil", "put:frame")


def drawn(*buttons: str, language: str = "en") -> Browser:
    browser = Browser(language)
    browser.taps(*buttons)
    return browser


def next_panel(browser: Browser) -> str:
    return html.unescape(browser.page.text.partition('id="next"')[2].partition("</section>")[0])


def started_at_once(browser: Browser) -> Job:
    """Send the form that stands in the panel as it is."""
    form = next(f for f in next_panel(browser).split("<form") if 'value="job"' in f)
    fields = dict(re.findall(r'name="([^"]+)" value="([^"]*)"', form))
    fields.pop("do")
    browser.tap("job", **{k: v for k, v in fields.items() if k not in {"token", "s"}})
    return Job.open(browser.store, str(browser.page.url).rpartition("/")[2])


def test_a_complete_run_starts_its_job_at_one_tap() -> None:
    browser = drawn(*MOWER)
    panel = next_panel(browser)
    assert re.findall(r'<button name="do" value="([^"]+)"', panel.partition("<details")[0]) == ["job"]
    assert panel.index('value="job"') < panel.index("Add another wire")
    assert "coil Y1 is dead with: key on , PTO on , seat seated ." in browser.text
    assert "taken as closed with PTO on, because it feeds clutch coil Y1. Is that so?" in browser.text
    job = started_at_once(browser)
    assert [r.words() for r in job.readings()] == ["coil Y1 dead"]
    # The title has the words that were tapped.
    assert job.record.title == "clutch coil Y1 dead"
    assert dict(job.readings()[0].setup.state) == {"key": "on", "PTO": "on", "seat": "seated"}


def test_what_was_said_at_the_start_goes_along_with_one_tap() -> None:
    browser = Browser()
    token = re.search(r'name="token" value="(\w+)"', browser.page.text)
    assert token
    said = {"title": "Blades dead", "machine": "mower M2", "circumstance": ["wet"], "from": "taps"}
    browser.page = browser.client.post("/jobs", data={"token": token[1], **said})
    browser.taps(*MOWER)
    job = started_at_once(browser)
    assert (job.record.title, job.record.machine) == ("Blades dead", "mower M2")
    assert job.record.entries[0].data["circumstances"] == ["wet"]


def test_a_run_without_ground_starts_no_job_and_is_asked_about() -> None:
    browser = drawn("add:fuse", "add:key switch", "add:coil")
    assert 'value="job"' not in next_panel(browser)
    browser.tap("job", dead="coil Y1", **{"control:key": "on"})
    assert "Where does it go to ground?" in browser.text
    assert not browser.store.jobs()


def test_a_typed_run_without_ground_starts_no_job_either() -> None:
    browser = Browser()
    token = re.search(r'name="token" value="(\w+)"', browser.page.text)
    assert token
    run = "battery+ > fuse F1 5 A > key > coil Y1 8 ohm"
    browser.page = browser.client.post("/jobs", data={"token": token[1], "run": run, "from": "typed"})
    assert "Where does it go to ground?" in browser.text
    assert not browser.store.jobs()


def test_a_value_that_cannot_be_is_warned_of_at_its_line() -> None:
    browser = Browser()
    browser.tap("text", text="sheet: M\nruns:\n  main: [battery+, key, clutch coil Y1 4 Mohm, frame]\n")
    assert "12.0 V squared / 4.00 MΩ" in browser.text
    assert "line 3" in browser.text
    assert "Nothing is wrong with it." not in browser.text


def test_a_function_that_works_in_no_state_is_said_so() -> None:
    browser = Browser()
    # The key on and in start at once: no hand does that.
    browser.tap("put", item="fuse F1 > key > key start > coil Y1 8 ohm > frame")
    browser.tap(
        "closed", part="key switch", control="key", on=["on"], all=["off", "on", "start"], asked="guard"
    )
    assert "coil Y1 works in no operator state" in browser.text


def test_the_size_of_a_fuse_is_one_tap_and_never_asked_before() -> None:
    browser = drawn("add:fuse")
    panel = next_panel(browser)
    assert 'value="size:7.5"' in panel
    browser.tap("size:7.5", run="main", place="1")
    assert "main: [battery+, fuse F1 7.5 A]" in browser.draft.text
    assert "size:" not in next_panel(browser)
    assert "size:" not in next_panel(drawn("add:fuse", "add:key switch"))


def test_the_size_of_a_fuse_in_the_middle_leaves_the_pencil_behind_it() -> None:
    browser = drawn("add:key switch", "add:lamp", "put:frame")
    browser.tap("at:main:1")
    browser.tap("add:fuse")
    browser.tap("size:15", run="main", place="1")
    browser.tap("add:seat switch")
    assert "[battery+, fuse F1 15 A, seat switch, key switch, lamp H1, frame]" in browser.draft.text


def test_the_run_so_far_stands_above_the_buttons_with_undo_beside_it() -> None:
    panel = next_panel(drawn("add:fuse", "add:key switch", "add:seat switch"))
    above = " ".join(re.sub(r"<[^>]+>", " ", panel.partition("<h2")[0]).split())
    met = re.findall(r"fuse F1|key switch|seat switch|Undo|battery", above)
    assert met == ["fuse F1", "key switch", "seat switch", "Undo"]
    assert panel.index('value="undo"') < panel.index("What does the current meet next?")


def test_both_wires_of_the_key_stand_side_by_side() -> None:
    words = re.findall(r'name="do" value="(add:[^"]*)"', next_panel(drawn("add:fuse")))
    place = words.index("add:key switch")
    assert words[place + 1] == "add:key start switch"


def test_several_things_typed_as_one_are_several() -> None:
    draft = add(Draft(), "fuse F1 10A, key > seat switch")
    assert runs_of(data_of(draft.text))["main"] == ["battery+", "fuse F1 10A", "key", "seat switch"]
    draft = change(draft, "main", 1, "fuse F1 10A, C1-1")
    assert runs_of(data_of(draft.text))["main"][1:3] == ["fuse F1 10A", "C1-1"]


def test_a_run_of_the_text_may_be_joined_by_arrows_and_gone_on_with() -> None:
    browser = Browser()
    browser.tap("text", text="sheet: M\nruns:\n  main: [battery+ > fuse F1 5 A > key]\n")
    browser.taps("add:coil", "put:frame")
    assert "main: [battery+, fuse F1 5 A, key, coil Y1, frame]" in browser.draft.text


def test_a_switch_of_a_library_circuit_is_taken_out_with_all_that_is_said_of_it() -> None:
    draft = Draft(template("start-chain").text, "chain")
    for item in ("neutral switch", "C2-1", "C2-2"):
        draft = change(draft, "chain", runs_of(data_of(draft.text))["chain"].index(item), "")
        assert view_of(draft).problems == (), item
    sheet = view_of(draft).sheet
    assert sheet is not None
    assert "C2" not in sheet.connectors
    assert sheet.functions["starter"].guard == "seat is seated and brake is set"


def test_a_pto_switch_of_a_clutch_called_a_coil_is_turned_round_at_one_tick() -> None:
    browser = drawn("add:fuse", "add:PTO switch", "add:seat switch", "add:coil", "put:frame")
    assert "PTO switch: taken as closed with PTO off, as before a starter or an engine." in browser.text
    assert "Guards of coil Y1: PTO off, seat seated" in browser.text
    form = next(f for f in browser.page.text.split("<form") if 'name="part" value="PTO switch"' in f)
    # The tick of the guard stands there and is sent along as it was.
    was = re.search(r'name="was" value="(\w+)"', form)
    assert was
    browser.tap(
        "closed",
        part="PTO switch",
        control="PTO",
        on=["on"],
        all=["off", "on"],
        asked="guard",
        guard="yes",
        was=was[1],
    )
    assert "Guards of coil Y1: seat seated" in browser.text
    assert "taken as closed" not in browser.text


def test_a_pedal_of_a_typed_brake_switch_is_called_pressed_or_set() -> None:
    browser = Browser()
    browser.tap("put", item="fuse F1 5 A > brake switch > relay coil K1 80 ohm > frame")
    assert "brake pressed or set" in browser.text
    assert 'name="control:brake" value="set"' in browser.page.text


def test_a_circuit_of_the_library_may_be_changed_before_the_job() -> None:
    browser = Browser()
    token = re.search(r'name="token" value="(\w+)"', browser.page.text)
    assert token
    fields = {"template": "start-chain", "from": "change", "title": "Will not crank"}
    browser.page = browser.client.post("/jobs", data={"token": token[1], **fields})
    assert "/sketch" in str(browser.page.url)
    assert 'value="pick:chain:7"' in browser.page.text
    assert 'value="Will not crank"' in browser.page.text
    assert not browser.store.jobs()

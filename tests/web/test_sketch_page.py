"""The sketch page, from the first tap to the job, as a browser without JavaScript sees it."""

from __future__ import annotations

import backprobe as bp
from backprobe.jobs.job import Job
from backprobe.web.sketch_draft import MAX_TEXT
from backprobe.web.sketch_view import view_of

from .sketch_browser import Browser

ROW = (
    "add:key switch",
    "add:fuse",
    "add:relay coil",
    "add:PTO switch",
    "add:pedal neutral switch",
    "add:clutch switch",
    "put:frame",
)
"""Start relay with the guards in a row on its low side."""
READY = {"control:key": "on", "control:PTO": "off", "control:pedal": "neutral", "control:clutch": "pressed"}


def _row(language: str = "en") -> Browser:
    browser = Browser(language)
    browser.taps(*ROW)
    return browser


def test_three_switches_in_a_row_become_a_job_that_finds_the_open_one() -> None:
    browser = _row()
    assert view_of(browser.draft).items == (
        "battery+",
        "key switch",
        "fuse F1",
        "relay coil K1",
        "PTO switch",
        "pedal neutral switch",
        "clutch switch",
        "frame",
    )
    assert 'data-part="clutch switch"' in browser.page.text
    page = browser.tap("job", dead="relay K1", machine="vineyard tractor 3", title="Does not crank", **READY)
    name = str(page.url).rpartition("/")[2]
    job = Job.open(browser.store, name)
    assert [r.words() for r in job.readings()] == ["relay K1 dead"]
    assert job.record.machine == "vineyard tractor 3"

    # The world: the PTO switch does not close; the meter shows what the circuit then has.
    for point in ("before PTO switch", "after PTO switch"):
        shown = bp.predict(
            job.engine, job.readings()[0].setup, points=[point], fault="PTO switch: does not close"
        )[0]
        job.read(f"{point} to battery-: {shown.volts:.2f} V")
    suspects = job.answer().groups[0].suspects
    assert {name.partition(":")[0] for s in suspects for name in s.names} == {"PTO switch"}


def test_what_is_unknown_is_asked_and_answered_with_a_decimal_comma() -> None:
    browser = _row()
    assert "fuse F1: what is printed on the fuse?" in browser.text
    assert "? A" in browser.text
    browser.tap("say", part="fuse F1", field="rating", unit="A", value="7,5")
    assert "fuse F1: {rating: 7.5 A}" in browser.draft.text
    assert "what is printed on the fuse?" not in browser.text
    assert "7.5 A" in browser.text


def test_a_value_typed_beside_the_button_goes_into_the_run() -> None:
    browser = Browser()
    browser.tap("add:fuse", name="f4", value="5")
    browser.tap("wire:BU", stripe="WH", length="2,5", size="1")
    assert "fuse F4 5 A" in browser.draft.text
    assert "wire 2.5 m 1 mm2 BU/WH" in browser.draft.text


def test_a_switch_can_be_closed_the_other_way_round() -> None:
    browser = _row()
    browser.tap("closed", part="clutch switch", control="clutch", on=["up"], all=["up", "pressed"])
    assert "closed: {clutch: up}" in browser.draft.text
    assert "Nothing is wrong with it." in browser.text
    assert 'name="on" value="up" checked' in browser.page.text
    assert 'name="on" value="pressed">' in browser.page.text
    browser.tap("closed", part="key switch", control="key", on=["on", "start"], all=["off", "on", "start"])
    assert "Nothing is wrong with it." in browser.text
    assert "closed: {key: [on, start]}" in browser.draft.text
    browser.taps("undo", "undo")
    assert "controls" not in browser.draft.text


def test_undo_takes_one_step_back_and_the_address_keeps_the_sketch() -> None:
    browser = Browser()
    browser.taps("add:fuse", "add:key switch")
    again = browser.get(str(browser.page.url))
    assert "key switch" in again.text
    browser.taps("undo")
    assert "key switch" not in browser.draft.text
    assert "fuse F1" in browser.draft.text
    browser.taps("undo")
    assert "fuse" not in browser.draft.text
    assert not browser.draft.past


def test_a_second_run_passes_the_contact_of_the_relay() -> None:
    browser = _row()
    browser.taps("begin:battery+")
    assert "Only begun, and left out for now: run 2" in browser.text
    browser.taps("add:fuse", "put:relay contact K1", "add:coil", "put:frame")
    assert "run 2: [battery+, fuse F2, relay contact K1, coil Y1, frame]" in browser.draft.text
    assert "coil in path 1" in browser.text


def test_a_branch_leaves_from_what_was_met() -> None:
    browser = _row()
    browser.tap("begin", start="fuse F1")
    browser.taps("add:lamp", "put:frame")
    assert "run 2: [fuse F1, lamp H1, frame]" in browser.draft.text
    assert "Nothing is wrong with it." in browser.text


def test_something_forgotten_is_put_between_and_something_wrong_taken_out() -> None:
    browser = Browser()
    browser.taps("add:key switch", "add:fuse", "add:relay coil", "put:frame")
    browser.taps("pick:main:1")
    assert "Change key switch" in browser.text
    browser.taps("at:main:2")
    browser.tap("put:C1-1")
    assert "key switch, C1-1, fuse F1" in browser.draft.text
    browser.taps("pick:main:3")
    browser.tap("change:main:3", item="fuse F9 15 A")
    assert "C1-1, fuse F9 15 A, relay coil K1" in browser.draft.text
    browser.taps("pick:main:2", "remove:main:2")
    assert "C1-1" not in browser.draft.text


def test_a_controller_without_ground_is_drawn_once_its_ground_is_named() -> None:
    browser = Browser()
    browser.taps("add:fuse", "pin:battery")
    assert "has a floating ground" in browser.text
    assert "From before your last change: what stands there now cannot be drawn." in browser.text
    browser.taps("ground:controller")
    assert "Nothing is wrong with it." in browser.text
    assert 'data-part="controller"' in browser.page.text


def test_a_sensor_is_begun_at_its_supply_and_goes_on_at_its_output() -> None:
    browser = Browser()
    browser.tap("add:fuse")
    browser.tap("box:ratiometric sensor", owner="gate sensor")
    assert "ratiometric sensor gate sensor.supply" in browser.draft.text
    assert "<option>gate sensor.output</option>" in browser.page.text


def test_text_that_is_no_sheet_is_kept_and_its_message_stands_at_its_line() -> None:
    browser = _row()
    typed = "sheet: Mine\nruns:\n  main: [battery+, fuse F1 5 V, frame]\n"
    browser.tap("text", text=typed)
    assert browser.draft.text == typed
    listed = browser.page.text.partition('class="listing"')[2].partition("</ol>")[0]
    assert listed.count("<li") == 1
    assert '<li value="3"><code>  main: [battery+, fuse F1 5 V, frame]</code>' in listed
    assert "does not fit a fuse" in listed

    browser.tap("text", text="sheet: Mine\nruns: [")
    assert "cannot be read as it stands" in browser.text
    assert "What does the current meet next?" not in browser.text
    browser.taps("undo", "undo")
    assert "clutch switch" in browser.draft.text


def test_a_text_that_is_too_long_is_refused_at_its_field_and_kept() -> None:
    browser = _row()
    browser.tap("text", text="# long\n" + "x" * MAX_TEXT)
    assert f"is longer than {MAX_TEXT} characters" in browser.text
    assert "x" * 1000 in browser.page.text
    assert "clutch switch" in browser.draft.text


def test_a_complaint_that_lacks_a_state_is_asked_for_and_what_was_typed_stays() -> None:
    browser = _row()
    page = browser.tap("job", dead="relay K1", title="Does not crank", **{"control:key": "on"})
    assert "/sketch" in str(page.url)
    assert "does not say" in browser.text
    assert 'value="Does not crank"' in page.text
    assert not browser.store.jobs()


def test_a_job_without_a_complaint_is_opened_too() -> None:
    browser = _row()
    page = browser.tap("job", dead="", title="", machine="", circumstances=["wet"])
    job = Job.open(browser.store, str(page.url).rpartition("/")[2])
    assert job.readings() == []
    assert job.record.entries[0].data["circumstances"] == ["wet"]


def test_a_sketch_may_begin_from_a_template() -> None:
    browser = Browser()
    browser.tap("template", template="start-chain")
    assert "Nothing is wrong with it." in browser.text
    assert browser.draft.text.startswith("#")


def test_an_address_that_was_cut_is_refused_in_one_clear_message() -> None:
    answer = Browser().get("/sketch?s=eNrVjzEL")
    assert answer.status_code == 422
    assert "is no sketch: the address was cut or changed" in answer.text
    assert "Traceback" not in answer.text


def test_a_name_is_shown_and_never_taken_for_markup() -> None:
    browser = Browser()
    browser.tap("put", item="fuse <b>F1</b>")
    browser.tap("head", sheet='<script src="x">', system="24 V")
    assert "<b>F1" not in browser.page.text
    assert '<script src="x">' not in browser.page.text
    assert "system: 24 V" in browser.draft.text


def test_in_german_the_page_speaks_german_and_the_sheet_stays_as_it_is() -> None:
    browser = _row("de")
    assert "Dieser Strang ist vollständig" in browser.text
    assert "fuse F1: was steht auf der Sicherung?" in browser.text
    assert "bis dahin angenommen: 5,0" in browser.text
    assert "PTO switch" in browser.draft.text

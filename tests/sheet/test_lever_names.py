"""When the contact of a lever, a pedal or a stick is closed, after its name. Common practice, no source."""

from __future__ import annotations

import pytest

from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import try_states
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet
from backprobe.sheet.sketch import sketch


def lift(*switches: str) -> Sheet:
    return sketch(" > ".join(["battery+", "fuse F1 5 A", *switches, "coil lift valve 9 ohm", "frame"]))


@pytest.mark.parametrize(
    ("name", "control", "position"),
    [
        ("lever raise switch", "lever", "raise"),
        ("lever switch raise", "lever", "raise"),
        ("lever contact raise", "lever", "raise"),
        ("switch lever raise", "lever", "raise"),
        ("Lever-Raise switch", "lever", "raise"),
        ("lever lower switch", "lever", "lower"),
        ("lever forward switch", "lever", "forward"),
        ("lever reverse contact", "lever", "reverse"),
        ("lever left switch", "lever", "left"),
        ("pedal forward switch", "pedal", "forward"),
        ("joystick up switch", "joystick", "up"),
        ("stick switch extend", "stick", "extend"),
    ],
)
def test_a_position_in_the_name_is_where_the_contact_closes_and_guards_nobody(
    name: str, control: str, position: str
) -> None:
    sheet = lift(name)
    assert sheet.parts[name].closed == {control: frozenset({position})}
    assert sheet.controls[control].positions == ("neutral", position)
    assert sheet.functions["coil lift valve"].guard == ""
    # The valve moves with the lever there, and at rest in neutral.
    works = try_states(Engine(sheet)).works["coil lift valve"]
    assert works is not None
    assert dict(works.state) == {control: position}


@pytest.mark.parametrize(
    ("name", "control"),
    [
        ("lever switch", "lever"),
        ("lever contact", "lever"),
        ("lever neutral switch", "lever"),
        ("lever contact neutral", "lever"),
        ("left lever switch", "lever"),
        ("drive lever neutral switch", "lever"),
        ("neutral switch", "lever"),
        ("pedal neutral switch", "pedal"),
        ("joystick neutral contact", "joystick"),
    ],
)
def test_a_neutral_contact_stays_a_guard(name: str, control: str) -> None:
    sheet = lift(name)
    assert sheet.parts[name].closed == {control: frozenset({"neutral"})}
    assert sheet.functions["coil lift valve"].guard == f"{control} is neutral"


@pytest.mark.parametrize("name", ["raise lever switch", "safety lever down switch", "down lever switch"])
def test_a_name_that_may_mean_something_else_is_asked_about(name: str) -> None:
    sheet = lift(name)
    place = "raise" if "raise" in name else "down"
    assert f"{name}: taken as closed with lever {place}, and no guard. Is that so?" in sheet.unknown
    assert sheet.functions["coil lift valve"].guard == ""


@pytest.mark.parametrize("name", ["lever riase switch", "lever swing switch"])
def test_a_word_behind_the_lever_that_nobody_knows_is_asked_about(name: str) -> None:
    assert f"{name}: taken as closed with lever neutral, and as a guard. Is that so?" in lift(name).unknown
    assert not [text for text in lift("lever switch").unknown if "taken as closed" in text]


def test_a_travel_valve_changes_nothing_about_a_position_that_is_said() -> None:
    sheet = sketch("battery+ > lever reverse switch > coil travel valve > frame")
    assert sheet.parts["lever reverse switch"].closed == {"lever": frozenset({"reverse"})}


def test_two_contacts_of_one_lever_share_it() -> None:
    sheet = sketch(
        "battery+ > lever raise switch > coil Y1 > frame; battery+ > lever lower switch > coil Y2 > frame"
    )
    assert sheet.controls["lever"].positions == ("neutral", "raise", "lower")
    assert sheet.parts["lever raise switch"].closed == {"lever": frozenset({"raise"})}
    assert sheet.parts["lever lower switch"].closed == {"lever": frozenset({"lower"})}


def test_a_declared_lever_keeps_its_own_words() -> None:
    sheet = parse_sheet(
        "sheet: M\ncontrols: {lever: [neutral, up, down]}\n"
        "runs: {main: [battery+, lever raise switch, coil Y1, frame]}\n"
    )
    assert sheet.parts["lever raise switch"].closed == {"lever": frozenset({"up"})}
    assert sheet.controls["lever"].positions == ("neutral", "up", "down")


def test_a_sheet_that_says_neutral_of_it_makes_it_a_guard_again() -> None:
    sheet = parse_sheet(
        "sheet: M\ncontrols: {lever: [neutral, raise]}\n"
        "runs: {main: [battery+, lever raise switch, coil Y1, frame]}\n"
        "parts:\n  lever raise switch: {closed: {lever: neutral}}\n"
    )
    assert sheet.functions["coil Y1"].guard == "lever is neutral"


@pytest.mark.parametrize("name", ["seat contact", "seat switch 2", "seat switch left"])
def test_the_contact_of_a_seat_is_its_switch(name: str) -> None:
    assert lift(name).functions["coil lift valve"].guard == "seat is seated"


def test_the_contact_of_a_relay_is_no_switch() -> None:
    sheet = parse_sheet(
        "sheet: M\nparts: {PTO: {kind: relay}}\nruns:\n  one: [battery+, seat switch, PTO coil, frame]\n"
        "  two: [battery+, PTO contact, coil Y1, frame]\n"
    )
    assert [p.name for p in sheet.parts.values() if p.kind == "switch"] == ["seat switch"]

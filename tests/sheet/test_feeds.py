"""When a switch is closed after what it feeds. Common practice, no source."""

from __future__ import annotations

import pytest

from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import try_states
from backprobe.sheet.reader import parse_sheet
from backprobe.sheet.sketch import sketch


@pytest.mark.parametrize(
    ("line", "switch", "closed"),
    [
        ("battery+ > PTO switch > clutch coil Y1 > frame", "PTO switch", {"PTO": "on"}),
        ("battery+ > clutch coil Y1 > PTO switch > frame", "PTO switch", {"PTO": "on"}),
        (
            "battery+ > PTO switch > relay coil K1 > frame; battery+ > relay contact K1 > coil deck > frame",
            "PTO switch",
            {"PTO": "on"},
        ),
        (
            "battery+ > PTO switch > splice X1; splice X1 > clutch coil Y1 > frame",
            "PTO switch",
            {"PTO": "on"},
        ),
        ("battery+ > key start > PTO switch > relay coil K1 > frame", "PTO switch", {"PTO": "off"}),
        # A second circuit on the same battery is none of this switch's.
        (
            "battery+ > PTO switch > relay coil K1 > frame; battery+ > clutch coil Y1 > frame",
            "PTO switch",
            {"PTO": "off"},
        ),
        ("battery+ > lever switch > coil travel valve > frame", "lever switch", {"lever": "drive"}),
        ("battery+ > neutral switch > coil travel valve > frame", "neutral switch", {"lever": "neutral"}),
        (
            "battery+ > parking brake switch > coil travel valve > frame",
            "parking brake switch",
            {"parking brake": "released"},
        ),
        (
            "battery+ > parking brake switch > relay coil K1 > frame",
            "parking brake switch",
            {"parking brake": "set"},
        ),
        ("battery+ > brake pedal switch > relay coil K1 > frame", "brake pedal switch", {"brake": "pressed"}),
        ("battery+ > hood switch > relay coil K1 > frame", "hood switch", {"hood": "shut"}),
    ],
)
def test_a_switch_is_closed_after_its_load(line: str, switch: str, closed: dict[str, str]) -> None:
    found = sketch(line).parts[switch].closed
    assert {control: set(positions) for control, positions in found.items()} == {
        control: {position} for control, position in closed.items()
    }


def test_what_was_taken_is_said_and_the_switch_of_a_clutch_guards_nobody() -> None:
    sheet = sketch("battery+ > key > PTO switch > seat switch > clutch coil Y1 3 ohm > frame")
    assert (
        "PTO switch: taken as closed with PTO on, because it feeds clutch coil Y1. Is that so?"
        in sheet.unknown
    )
    assert sheet.functions["coil Y1"].guard == "seat is seated"
    works = try_states(Engine(sheet)).works["coil Y1"]
    assert works is not None
    assert dict(works.state) == {"key": "on", "PTO": "on", "seat": "seated"}


def test_an_interlock_of_a_starter_says_so_too_and_guards() -> None:
    sheet = sketch("battery+ > key start > PTO switch > relay coil K1 80 ohm > frame")
    assert "PTO switch: taken as closed with PTO off, as before a starter or an engine. Is that so?" in (
        sheet.unknown
    )
    assert sheet.functions["relay K1"].guard == "PTO is off"


def test_a_sheet_that_says_when_a_switch_is_closed_is_not_asked() -> None:
    sheet = parse_sheet(
        "sheet: Mower\nruns:\n  main: [battery+, PTO switch, clutch coil Y1 3 ohm, frame]\n"
        "parts:\n  PTO switch: {closed: {PTO: off}}\ncontrols: {PTO: [off, on]}\n"
    )
    assert sheet.parts["PTO switch"].closed == {"PTO": frozenset({"off"})}
    assert not [text for text in sheet.unknown if "taken as closed" in text]


def test_a_hood_is_the_cover_that_a_sheet_declares() -> None:
    sheet = parse_sheet(
        "sheet: M\ncontrols: {cover: [open, shut]}\nruns: {main: [battery+, hood switch, coil Y1, frame]}\n"
    )
    assert sheet.parts["hood switch"].closed == {"cover": frozenset({"shut"})}

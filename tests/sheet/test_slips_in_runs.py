"""A slip of the finger in a run is asked about: a misspelled guard is no guard, such a unit no value."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.errors import SheetError
from backprobe.sheet.kinds import registry
from backprobe.sheet.lexicon import SWITCH_WORDS, switch_habit
from backprobe.sheet.spelling import ORDINARY, distance, nearly, respelt

SHEET = "sheet: Vine sprayer\nruns:\n  main: [battery+, fuse F1 5 A, {item}, coil Y1 8 ohm, frame]\n"


def refused(item: str) -> str:
    with pytest.raises(SheetError) as caught:
        bp.parse_sheet(SHEET.format(item=item), file="sprayer.yaml")
    assert all(p.line == 3 and p.file == "sprayer.yaml" for p in caught.value.problems)
    return str(caught.value)


@pytest.mark.parametrize(
    ("item", "meant"),
    [
        ("gaet switch", "gate switch"),
        ("seet switch", "seat switch"),
        ("barke switch", "brake switch"),
        ("break switch", "brake switch"),
        ("saet button", "seat button"),
        ("left dor switch", "left door switch"),
        ("gate swich", "gate switch"),
        ("fues F2", "fuse F2"),
        ("kye", "key"),
        ("brake", "brake switch"),
        ("relay coul K4", "relay coil K4"),
        ("relay contat K4", "relay contact K4"),
        ("K4 resting contcat", "K4 resting contact"),
    ],
)
def test_what_was_meant_is_named(item: str, meant: str) -> None:
    said = refused(item)
    assert f"Did you mean '{meant}'?" in said
    assert "LED indicator" not in said


def test_a_misspelled_part_of_the_parts_section_is_named_too() -> None:
    text = SHEET.format(item="gate switch") + "parts: {fues F1: {rating: 5 A}}\n"
    with pytest.raises(SheetError, match=r":5: parts\.fues F1: .* has no kind\. Did you mean 'fuse F1'\?"):
        bp.parse_sheet(text.replace("sheet: Vine sprayer", "sheet: Vine sprayer\nsystem: 12 V"))


def test_a_terminal_of_a_misspelled_part_is_named_too() -> None:
    with pytest.raises(SheetError, match=r"Did you mean 'controller\.valve output'\?"):
        bp.sketch("battery+ > fuse F1 5 A > controler.valve output")


@pytest.mark.parametrize(
    "item", ["boom switch", "level switch", "latch switch", "start button", "tilt switch", "cooler switch"]
)
def test_a_switch_of_another_name_is_taken(item: str) -> None:
    sheet = bp.parse_sheet(SHEET.format(item=item))
    name = item.split(maxsplit=1)[0]
    assert sheet.parts[item].closed == {name: frozenset({"pressed"})}
    asked = [
        q for q in sheet.unknown if q.startswith(f"{item}: taken as closed with {name} pressed, and no guard")
    ]
    # A button says itself that it is pressed.
    assert len(asked) == (0 if item.endswith("button") else 1)


def test_a_switch_that_is_really_called_so_is_declared_and_asked_no_more() -> None:
    text = SHEET.format(item="gaet switch").replace("runs:", "controls: {gaet: [up, down]}\nruns:")
    sheet = bp.parse_sheet(text + "parts: {gaet switch: {closed: {gaet: down}, guard: yes}}\n")
    assert sheet.unknown == ()
    assert sheet.functions["coil Y1"].guard == "gaet is down"


def test_a_guard_is_what_the_sheet_says_it_is() -> None:
    text = SHEET.format(item="boom switch, gate switch")
    said = "parts: {boom switch: {guard: yes}, gate switch: {guard: no}}\n"
    assert bp.parse_sheet(text).functions["coil Y1"].guard == "gate is shut"
    sheet = bp.parse_sheet(text + said)
    assert sheet.functions["coil Y1"].guard == "boom is pressed"
    assert sheet.unknown == ()


@pytest.mark.parametrize(
    ("item", "said"),
    [
        ("valve coil Y2 20 ohn", "'20 ohn' has 'ohn' where a unit belongs. Did you mean 20 ohm?"),
        ("valve coil Y2 20 omh", "Did you mean 20 ohm?"),
        ("valve coil Y2 4.7 kohn", "Did you mean 4.7 kohm?"),
        ("fuse F3 15", "'15' has no unit. Write such as 15 A."),
        ("fuse F3 7.5 smalls", "'7.5 smalls' has 'smalls' where a unit belongs. Write such as 7.5 A."),
        ("lamp H1 21 wats", "Did you mean 21 W?"),
        ('"fuse F3 7,5 A"', "'7,5 A' has a decimal comma. Write `7.5 A`, with a point."),
        ("fuse F3 7,5 A", "'5 A' is a value without a part"),
    ],
)
def test_a_number_without_a_unit_that_is_known_is_no_part_of_a_name(item: str, said: str) -> None:
    found = refused(item)
    assert said in found
    assert "sprayer.yaml:3: runs.main" in found


@pytest.mark.parametrize(
    ("item", "part", "field", "nominal"),
    [
        ("fuse F3 15 amps", "fuse F3", "rating", 15),
        ("fuse F3 15a", "fuse F3", "rating", 15),
        ("coil Y2 20 Ohms", "coil Y2", "ohms", 20),
        ("pump 2 coil 9.5 OHM", "pump 2 coil", "ohms", 9.5),
        ("wire W7 2 metres", "wire W7", "length", 2),
    ],
)
def test_a_unit_may_be_spelt_out(item: str, part: str, field: str, nominal: float) -> None:
    value = bp.parse_sheet(SHEET.format(item=item)).parts[part].values[field]
    assert (value.nominal, value.origin.note) == (nominal, "as written in the run")


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        (
            "main: [battery+, coil Y1, frame\n",
            3,
            "has a '[' without its closing bracket. Put ']' where the list ends.",
        ),
        (
            "main: battery+, coil Y1, frame]\n",
            3,
            "has a ']' without its opening bracket. Put '[' where the list begins.",
        ),
        (
            "main: [battery+, coil Y1, frame\n  two: [battery+, coil Y2, frame]\n",
            3,
            "has a '[' without its closing bracket.",
        ),
        (
            "main: [battery+, coil Y1, frame]\nparts:\n  coil Y1: {ohms: 9 ohm\n",
            5,
            "has a '{' without its closing bracket.",
        ),
    ],
)
def test_a_missing_bracket_is_one_plain_message(text: str, line: int, said: str) -> None:
    with pytest.raises(SheetError) as caught:
        bp.parse_sheet(f"sheet: Vine sprayer\nruns:\n  {text}")
    assert [p.line for p in caught.value.problems] == [line]
    assert said in str(caught.value)


def test_the_key_of_a_start_circuit_is_live_in_start_only() -> None:
    for words in ("key start", "key in start", "key only in start", "key start switch"):
        sheet = bp.sketch(f"battery+ > fuse F1 5 A > {words} > brake switch > relay coil K1 > frame")
        assert sheet.parts["key start switch"].closed == {"key": frozenset({"start"})}
        assert sheet.functions["relay K1"].guard == "brake is set"


def test_every_word_of_a_switch_is_known_and_no_other_word_is_near_it() -> None:
    kinds = {w for phrase in registry().by_word for w in phrase.split()}
    assert all(switch_habit(f"{word} switch").known for word in SWITCH_WORDS)
    assert not [w for w in SWITCH_WORDS if nearly(w, SWITCH_WORDS)]
    assert not ORDINARY & {w.lower() for w in SWITCH_WORDS}
    assert [w for w in ORDINARY if respelt(f"{w} switch", SWITCH_WORDS | kinds)] == []


@pytest.mark.parametrize(
    ("one", "other", "slips"),
    # Damerau 1964: a letter more, less, wrong, or two neighbours the wrong way round is one slip.
    [
        ("gate", "gate", 0),
        ("gaet", "gate", 1),
        ("gat", "gate", 1),
        ("gates", "gate", 1),
        ("gave", "gate", 1),
        ("swtich", "switch", 1),
        ("kitten", "sitting", 3),
        ("", "bar", 3),
    ],
)
def test_slips_are_counted(one: str, other: str, slips: int) -> None:
    assert distance(one, other) == distance(other, one) == slips

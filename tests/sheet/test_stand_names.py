"""Names of guards beside seat and gate: what a machine stands on, interlocks. Common practice, no source."""

from __future__ import annotations

import pytest

from backprobe.errors import SheetError
from backprobe.sheet.lexicon import switch_habit
from backprobe.sheet.model import Sheet
from backprobe.sheet.sketch import sketch


def boom(switch: str) -> Sheet:
    return sketch(f"battery+ > fuse F1 5 A > {switch} > relay coil K1 80 ohm > frame")


@pytest.mark.parametrize(
    ("name", "guard", "asked"),
    [
        ("tailgate switch", "tailgate is shut", False),
        ("leg switch", "leg is down", True),
        ("support leg switch", "leg is down", True),
        ("leg up switch", "leg is up", True),
        ("jack switch", "jack is down", True),
        ("stand contact", "stand is down", True),
        ("side stand switch", "stand is up", True),
        ("lift arm support switch", "support is down", True),
        ("ramp switch", "ramp is up", True),
        ("interlock switch", "interlock is shut", True),
        ("guard switch", "guard is shut", True),
        ("safety switch", "safety is shut", True),
        # The word before it says what moves.
        ("seat interlock switch", "seat is seated", False),
        ("tailgate door switch", "door is shut", False),
    ],
)
def test_a_guards_name_guards_and_is_asked_about_where_it_may_be_the_other_way(
    name: str, guard: str, asked: bool
) -> None:
    sheet = boom(name)
    assert sheet.functions["relay K1"].guard == guard
    assert any("as a guard. Is that so?" in text for text in sheet.unknown) == asked


@pytest.mark.parametrize("name", ["stand-by switch", "leg extend button", "jack up button", "start switch"])
def test_what_only_sounds_like_one_is_none(name: str) -> None:
    assert boom(name).functions["relay K1"].guard == ""


@pytest.mark.parametrize("word", ["leg", "ramp", "tailgate", "interlock"])
def test_a_bare_word_is_asked_whether_its_switch_is_meant(word: str) -> None:
    with pytest.raises(SheetError, match=f"Did you mean '{word} switch'"):
        boom(word)


@pytest.mark.parametrize("name", ["lamp switch", "start switch", "start button", "back switch"])
def test_short_words_are_not_taken_for_a_slip(name: str) -> None:
    assert not switch_habit(name).known
    boom(name)

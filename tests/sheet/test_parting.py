"""A comma or an arrow inside a run: no part may be swallowed by the name of the one before it."""

from __future__ import annotations

import pytest

from backprobe.errors import SheetError
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet
from backprobe.sheet.sketch import sketch

WANTED = ["fuse F1", "key switch", "hood switch", "coil Y1"]


def drawn(sheet: Sheet) -> list[str]:
    """Parts that were written, in their order."""
    return [p.name for p in sheet.parts.values() if not p.implied]


def in_sheet(run: str) -> Sheet:
    """A sheet with one run as it is written."""
    return parse_sheet(f"sheet: Mower\nruns:\n  main: {run}\n")


@pytest.mark.parametrize(
    "line",
    [
        "battery+ > fuse F1 10A, key > hood switch > coil Y1 > frame",
        "battery+, fuse F1 10 A, key, hood switch, coil Y1, frame",
        "battery+,fuse F1 10A,key,hood switch,coil Y1,frame",
        "main: [battery+, fuse F1 10 A, key, hood switch, coil Y1, frame]",
    ],
)
def test_a_comma_parts_a_typed_line_as_an_arrow_does(line: str) -> None:
    sheet = sketch(line)
    assert drawn(sheet) == WANTED
    assert sheet.parts["fuse F1"].values["rating"].nominal == 10
    assert set(sheet.controls) == {"key", "hood"}


@pytest.mark.parametrize(
    "run",
    [
        "[battery+ > fuse F1 10 A > key > hood switch > coil Y1 > frame]",
        "[battery+, fuse F1 10 A > key, hood switch, coil Y1, frame]",
        "battery+ > fuse F1 10 A > key > hood switch > coil Y1 > frame",
    ],
)
def test_an_arrow_parts_a_list_as_a_comma_does(run: str) -> None:
    assert drawn(in_sheet(run)) == WANTED


def test_a_comma_that_is_left_inside_a_part_is_refused_with_what_was_meant() -> None:
    with pytest.raises(SheetError) as caught:
        in_sheet("[battery+, 'fuse F1 10 A, key', coil Y1, frame]")
    assert "has a comma inside one part. Did you mean 'fuse F1 10 A > key'?" in str(caught.value)


def test_a_decimal_comma_is_never_read_as_a_point_or_as_two_things() -> None:
    with pytest.raises(SheetError, match=r"Write `12\.4 ohm`, with a point"):
        sketch("battery+ > coil Y1 12,4 ohm > frame")
    with pytest.raises(SheetError, match="'4 ohm' is a value without a part"):
        in_sheet("[battery+, coil Y1 12,4 ohm, frame]")


@pytest.mark.parametrize(
    ("item", "said"),
    [
        ("fuse F1 o.2 A", "'o.2' has the letter o where a zero belongs. Write 0.2."),
        ("fuse F1 1o A", "'1o' has the letter o where a zero belongs. Write 10."),
        ("coil Y1 12.o ohm", "'12.o' has the letter o where a zero belongs. Write 12.0."),
    ],
)
def test_the_letter_o_in_a_value_is_said(item: str, said: str) -> None:
    with pytest.raises(SheetError) as caught:
        sketch(f"battery+ > {item} > frame")
    assert said in str(caught.value)


def test_a_designation_with_an_o_is_none() -> None:
    assert drawn(sketch("battery+ > fuse F10 > switch O2 > coil Y1 8 ohm > frame"))[1] == "switch O2"

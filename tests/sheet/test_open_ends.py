"""Runs that end in the air are asked about; what another run goes on with is no such end."""

from __future__ import annotations

import pytest

from backprobe.errors import SheetError
from backprobe.sheet.open_ends import open_ends
from backprobe.sheet.sketch import sketch
from backprobe.sheet.templates import templates
from backprobe.sheet.unworkable import refuse_unworkable


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("battery+ > fuse F1 > key > coil Y1", ["'coil Y1' ends the run, and nothing comes behind it"]),
        ("battery+ > fuse F1 > C1-1", ["'C1-1' ends the run"]),
        ("fuse F1 > coil Y1 > frame", ["'fuse F1' begins the run, and nothing feeds it"]),
        ("fuse F1 > coil Y1", ["'fuse F1' begins the run", "'coil Y1' ends the run"]),
        ("battery+ > fuse F1 > coil Y1 > frame", []),
        ("battery+ > splice X1; splice X1 > coil Y1 > frame", []),
        ("battery+ > fuse F1 > lamp H1 > frame; fuse F1 > coil Y1 > battery-", []),
        ("battery+ > fuse F1 > C1-1; C1-1 > coil Y1 > frame", []),
        ("battery+ > fuse F1 > controller.battery; controller.ground > frame", []),
    ],
)
def test_an_end_in_the_air_is_asked_about(line: str, asked: list[str]) -> None:
    found = [str(p) for p in open_ends(sketch(line))]
    assert len(found) == len(asked)
    assert all(said in text for said, text in zip(asked, found, strict=True))


def test_the_question_is_where_it_goes_to_ground() -> None:
    with pytest.raises(SheetError, match="Where does it go to ground"):
        refuse_unworkable(sketch("battery+ > key > coil Y1"))


def test_no_sheet_of_the_library_has_one() -> None:
    assert [t.name for t in templates() if open_ends(t.sheet())] == []

"""The same reading in other words, as a mechanic types it beside a machine; common practice, no source."""

from __future__ import annotations

from dataclasses import replace

import pytest

import backprobe as bp
from backprobe.readings.lines import parse_context
from backprobe.readings.spoken import plain_words
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet

TEXT = """\
sheet: Vine mulcher, blade drive
system: 24 V
controls: {key: [off, on], seat: [empty, seated]}
runs:
  work: [battery+, fuse F6 20 A, relay contact K7, C9-1, coil Y8 14 ohm, frame]
  hold: [battery+, fuse F5 3 A, key, seat switch, relay coil K7 230 ohm, frame]
"""
STATE = "key on, seat seated, all plugged"


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    return parse_sheet(TEXT, file="mulcher.yaml")


def read(line: str, sheet: Sheet) -> bp.Reading:
    return bp.parse_reading(line, sheet, parse_context(STATE, sheet))


@pytest.mark.parametrize(
    ("said", "plain"),
    [
        ("red on C9-1, black on frame: 23.7 V", "C9-1 to frame: 23.7 V"),
        ("Volts: red on C9-1, black on frame: 23.7 V", "C9-1 to frame: 23.7 V"),
        ("red C9-1 black ground 23.7V", "C9-1 to frame: 23.7 V"),
        ("red on C9-1, black on B-: OL", "C9-1 to battery-: OL"),
        ("C9-1 to gnd is 23.7V", "C9-1 to frame: 23.7 V"),
        ("B+ to B- = 24.9 V", "battery+ to battery-: 24.9 V"),
        ("C9-1 to frame: 23.7 V, ignition on", "C9-1 to frame: 23.7 V, key on"),
        ("C9-1 to frame: 0.4 V, seat is empty", "C9-1 to frame: 0.4 V, seat empty"),
        ("coil Y8 won't work", "coil Y8 dead"),
        ("coil Y8 doesn\u2019t come on, key on", "coil Y8 dead, key on"),
        ("relay K7 doesn't click", "relay K7 does not click"),
        ("swapped relay K7, still dead", "swapped relay K7 no change"),
        ("looked at fuse F6: blown", "looked at fuse F6 broken"),
        ("test light on C9-1 to ground lights", "test lamp C9-1 to frame: lit"),
    ],
)
def test_what_is_said_otherwise_is_the_same_reading(said: str, plain: str, sheet: Sheet) -> None:
    assert replace(read(said, sheet), text="") == replace(read(plain, sheet), text="")


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("C9-1 to frame: 23,7 V", "decimal comma"),
        ("C9-1 to frame 23,7V, key on", "Write a decimal point: 23.7V"),
        ("C9-1 to frame 0", "has no unit. Write `C9-1 to frame: 0 V`"),
        ("C9-1 23.7", "Write `C9-1 to battery-: 23.7 V`"),
        ("C9-1 to frame: 23.7 V, seat on", "is no position of seat. Write `seat empty` or `seat seated`"),
        ("C9-1 to frame: 23.7 V, seat in", "is no position of seat"),
        ("C9-1 to frame: 23.7 V, unplugged", "does not say which plug"),
        ("C9-1 to frame: 23.7 V, on", "does not say which plug"),
        ("K7 30 to frame: 23.7 V", "Did you mean 'relay K7.30'?"),
        ("coil to frame: 23.7 V", "Did you mean 'after coil Y8'"),
        ("test lamp on C9-1 dark", "Write `test lamp C9-1 to battery-: dark`"),
    ],
)
def test_what_may_mean_two_things_is_refused_with_what_to_write(
    line: str, message: str, sheet: Sheet
) -> None:
    with pytest.raises(bp.ReadingError) as caught:
        read(line, sheet)
    assert message in str(caught.value)


@pytest.mark.parametrize("line", ["C9-1 to battery-: 23.7 V", "coil Y8 dead, C9 unplugged, fuse F5 out"])
def test_plain_lines_are_left_alone(line: str) -> None:
    assert plain_words(line) == line

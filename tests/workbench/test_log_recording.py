"""Tables of recording meters: headings, units, separators, times, gaps, notes; and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from backprobe.errors import ReadingError
from backprobe.workbench.recording import Note, parse_log, parse_notes


def test_units_stand_in_the_heading() -> None:
    found = parse_log("time [ms],signal (mV),draw/mA\n0,1500,20\n100,1600,30\n")
    assert found.times.tolist() == [0.0, 0.1]
    assert [(c.name, c.unit) for c in found.channels] == [("signal", "V"), ("draw", "A")]
    assert found.channels[0].values == pytest.approx([1.5, 1.6])
    assert found.channels[1].values == pytest.approx([0.02, 0.03])


def test_plain_names_and_no_heading_are_volts_and_seconds() -> None:
    assert [(c.name, c.unit) for c in parse_log("t,volts,amps\n0,1,2\n1,1,2\n").channels] == [
        ("volts", "V"),
        ("amps", "A"),
    ]
    bare = parse_log("0,4.9\n1,4.8\n")
    assert (bare.channels[0].name, bare.channels[0].unit) == ("channel 1", "V")


def test_a_decimal_comma_goes_with_semicolons_and_tabs() -> None:
    for separator in (";", "\t"):
        text = "time [s];signal [V]\n0,0;4,93\n0,1;4,95\n".replace(";", separator)
        found = parse_log(text)
        assert found.times == pytest.approx([0, 0.1])
        assert found.channels[0].values == pytest.approx([4.93, 4.95])


def test_what_a_meter_writes_for_no_value_is_none() -> None:
    found = parse_log("time,a,b\n0,1,2\n1,,OL\n2,NaN,\n3,---,3\n4,5,6\n")
    assert np.isnan(found.channels[0].values).tolist() == [False, True, True, True, False]
    assert np.isnan(found.channels[1].values).tolist() == [False, True, True, False, False]


def test_lines_before_the_heading_and_comments_are_left_out() -> None:
    text = "Logger 3\nstart,Tuesday\n\ntime,signal\n# calibrated\n0,1\n\n1,2\n"
    assert parse_log(text).channels[0].values.tolist() == [1.0, 2.0]


def test_times_of_day_go_past_midnight_and_dates_do_not_matter() -> None:
    found = parse_log("time,a\n23:59:59.5,1\n0:00:00.5,2\n0:00:01,3\n")
    assert found.clock
    assert found.times - found.times[0] == pytest.approx([0, 1, 1.5])
    dated = parse_log("date,a\n2026-03-04 14:00:00,1\n2026-03-04 14:00:02,2\n")
    assert dated.times == pytest.approx([50400, 50402])


def test_notes_come_from_a_column_or_a_file() -> None:
    found = parse_log('time;a;note\n0;1,0;\n1;1,1;"shook C2, hard"\n2;1,2;door shut\n')
    assert found.notes == (Note(1.0, "shook C2, hard"), Note(2.0, "door shut"))
    taken = parse_notes("1.5 s: horn\n# no\n0.5; shook  C2\n", found)
    assert taken == (Note(0.5, "shook C2"), Note(1.5, "horn"))
    clocked = parse_log("time,a\n14:00:00,1\n14:00:05,2\n")
    assert parse_notes("14:00:03: horn", clocked) == (Note(50403.0, "horn"),)


def test_a_channel_is_found_by_name_and_the_first_one_without() -> None:
    found = parse_log("time,a,b\n0,1,2\n1,1,2\n")
    assert found.channel("B").name == "b"
    assert found.channel().name == "a"


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("", 0, "no row with a time and a value"),
        ("time,signal\n", 0, "no row"),
        ("time,signal\n0,1\n1,high\n2,1\n", 3, "signal: 'high' is no number"),
        ("time,signal\n0,1\n\n1\n", 4, "is missing in this row"),
        ("time,signal\n0,1\n2,1\n1,1\n", 4, "is before the row above"),
        ("time,signal\n0,1\n,1\n1,1\n", 3, "is missing in this row"),
        ("time,signal\n5,1\n5,1\n", 0, "does not go on"),
        ("time,a,b\n0,1,\n1,1,\n", 0, "fewer than two values"),
        ('time,a,note\n0,1,"x\n1,1,y"\n2,2,\n', 2, "is not closed"),
        ("time [week],a\n0,1\n1,1\n", 1, "is not a unit of time"),
        ("time,a [bar]\n0,1\n1,1\n", 1, "is not a unit of a channel"),
        ("time,a\n14:00:00,1\nnoon,2\n", 3, "is no time like the first one"),
    ],
)
def test_bad_tables_are_refused_with_line_and_column(text: str, line: int, says: str) -> None:
    with pytest.raises(ReadingError, match=says) as caught:
        parse_log(text, file="seat.csv")
    assert caught.value.problems[0].file == "seat.csv"
    assert caught.value.problems[0].line == line


def test_notes_of_another_kind_of_time_are_refused() -> None:
    found = parse_log("time,a\n0,1\n1,1\n")
    with pytest.raises(ReadingError, match="no time of this recording"):
        parse_notes("14:00:00: horn", found, file="n.txt")


def test_a_long_table_is_read_whole() -> None:
    rows = "\n".join(f"{i / 10:.1f},{5 + i % 2 / 100:.2f}" for i in range(120_000))
    found = parse_log(f"time,signal\n{rows}\n")
    assert len(found.times) == 120_000
    assert float(found.channels[0].values.mean()) == pytest.approx(5.005)

"""No text makes a traceback: it is a reading, or it is refused in words."""

from __future__ import annotations

import json
import re

from hypothesis import example, given, settings
from hypothesis import strategies as st

import backprobe as bp
from backprobe.errors import ReadingError
from backprobe.readings.points import known_points
from backprobe.report.data import answer_data
from backprobe.report.words import answer_text
from tests.cli.helpers import ALL, SHEET, SKETCH, run, too_wide

SHEETS = (bp.parse_sheet(SHEET), bp.sketch(SKETCH))
WORDS = re.split(
    r"\|",
    "to|against|:|,|;|key|on|off|gate|shut|lever|raise|dead|works|amps|across|drop|OL|4.7k|nan|unsteady|"
    "swapped|looked at|fine|no change|clicks|code|shows|is|open|jumper|test lamp|steel|K3|F1|Y2|C9|lit|"
    "dark|3 flashes|state:|unplugged|out|pulled|plugged|and|+|&|about|-3|1e999|12.4 V|0.5 ohm|1 A|mA|"
    "\0|é|all plugged|C2 unplugged|fuse F1 out|lift",
)
LINES = st.one_of(
    st.text(max_size=60),
    st.lists(st.sampled_from([*WORDS, *known_points(SHEETS[0])]), max_size=9).map(" ".join),
    st.lists(st.sampled_from([*WORDS, *known_points(SHEETS[0])]), max_size=6).map(
        lambda w: f"{' '.join(w)}, {ALL}"
    ),
)


@settings(max_examples=400)
@given(st.sampled_from(SHEETS), LINES)
@example(SHEETS[0], f"amps at F1: 3 A, {ALL}")
@example(SHEETS[0], f"C2-1 to C2-1: OL, {ALL}")
def test_every_line_is_a_reading_or_is_refused_in_words(sheet: bp.Sheet, line: str) -> None:
    try:
        reading = bp.parse_reading(line, sheet)
    except ReadingError as error:
        assert error.problems
        assert all(p.message for p in error.problems)
        return
    assert reading.words()


@settings(max_examples=40)
@given(LINES)
@example(f"C2-1 to C2-1: OL, {ALL}")
@example(f"C2-1 to frame: unsteady, {ALL}")
@example(f"amps at F1: 3 A, {ALL}")
@example(f"C2-1 to C2-2: 12 ohm, {ALL}, key off")
@example(f"swapped fuse F1: no change, {ALL}")
@example(f"looked at coil Y2: burnt, {ALL}")
@example(f"gate lamp lit, {ALL}")
@example(f"gate input shows open, {ALL}")
@example(f"C2-1 to frame: -1e300 V, {ALL}")
def test_rank_takes_or_refuses_any_reading(line: str) -> None:
    # An argument that looks like an option is one, in every program.
    result = run("rank", "-", f"--reading={line}", stdin=SHEET)
    assert result.exit_code in {0, 1, 2}
    assert "Traceback" not in result.stderr
    if result.exit_code == 2:
        assert result.stderr.strip()
    else:
        assert not too_wide(result.stdout)


def test_every_kind_of_reading_can_be_told_and_written() -> None:
    lines: tuple[str, ...] = (
        "C2-1 to C2-2: OL",
        "C2-1 to frame: unsteady",
        "amps at F1: 3 A",
        "swapped fuse F1: no change",
    )
    lines += ("looked at coil Y2: burnt", "gate lamp lit", "gate input shows open", "lift dead")
    readings = [bp.parse_reading(f"{line}, {ALL}", SHEETS[0]) for line in lines]
    answer = bp.rank(SHEETS[0], readings)
    checks = bp.next_checks(answer, 3)
    assert not too_wide(answer_text(answer, checks))
    assert json.dumps(answer_data(answer, checks), allow_nan=False)

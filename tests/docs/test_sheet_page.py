"""What the sheet reference says of levers, switches and the battery is what becomes of the typed lines."""

from __future__ import annotations

import re

import pytest

from backprobe.api import Engine
from backprobe.diagnosis.states import try_states
from backprobe.errors import SheetError
from backprobe.sheet.lexicon import COMMAND_WORDS
from backprobe.sheet.reader import parse_sheet
from backprobe.sheet.sketch import sketch
from backprobe.sheet.unworkable import refuse_unworkable
from scripts.docs import PAGES

TEXT = (PAGES / "sheet.md").read_text(encoding="utf-8")
PART = TEXT[TEXT.index("## What a run says of levers") : TEXT.index("## Colours")]
ROWS = re.findall(r"(?m)^\| `(battery[^`]+)` \| ([^|]+) \| (yes|no) \| (yes|no) \|$", PART)
SHEET = re.search(r"```yaml\n(.*?)```", PART, re.S)[1]  # type: ignore[index]


def test_the_table_is_found() -> None:
    assert len(ROWS) == 11


@pytest.mark.parametrize(("line", "closed", "guard", "asked"), ROWS, ids=[r[0] for r in ROWS])
def test_each_typed_line_becomes_what_the_table_says(line: str, closed: str, guard: str, asked: str) -> None:
    sheet = sketch(line)
    (switch,) = (p for p in sheet.parts.values() if p.closed)
    assert [f"{c} {p}" for c, positions in switch.closed.items() for p in positions] == [closed]
    (function,) = sheet.functions.values()
    assert bool(function.guard) == (guard == "yes")
    assert any("taken as closed" in q for q in sheet.unknown) == (asked == "yes")


def test_the_words_for_positions_are_all_there() -> None:
    said = PART[PART.index("stick):") : PART.index("Such a contact")]
    assert set(re.findall(r"`(\w+)`", said)) == set(COMMAND_WORDS)


def test_the_example_takes_its_volts_from_the_run_and_its_levers_from_their_names() -> None:
    sheet = parse_sheet(SHEET)
    assert sheet.system_volts == 24
    assert sheet.unknown == ()
    assert sheet.controls["lever"].positions == ("neutral", "raise", "lower")
    works = try_states(Engine(sheet)).works
    found = {name: dict(s.state)["lever"] for name, s in works.items() if s is not None}
    assert found == {"raise": "raise", "lower": "lower", "blade": "neutral"}


@pytest.mark.parametrize(
    ("change", "line"),
    [
        (("battery 24 V", "battery 12 V"), 0),
        ((" > ring G2 > frame", ""), 1),
    ],
)
def test_the_two_refusals_are_those_of_the_example(change: tuple[str, str], line: int) -> None:
    refusals = re.findall(r"(?m)^    (lift\.yaml:\d: .*) \[\.\.\.\]$", PART)
    wrong = SHEET.replace("controls:", "system: 24 V\ncontrols:").replace(*change)
    with pytest.raises(SheetError) as caught:
        refuse_unworkable(parse_sheet(wrong, file="lift.yaml"))
    assert refusals[line] in str(caught.value)

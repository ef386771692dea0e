"""A measured band against a sheet's, the line to paste, and the command."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

import backprobe as bp
from backprobe.errors import SheetError
from backprobe.readings.meter import Accuracy
from backprobe.report.band_words import band_text
from backprobe.report.schemas import SCHEMAS
from backprobe.workbench.band import band
from backprobe.workbench.band_sheet import banded_pin, bands_line, compare_bands
from tests.cli.helpers import SHEET, misfits, put, run, run_json, too_wide

FINE = Accuracy(0.2, 1.0)


def sweep(*answers: tuple[float, str]) -> str:
    """Typed lines."""
    return "\n".join(f"{v:.2f} V: {a}" for v, a in answers)


def steps(low: float, high: float, edge: float, names: tuple[str, str]) -> list[tuple[float, str]]:
    """Tenths of a volt up."""
    volts = [low + i / 10 for i in range(round((high - low) * 10) + 1)]
    return [(v, names[v > edge]) for v in volts]


def verdicts(lines: str, sheet: str = SHEET) -> dict[str, str]:
    """Verdict by meaning and end."""
    found = compare_bands(band(lines, accuracy=FINE), banded_pin(bp.parse_sheet(sheet), "gate"))
    return {f"{s.meaning} {s.end}": s.verdict for s in found}


def test_an_edge_between_the_stated_bands_disagrees_with_neither() -> None:
    found = verdicts(sweep(*steps(0.1, 5.6, 2.3, ("open", "shut"))))
    assert found == {"open up to": "holds", "shut from": "holds", "shut up to": "holds"}


def test_an_edge_inside_a_stated_band_is_named() -> None:
    # The sheet says shut from 3.5 V; the controller takes it for shut from 4.2 V only.
    found = verdicts(sweep(*steps(0.1, 5.6, 4.25, ("open", "shut"))))
    assert found == {"open up to": "holds", "shut from": "disagrees", "shut up to": "holds"}


def test_an_edge_near_the_stated_one_is_left_open() -> None:
    found = verdicts(sweep((0.5, "open"), (3.3, "open"), (3.7, "shut"), (4.4, "shut")))
    assert found["shut from"] == "open"
    assert found["shut up to"] == "not tried"


def test_other_words_than_the_sheets_are_matched_by_where_they_lie() -> None:
    found = verdicts(sweep(*steps(0.1, 5.6, 4.25, ("lamp dark", "lamp lit"))))
    assert found["shut from"] == "disagrees"
    assert found["open up to"] == "holds"


def test_where_nothing_was_measured_nothing_is_said() -> None:
    found = verdicts(sweep((2.0, "dark"), (2.2, "dark")))
    assert set(found.values()) == {"not tried"}


def test_a_band_left_late_is_held_against_the_sweep_down() -> None:
    late = SHEET.replace("3.5..5.5 V: shut", "3.5..5.5 V: {means: shut, left below: 2.9 V}")
    up = steps(0.1, 5.4, 3.35, ("open", "shut"))
    down = list(reversed(steps(0.1, 5.3, 2.25, ("open", "shut"))))
    found = verdicts(sweep(*up, *down), late)
    assert found["shut left below"] in {"holds", "open"}
    worse = verdicts(sweep(*up, *reversed(steps(0.1, 5.3, 3.15, ("open", "shut")))), late)
    assert worse["shut left below"] == "disagrees"


def test_the_line_goes_into_a_sheet_and_says_where_it_is_left() -> None:
    up = steps(0.1, 5.4, 3.35, ("open", "shut"))
    down = list(reversed(steps(0.1, 5.3, 2.25, ("open", "shut"))))
    answer = band(sweep(*up, *down), accuracy=FINE)
    line = bands_line(answer, on="2026-11-02")
    assert line.endswith("# origin: measured, on: 2026-11-02, count: 107")
    written, _, note = line.partition("  #")
    old = "bands: {0..1 V: open, 3.5..5.5 V: shut}}"
    assert old in SHEET
    sheet = bp.parse_sheet(SHEET.replace(old, f"{written}}}  #{note}"))
    bands = banded_pin(sheet, "controller.gate input").bands
    assert [b.meaning for b in bands] == ["open", "shut"]
    assert bands[1].low == pytest.approx(3.4, abs=0.08)
    assert bands[1].falling is not None
    assert bands[1].falling[0] == pytest.approx(2.2, abs=0.08)


def test_an_input_that_is_not_there_is_refused_with_those_that_are() -> None:
    with pytest.raises(SheetError, match=r"controller\.gate input"):
        banded_pin(bp.parse_sheet(SHEET), "seat")
    assert banded_pin(bp.parse_sheet(SHEET), "").name == "gate input"


def test_the_text_says_hysteresis_and_what_to_take_again() -> None:
    up = steps(3, 6.4, 5.05, ("off", "on"))
    text = band_text(band(sweep(*up, *reversed(steps(3, 6.4, 4.15, ("off", "on")))), accuracy=FINE))
    assert "has hysteresis" in text
    assert "going up" in text and "going down" in text
    again = band_text(band(sweep(*up, (6.3, "off")), accuracy=FINE))
    assert "Take again: 6.30 V off" in again


CALLS = [
    'band "3.1: off" "3.6: on" "6.9: code"',
    'band "3.1: off"',
    "band sweep.csv",
    "band sweep.csv --meter '0.5 % + 3' --sheet sprayer.yaml --input gate --on 2026-11-02",
]
TABLE = "volts;answer;direction\n" + "\n".join(
    f"{v / 10};{'shut' if v > 24 else 'open'};up".replace(".", ",") for v in range(2, 56, 2)
)


@pytest.mark.parametrize("call", CALLS)
def test_text_fits_and_json_has_its_schema(
    call: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    put(tmp_path, "sprayer.yaml", SHEET)
    put(tmp_path, "sweep.csv", TABLE)
    words = shlex.split(call)
    result = run(*words)
    assert result.exit_code == 0, result.stderr
    assert "take the source off" in " ".join(result.stdout.split())
    assert not [line for line in too_wide(result.stdout) if not line.startswith("bands:")]
    assert not misfits(run_json(*words), SCHEMAS["band"])


def test_a_disagreement_exits_with_1_and_standard_input_is_read(tmp_path: Path) -> None:
    sheet = put(tmp_path, "sprayer.yaml", SHEET)
    late = sweep(*steps(0.1, 5.6, 4.25, ("open", "shut")))
    result = run("band", "-", "--sheet", sheet, "--input", "gate", stdin=late)
    assert result.exit_code == 1
    assert "shut from 3.50 V: DISAGREES" in result.stdout


@pytest.mark.parametrize(
    ("call", "says"),
    [
        ("band", "is missing"),
        ("band nofile.csv", "neither a file nor an answer"),
        ('band "4.2 off" "4: on"', "does not say volts and answer"),
        ('band "4.2: off" --input gate', "belongs to no sheet"),
        ('band "4.2: off" --meter good', "not a meter's accuracy"),
        ('band "4.2: off" --sheet nofile.yaml --input gate', "cannot be read"),
    ],
)
def test_wrong_use_is_one_message_and_exit_code_2(call: str, says: str) -> None:
    result = run(*shlex.split(call))
    assert result.exit_code == 2
    assert says in result.stderr


def test_examples_of_the_help_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from backprobe.cli.commands.band import COMMAND

    monkeypatch.chdir(tmp_path)
    put(tmp_path, "sprayer.yaml", SHEET)
    examples = re.findall(r"Example: backprobe (.*)", COMMAND.epilog or "")
    assert len(examples) == 2
    for example in examples:
        result = run(*shlex.split(example))
        assert result.exit_code == 0, f"{example}: {result.stderr}"

"""Latches, hysteresis and contact sets, as `backprobe sheet show` tells them in words and in JSON."""

from __future__ import annotations

from pathlib import Path

import pytest

from backprobe.circuit.setup import make_setup
from backprobe.report.schemas import SHEET
from backprobe.report.setup_words import change_words
from backprobe.report.sheet_schema import sheet_schema
from backprobe.sheet.document import plain, read_document
from backprobe.sheet.reader import parse_sheet
from tests.cli.helpers import misfits, put, run, run_json
from tests.sheet.kinds import test_bus_pair, test_changeover_switch, test_controller, test_latch

SHEETS = {
    "armed": test_latch.ARMED,
    "hold": test_latch.HOLD,
    "outputs": test_controller.OUTPUTS,
    "inputs": test_controller.INPUTS,
    "pair": test_bus_pair.PAIR,
    "changeover": test_changeover_switch.SHEET,
}


@pytest.mark.parametrize("name", SHEETS)
def test_the_json_of_a_sheet_fits_its_schema(name: str, tmp_path: Path) -> None:
    shown = run_json("sheet", "show", put(tmp_path, f"{name}.yaml", SHEETS[name]), "--json")
    assert not misfits(shown, SHEET)


def test_the_schema_of_sheets_takes_latches_and_bands_with_hysteresis() -> None:
    schema = sheet_schema()
    for name in ("armed", "hold"):
        written = plain(read_document(SHEETS[name], file="-"))
        assert isinstance(written, dict)
        assert not misfits(written["latches"], schema["properties"]["latches"])
    bands = schema["$defs"]["input pin"]["properties"]["bands"]
    assert not misfits({"0..5 V": "low", "5..12 V": {"means": "high", "left below": "4 V"}}, bands)
    assert misfits({"5..12 V": {"means": "high", "left": "4 V"}}, bands)


def shown_text(name: str, folder: Path) -> str:
    return " ".join(run("sheet", "show", put(folder, f"{name}.yaml", SHEETS[name])).output.split())


def test_a_latch_is_told_with_its_rules(tmp_path: Path) -> None:
    text = shown_text("armed", tmp_path)
    assert (
        "Latch armed: set when button input is pressed and seat input is seated; "
        "cleared when seat input is empty; set by arm button pressed" in text
    )
    # It is no control: nobody's hand stands at it.
    assert "armed: clear or set" not in text


def test_hysteresis_and_positions_are_told(tmp_path: Path) -> None:
    assert "5.0 to 12 V high (left below 4.00 V)" in shown_text("inputs", tmp_path)
    assert "actuated with lock locked" in shown_text("changeover", tmp_path)


def test_how_to_set_and_to_clear_is_said_as_a_change() -> None:
    sheet = parse_sheet(test_latch.ARMED)
    clear, armed = (make_setup(sheet, {"key": "on", "armed": p}) for p in ("clear", "set"))
    assert change_words(clear, armed, sheet) == "first set armed: arm button pressed, then back"
    assert change_words(armed, clear, sheet) == "first clear armed: until seat input is empty"

"""A battery typed in a run: where the run begins, and the volts of its machine."""

from __future__ import annotations

import pytest

from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import try_states
from backprobe.errors import SheetError
from backprobe.sheet.reader import parse_sheet
from backprobe.sheet.sketch import sketch
from backprobe.sheet.unworkable import refuse_unworkable
from backprobe.workbench.sanity import sanity

REST = "fuse F1 5 A > seat switch > coil Y1 31 ohm > frame"


@pytest.mark.parametrize(
    ("battery", "system"),
    [
        ("battery 24 V", 24.0),
        ("24 V battery", 24.0),
        ("battery+ 24 V", 24.0),
        ("battery 25.3 V", 24.0),
        ("battery 12 V", 12.0),
        ("battery 11.4 V", 12.0),
        ("battery 36 V", 36.0),
        ("battery 47 V", 48.0),
        ("battery", 12.0),
    ],
)
def test_the_battery_of_a_run_says_the_machines_volts(battery: str, system: float) -> None:
    sheet = sketch(f"{battery} > {REST}")
    assert sheet.system_volts == system
    assert f"system: {system:g} V" in sheet.text
    assert not [f for f in sanity(sheet) if f.field == "parts.battery.volts"]
    refuse_unworkable(sheet)
    # The current finds its way back to the battery: a sound circuit works.
    works = try_states(Engine(sheet)).works["coil Y1"]
    assert works is not None
    assert dict(works.state) == {"seat": "seated"}


def test_a_battery_that_is_called_after_its_machine_has_what_a_rested_one_has() -> None:
    # 12 cells of about 2.1 V.
    called = sketch(f"battery 24 V > {REST}").parts["battery"].values["volts"]
    assert called.low < 12 * 2.1 <= called.high
    read = sketch(f"battery 24.9 V > {REST}").parts["battery"].values["volts"]
    assert read.nominal == 24.9


def test_a_battery_goes_before_the_volts_that_were_taken() -> None:
    assert sketch(f"battery 12 V > {REST}", system="24 V").system_volts == 12
    assert sketch(f"battery+ > {REST}", system="24 V").system_volts == 24


def test_a_sheet_without_volts_takes_them_from_its_runs_and_keeps_what_it_says() -> None:
    runs = "runs: {main: [battery 24 V, coil Y1 31 ohm, frame]}\n"
    assert parse_sheet(f"sheet: M\n{runs}").system_volts == 24
    said = parse_sheet(f"sheet: M\nsystem: 12 V\n{runs}")
    assert said.system_volts == 12
    with pytest.raises(SheetError, match="24 V' does not fit a system of 12 V"):
        refuse_unworkable(said)


def test_a_battery_of_no_machine_is_refused_before_a_job() -> None:
    with pytest.raises(SheetError, match="80 V' does not fit a system of 12 V"):
        refuse_unworkable(sketch(f"battery 80 V > {REST}"))

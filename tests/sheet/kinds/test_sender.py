"""One-wire senders: ohms from the wire to the metal they sit in."""

from __future__ import annotations

import pytest

from backprobe.errors import SheetError
from backprobe.sheet.reader import parse_sheet
from tests.sheet.kinds.sensors import levels, solved, volts

TEXT = """
sheet: oil pressure
system: 12 V
controls: {engine: [stopped, running]}
runs:
  box: [controller.ground, frame]
  oil: [controller.oil input, oil pressure sender, frame]
parts:
  oil pressure sender: {levels: {engine stopped: 12 ohm, engine running: 88 ohm}}
  controller:
    oil input: {pull-up: 100 ohm, pull-up volts: 5 V}
"""
SENDER = "oil pressure sender"


def level_of(engine: str, *faults: str, level: int = 0, text: str = TEXT) -> float:
    solution = solved(text, {"engine": engine}, *(f"{SENDER}: {f}" for f in faults), level=level)
    return volts(solution, "controller.oil input", "controller.ground")


def divided(ohms: float) -> object:
    """5 V behind 100 ohm across so many ohms; the wire adds some hundredths."""
    return pytest.approx(5 * ohms / (100 + ohms), abs=5e-3)


def test_its_ohms_set_the_level() -> None:
    assert level_of("stopped") == divided(12)
    assert level_of("running") == divided(88)


def test_open_short_drift_and_stuck() -> None:
    assert level_of("running", "open inside") == pytest.approx(5.0, abs=1e-3)
    # 1 ohm across 88 ohm.
    assert level_of("running", "shorted inside", level=1) == divided(88 / 89)
    assert level_of("running", "drifted", level=2) == divided(1.6 * 88)
    for engine in ("stopped", "running"):
        assert level_of(engine, "stuck", level=0) == divided(12)
        assert level_of(engine, "stuck", level=1) == divided(88)


def test_a_bad_ground_of_its_case_adds_to_both() -> None:
    fault = "case grounds badly"
    assert levels(TEXT, f"{SENDER}: {fault}") == 8
    # 0.3, 1, 3, 10, 30 ohm and more in series.
    assert level_of("stopped", fault, level=4) == divided(12 + 30)
    assert level_of("running", fault, level=4) == divided(88 + 30)


def test_a_plain_range_is_its_middle_until_read() -> None:
    text = TEXT.replace("levels: {engine stopped: 12 ohm, engine running: 88 ohm}", "ohms: 20..180 ohm")
    assert level_of("running", text=text) == divided(100)
    value = parse_sheet(text).parts[SENDER].values["ohms"]
    assert (value.low, value.high) == (20.0, 180.0)


def test_a_level_of_no_ohms_is_refused() -> None:
    with pytest.raises(SheetError, match=r"levels\.engine stopped: '0 ohm' is not a resistance above zero"):
        parse_sheet(TEXT.replace("12 ohm", "0 ohm"))

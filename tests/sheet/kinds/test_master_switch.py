"""Master switch: a battery isolator brings its control and a heavy contact along."""

from __future__ import annotations

import pytest

import backprobe as bp
from tests.sheet.kinds.faulty import amps, circuit_of, solved


@pytest.mark.parametrize("word", ["master switch", "master", "isolator", "battery isolator"])
def test_it_is_called_by_any_of_its_words(word: str) -> None:
    sheet = bp.sketch(f"battery+ > {word} > fuse F1 10 A > lamp H1 21 W > frame")
    assert sheet.parts["master switch"].kind == "switch"
    assert sheet.controls["master"].positions == ("off", "on")
    assert sheet.parts["master switch"].closed == {"master": frozenset({"on"})}
    # Half a milliohm at 200 A of a starter costs 0.1 V; a light switch of 20 mohm would cost 4 V.
    assert sheet.parts["master switch"].values["contact"].nominal <= 0.001


def test_it_feeds_two_runs_and_cuts_both() -> None:
    circuit = circuit_of(
        "sheet: t\nruns:\n  a: [battery+, isolator, resistor R1 12 ohm, frame]\n"
        "  b: [isolator, resistor R2 12 ohm, frame]\nparts:\n  battery: {volts: 12 V}\n"
    )
    for position, expected in (("on", 1.0), ("off", 0.0)):
        solution = solved(circuit, {"master": position})
        for part in ("R1", "R2"):
            assert amps(solution, f"resistor {part}.body") == pytest.approx(expected, rel=0.02, abs=1e-6)


def test_its_contact_may_be_said() -> None:
    sheet = bp.parse_sheet(
        "sheet: t\nruns:\n  a: [battery+, master switch, resistor R1 12 ohm, frame]\n"
        "parts:\n  master switch: {contact: 2 mohm}\n"
    )
    assert sheet.parts["master switch"].values["contact"].nominal == pytest.approx(0.002)


def test_a_control_called_like_the_switch_goes_before_the_usual_one() -> None:
    sheet = bp.parse_sheet(
        "sheet: t\ncontrols: {blade switch: [released, pushed]}\n"
        "runs: {a: [battery+, blade switch, coil Y1 9 ohm, frame]}\n"
    )
    assert sheet.parts["blade switch"].closed == {"blade switch": frozenset({"pushed"})}
    assert "PTO" not in sheet.controls

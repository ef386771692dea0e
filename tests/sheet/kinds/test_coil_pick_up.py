"""Coil pick-ups: ohms standing still, volts on AC while the wheel turns."""

from __future__ import annotations

import pytest

from backprobe.circuit.compiled import compile_sheet
from backprobe.sheet.reader import parse_sheet
from tests.sheet.kinds.sensors import solved, volts

TEXT = """
sheet: wheel speed
system: 12 V
controls: {wheel: [still, turning]}
runs:
  pair: [controller.speed input, C1-1, coil pick-up B1, C1-2, controller.sensor ground]
  box: [controller.ground, frame]
connectors:
  C1: {part: coil pick-up B1}
parts:
  coil pick-up B1: {ohms: 600 ohm, volts: {wheel turning: 1.6 V}}
"""
B1 = "coil pick-up B1"


def ohms(*faults: str, level: int = 0) -> float:
    """What an ohmmeter sees across the unplugged pick-up [ohm]."""
    solution = solved(TEXT, {"wheel": "still"}, *faults, level=level, unplugged="C1")
    circuit = solution.stage.circuit
    selector = circuit.pair(circuit.node("C1-1.part"), circuit.node("C1-2.part"))
    return float((solution.transfer(selector) @ selector)[0])


def turning(*faults: str, level: int = 0) -> float:
    solution = solved(TEXT, {"wheel": "turning"}, *faults, level=level, unplugged="C1")
    return abs(volts(solution, "C1-1.part", "C1-2.part"))


def test_standing_still_it_is_its_winding() -> None:
    assert ohms() == pytest.approx(600, rel=1e-3)
    assert ohms(f"{B1}: winding open") > 1e8
    assert ohms(f"{B1}: turns shorted", level=1) == pytest.approx(240, rel=1e-3)
    # 10 ohm across 600 ohm.
    assert ohms(f"{B1}: winding shorted", level=1) == pytest.approx(6000 / 610, rel=2e-3)


@pytest.mark.parametrize("fault", ["metal dust on its tip", "gap too wide", "tooth wheel loose or missing"])
def test_what_a_still_reading_cannot_see(fault: str) -> None:
    assert ohms(f"{B1}: {fault}") == pytest.approx(ohms(), rel=1e-6)
    assert turning(f"{B1}: {fault}") < 0.75 * turning()


def test_turning_it_makes_its_volts() -> None:
    assert turning() == pytest.approx(1.6, rel=1e-3)
    assert turning(f"{B1}: metal dust on its tip", level=2) == pytest.approx(0.24, rel=1e-3)
    assert turning(f"{B1}: tooth wheel loose or missing") == pytest.approx(0.0, abs=1e-6)


def test_without_volts_only_the_winding_is_judged() -> None:
    text = TEXT.replace(", volts: {wheel turning: 1.6 V}", "")
    modes = {m.mode for m in compile_sheet(parse_sheet(text)).modes if m.part == B1}
    assert modes == {"winding open", "turns shorted", "winding shorted", "winding touches its case"}

"""Diode in a run: sound, open, shorted and the wrong way round. Ohm's law by hand."""

from __future__ import annotations

import pytest

from tests.sheet.kinds.faulty import amps, circuit_of, solved, volts

SHEET = """
sheet: Blocking diode
controls: {key: [off, on]}
runs:
  main: [battery+, key, diode V1, resistor R1 100 ohm, frame]
parts:
  battery: {volts: 12 V}
  diode V1: {volts: 0.65 V, ohms: 0.5 ohm}
"""
SOUND = (12 - 0.65) / 100.5


@pytest.mark.parametrize(
    ("fault", "forward", "backward"),
    [
        ("", SOUND, 0.0),
        ("diode V1: open", 0.0, 0.0),
        ("diode V1: shorted", 12 / 101, 12 / 101),
        ("diode V1: fitted the wrong way round", 0.0, SOUND),
    ],
)
def test_what_passes_either_way(fault: str, forward: float, backward: float) -> None:
    for text, expected in ((SHEET, forward), (SHEET.replace("diode V1,", "diode V1 reversed,"), backward)):
        solution = solved(circuit_of(text), {"key": "on"}, fault)
        assert amps(solution, "resistor R1.body") == pytest.approx(expected, rel=5e-3, abs=1e-6)


def test_sound_it_drops_its_junction() -> None:
    solution = solved(circuit_of(SHEET), {"key": "on"})
    assert volts(solution, "diode V1.anode", "diode V1.cathode") == pytest.approx(
        0.65 + 0.5 * SOUND, rel=1e-3
    )

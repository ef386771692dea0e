"""Fuse: from the rating to the current that melts it. Ohm's law by hand; its factor is common practice."""

from __future__ import annotations

import pytest

from backprobe.sheet.kinds.fuse import MELTS_AT
from tests.sheet.kinds.faulty import amps, circuit_of, mode, ohms, solved, volts

SHEET = """
sheet: Loaded fuse
controls: {key: [off, on]}
runs:
  main: [battery+, fuse F1 10 A, key, resistor R1 LOAD ohm, frame]
parts:
  battery: {volts: 12 V}
"""
JOINTS = 0.02 + 0.001 + 0.009 + 0.003 + 4 * 0.03 + 0.02 + 0.003 + 0.001
"""Battery and clamps, element and holder, four implied wires, key, lug and strap [ohm]."""


def loaded(share: float) -> str:
    """The sheet with a load that takes this share of the fuse's rating."""
    return SHEET.replace("LOAD", f"{12 / (10 * share) - JOINTS:.6f}")


@pytest.mark.parametrize(
    ("share", "melts"), [(0.5, False), (0.97, False), (1.0, False), (2.0, True), (3.5, True)]
)
def test_it_holds_its_rating_and_melts_well_above_it(share: float, melts: bool) -> None:
    circuit = circuit_of(loaded(share))
    solution = solved(circuit, {"key": "on"})
    assert mode(solution, "fuse F1.element") is melts
    expected = 0.0 if melts else 10 * share
    assert amps(solution, "fuse F1.element") == pytest.approx(expected, rel=1e-3, abs=1e-6)


def test_what_melts_it_follows_from_its_rating() -> None:
    for rating in (5.0, 30.0):
        circuit = circuit_of(SHEET.replace("10 A", f"{rating:g} A").replace("LOAD", "100"))
        melts = circuit.nominal[circuit.parameter_of["fuse F1.melting amps"]]
        assert melts == pytest.approx(MELTS_AT * rating)
    assert 1.0 < MELTS_AT < 2.0


def test_cold_it_drops_about_ninety_millivolts_at_its_rating() -> None:
    # Data sheets give 0.08 to 0.11 V, from memory: 0.09 V / 10 A = 9 mohm.
    solution = solved(circuit_of(loaded(1.0)), {"key": "on"})
    holder = 10 * 0.003
    assert volts(solution, "fuse F1.1", "fuse F1.2") == pytest.approx(0.09 + holder, rel=1e-3)


def test_blown_it_has_the_volts_of_the_battery_across_it() -> None:
    solution = solved(circuit_of(loaded(0.5)), {"key": "on"}, "fuse F1: blown")
    assert volts(solution, "fuse F1.1", "fuse F1.2") == pytest.approx(12, abs=1e-3)
    assert (
        ohms(solved(circuit_of(loaded(0.5)), {"key": "off"}, "fuse F1: blown"), "fuse F1.1", "fuse F1.2")
        > 1e8
    )


def test_a_weaker_one_blows_with_nothing_wrong_behind_it() -> None:
    # A load of 9 A: half of 15 A is 7.5 A, below it; a load of 4 A blows only the weakest, 3 A.
    assert mode(
        solved(circuit_of(loaded(0.9)), {"key": "on"}, "fuse F1: weaker fuse fitted", level=0),
        "fuse F1.element",
    )
    four = circuit_of(loaded(0.4))
    assert not mode(solved(four, {"key": "on"}, "fuse F1: weaker fuse fitted", level=0), "fuse F1.element")
    assert mode(solved(four, {"key": "on"}, "fuse F1: weaker fuse fitted", level=1), "fuse F1.element")


def test_a_lossy_holder_drops_volts_and_leaves_the_fuse_whole() -> None:
    # Level 2, 0.3 ohm instead of 3 mohm, in a circuit of 2.4 ohm.
    solution = solved(
        circuit_of(loaded(0.5)), {"key": "on"}, "fuse F1: bad holder (high resistance)", level=2
    )
    assert volts(solution, "fuse F1.1", "fuse F1.2") == pytest.approx(12 * 0.309 / 2.697, rel=1e-3)
    assert not mode(solution, "fuse F1.element")

"""Suppressed coil: what a diode or a resistor across the winding does when it fails. Ohm's law by hand."""

from __future__ import annotations

import pytest

import backprobe as bp
from tests.sheet.kinds.faulty import amps, circuit_of, mode, solved, volts

SHEET = """
sheet: Lock valve
controls: {key: [off, on]}
runs:
  main: [battery+, fuse F1 5 A, key, coil Y1 9 ohm, frame]
parts:
  battery: {volts: 12 V}
  coil Y1: {suppression: diode}
"""
RESISTOR = SHEET.replace("suppression: diode", "suppression: resistor, suppressor: 600 ohm")
BURNS = (
    "suppressor diode shorted",
    "suppressor diode fitted the wrong way round",
    "fed the wrong way round (plug turned)",
)


def test_a_sound_diode_takes_nothing() -> None:
    # 12 V / 9 ohm = 1.33 A, all of it through the winding.
    solution = solved(circuit_of(SHEET), {"key": "on"})
    assert amps(solution, "fuse F1.element") == pytest.approx(12 / 9, rel=0.03)
    assert abs(amps(solution, "coil Y1.suppressor")) < 1e-6


@pytest.mark.parametrize("fault", BURNS)
def test_a_diode_that_conducts_is_a_dead_short_for_the_fuse(fault: str) -> None:
    # 12 V less 0.8 V across some 0.3 ohm of wires, joints, battery and diode: far above 1.5 times 5 A.
    circuit = circuit_of(SHEET)
    solution = solved(circuit, {"key": "on"}, f"coil Y1: {fault}", level=0)
    assert mode(solution, "fuse F1.element")
    assert abs(volts(solution, "coil Y1.1", "coil Y1.2")) < 0.1
    # With the fuse bridged by 10 ohm the diode holds the coil at about its drop.
    slow = circuit_of(SHEET.replace("fuse F1 5 A", "fuse F1 5 A, resistor R1 10 ohm"))
    held = solved(slow, {"key": "on"}, f"coil Y1: {fault}", level=0)
    drop = 0.0 if "shorted" in fault else 0.8
    current = (12 - drop) / (10 + 0.2)
    assert amps(held, "fuse F1.element") == pytest.approx(current, rel=0.03)
    assert volts(held, "coil Y1.1", "coil Y1.2") == pytest.approx(drop + 0.05 * current, abs=0.06)


def test_an_open_diode_shows_in_no_steady_reading() -> None:
    circuit = circuit_of(SHEET)
    sound = solved(circuit, {"key": "on"})
    broken = solved(circuit, {"key": "on"}, "coil Y1: suppressor diode open")
    assert abs(sound.volts - broken.volts).max() < 1e-6
    rates = {m.mode: m.rate for m in circuit.modes if m.part == "coil Y1"}
    assert rates["suppressor diode open"] == min(rates.values())


def test_a_run_against_the_mark_burns_the_fuse_as_drawn() -> None:
    turned = SHEET.replace("coil Y1 9 ohm, frame]", "Y1.2]\n  back: [coil Y1.1, frame]").replace(
        "{suppression: diode}", "{suppression: diode, ohms: 9 ohm}"
    )
    assert mode(solved(circuit_of(turned), {"key": "on"}), "fuse F1.element")


def test_a_resistor_across_the_winding_is_in_parallel() -> None:
    # 12/9 + 12/600 = 1.353 A.
    solution = solved(circuit_of(RESISTOR), {"key": "on"})
    across = volts(solution, "coil Y1.1", "coil Y1.2")
    assert amps(solution, "fuse F1.element") == pytest.approx(across / 9 + across / 600, rel=1e-6)


def test_a_resistor_open_takes_a_little_less_and_burnt_low_a_lot_more() -> None:
    circuit = circuit_of(RESISTOR)
    gone = solved(circuit, {"key": "on"}, "coil Y1: suppressor resistor open")
    across = volts(gone, "coil Y1.1", "coil Y1.2")
    assert amps(gone, "fuse F1.element") == pytest.approx(across / 9, rel=1e-6)
    # A hundredth is 6 ohm: 12/9 + 12/6 = 3.3 A, the fuse holds; a thousandth, 0.6 ohm, blows it.
    low = solved(circuit, {"key": "on"}, "coil Y1: suppressor resistor burnt low", level=1)
    assert amps(low, "fuse F1.element") == pytest.approx(12 / 9 + 12 / 6, rel=0.06)
    assert not mode(low, "fuse F1.element")
    burnt = solved(circuit, {"key": "on"}, "coil Y1: suppressor resistor burnt low", level=0)
    assert mode(burnt, "fuse F1.element")


def test_a_plain_coil_has_no_suppressor_to_fail() -> None:
    plain = circuit_of(SHEET.replace("{suppression: diode}", "{suppression: none}"))
    assert not [m.mode for m in plain.modes if "suppressor" in m.mode or "turned" in m.mode]


def test_a_word_that_is_no_suppression_is_refused() -> None:
    with pytest.raises(bp.SheetError, match=r"parts.coil Y1.suppression: 'varistor' is not one of"):
        bp.parse_sheet(SHEET.replace("diode", "varistor"))


def test_ranking_puts_both_polarity_faults_in_one_group() -> None:
    sheet = bp.parse_sheet(SHEET)
    answer = bp.rank(sheet, "coil Y1 dead, key on\nafter fuse F1 to frame: 0 V, key on")
    groups = [{n for s in g.suspects for n in s.names} for g in answer.groups]
    turned, fitted = "coil Y1: fed the wrong way round (plug turned)", f"coil Y1: {BURNS[1]}"
    assert any(turned in g for g in groups)
    assert all((turned in g) == (fitted in g) for g in groups)

"""Wires in the wrong cavity of a plug: two changed about, or one moved to an empty cavity."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.sheet.kinds.connector import swaps
from tests.sheet.kinds.faulty import circuit_of, solved, volts

SHEET = """
sheet: Seed cart, four loads
runs:
  one:   [battery+, resistor R1 10 ohm, C1-1, resistor R5 30 ohm, frame]
  two:   [battery+, resistor R2 20 ohm, C1-2, resistor R6 60 ohm, frame]
  three: [battery+, resistor R3 40 ohm, C1-3, resistor R7 80 ohm, frame]
  four:  [battery+, resistor R4 80 ohm, C1-4, resistor R8 40 ohm, frame]
connectors: {C1: {part: resistor R5}}
parts:
  battery: {volts: 12 V +-0.1 V}
"""


@pytest.mark.parametrize(("one", "other"), [(1, 2), (1, 3), (1, 4), (2, 3), (2, 4), (3, 4)])
def test_any_two_wires_of_a_plug_may_have_changed_places(one: int, other: int) -> None:
    circuit = circuit_of(SHEET)
    up, down = (10, 20, 40, 80), (30, 60, 80, 40)
    found = solved(circuit, None, f"C1: C1-{one} and C1-{other} swapped")
    for here, there in ((one, other), (other, one)):
        # The feed of the one divides with the load of the other: 12 V x load / (feed + load).
        expected = 12 * down[there - 1] / (up[here - 1] + down[there - 1])
        assert volts(found, f"C1-{there}.machine", "frame") == pytest.approx(expected, abs=0.05)


def test_a_wire_one_cavity_off_leaves_its_own_cavity_bare_at_the_rear() -> None:
    circuit = circuit_of(SHEET)
    moved = solved(circuit, None, "C1-2: wire in an empty cavity beside it")
    back = solved(circuit, None, "C1-2: pin pushed back")
    # Moved: the rear of cavity 2 has only its load, 0 V. Pushed back: the wire is there, with all 12 V.
    assert volts(moved, "C1-2.machine", "frame") == pytest.approx(0.0, abs=0.01)
    assert volts(back, "C1-2.machine", "frame") == pytest.approx(12.0, abs=0.05)
    for found in (moved, back):
        assert volts(found, "C1-2.part", "frame") == pytest.approx(0.0, abs=0.01)


def test_neighbours_and_mirrored_cavities_are_likelier_than_others() -> None:
    # Common practice, no source: one off, or the plug looked at from its wrong side.
    rates = {(a, b): rate for a, b, rate in swaps(["A", "B", "C", "D"])}
    assert len(rates) == 6
    assert rates["A", "B"] == rates["B", "C"] == rates["A", "D"] > rates["A", "C"] == rates["B", "D"]


def test_a_big_plug_does_not_try_every_pair() -> None:
    # 30 cavities have 435 pairs; only those at most two apart are tried: 29 + 28.
    assert len(list(swaps([str(i) for i in range(30)]))) == 57


def test_a_second_run_meets_the_part_behind_its_own_pin() -> None:
    # The load is fed through pin 1 and goes back through pin 2: unplugged, neither reaches the harness.
    circuit = circuit_of(
        "sheet: Back\nruns:\n  out: [battery+, C1-1]\n  back: [C1-2, frame]\n"
        "  load: [C1-1, lamp H1 10 W, C1-2]\nconnectors: {C1: {part: lamp H1}}\n"
    )
    plugged, off = solved(circuit), solved(circuit, unplugged=["C1"])
    assert volts(plugged, "C1-1.part", "C1-2.part") == pytest.approx(12.5, abs=0.1)
    assert volts(off, "C1-1.machine", "C1-2.machine") == pytest.approx(12.6, abs=0.05)
    assert volts(off, "C1-1.part", "C1-2.part") == pytest.approx(0.0, abs=0.01)
    assert circuit.node("C1-1.part") == circuit.node("lamp H1.1")


def test_a_wire_moved_by_a_repair_is_weighed_up_by_that_word() -> None:
    sheet = bp.parse_sheet(SHEET)
    lines = "C1-2 to frame: 0 V, all plugged"
    name = "C1-2: wire in an empty cavity beside it"
    plain, after = (
        next(s.probability for s in bp.rank(sheet, lines, circumstances=c).suspects if name in s.names)
        for c in ((), ("after repair",))
    )
    assert after > 1.5 * plain

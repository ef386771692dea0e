"""A bus pair: two terminators and nodes across it, read in ohms with everything off.

Two resistances side by side: R = R1 R2 / (R1 + R2) (Ohm's law); 120 ohm at each end is the line's own
resistance by ISO 11898-2 [mem]. What a damaged pair reads is worked out in each test.
"""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.circuit.setup import Attachment
from backprobe.diagnosis.engine import Engine
from tests.sheet.kinds.faulty import circuit_of, ohms, solved, volts

PAIR = """
sheet: Press cart, bus pair
runs:
  high: [C1-1, wire W1 3 m 0.75 mm2 YE, splice S1, wire W2 3 m 0.75 mm2 YE, C3-1]
  low:  [C1-2, wire W3 3 m 0.75 mm2 GN, splice S2, wire W4 3 m 0.75 mm2 GN, C3-2]
  near: [C1-1, terminator R1, C1-2]
  far:  [C3-1, terminator R2, C3-2]
  node: [S1, C2-1, pump unit, C2-2, S2]
connectors: {C1: {part: terminator R1}, C2: {part: pump unit}, C3: {part: terminator R2}}
parts:
  pump unit: {kind: bus node, ohms: 40 kohm}
"""


CIRCUIT = circuit_of(PAIR)


def side_by_side(*parts: float) -> float:
    return 1 / sum(1 / p for p in parts)


def across(fault: str = "", *, plug: int = 1, level: int = -1, unplugged: tuple[str, ...] = ()) -> float:
    found = solved(CIRCUIT, None, fault, level=level, unplugged=unplugged)
    return ohms(found, f"C{plug}-1.machine", f"C{plug}-2.machine")


@pytest.mark.parametrize("plug", [1, 2, 3])
def test_a_sound_pair_reads_sixty_ohm_less_its_nodes_at_any_cavity(plug: int) -> None:
    # 120 || 120 || 40000 = 59.91; the wire adds some tens of milliohms seen from an end.
    assert side_by_side(120, 120, 40e3) == pytest.approx(59.91, abs=0.005)
    assert across(plug=plug) == pytest.approx(59.91, abs=0.15)


def test_a_bus_alone_is_a_sheet() -> None:
    sheet = bp.parse_sheet(PAIR, file="pair")
    assert not sheet.functions and not sheet.controls
    answer = bp.rank(sheet, "C1-1 to C1-2: 60.1 ohm, all plugged")
    # Only what does not change the ohms (swapped wires) is as likely as a sound pair.
    assert answer.as_built > max(
        (s.probability for s in answer.suspects if "swapped" not in s.name), default=0
    )


@pytest.mark.parametrize("plug", [1, 2, 3])
def test_a_missing_terminator_leaves_the_other(plug: int) -> None:
    # Across the plug of the missing one, 6 m of 0.75 mm2 there and back add 0.28 ohm.
    expected = side_by_side(120, 40e3)
    assert across("terminator R1: missing or open", plug=plug) == pytest.approx(expected, abs=0.4)
    assert across(unplugged=("C3",), plug=min(plug, 2)) == pytest.approx(expected, abs=0.4)


def test_a_drifted_terminator_and_a_low_node_beside_a_missing_one_read_nearly_alike() -> None:
    # 120 || 1800 = 112.5 and 120 || 2250 = 113.9: one reading of 1 % cannot tell them apart.
    assert side_by_side(120, 1800) == pytest.approx(112.5)
    assert side_by_side(120, 2250) == pytest.approx(113.92, abs=0.01)
    drifted = circuit_of(PAIR.replace("ohms: 40 kohm", "ohms: 160 kohm"))
    found = solved(drifted, None, "terminator R2: drifted high", level=4)
    assert ohms(found, "C1-1.machine", "C1-2.machine") == pytest.approx(
        side_by_side(120, 1800, 160e3), abs=0.2
    )
    low = circuit_of(PAIR.replace("ohms: 40 kohm", "ohms: 2.25 kohm"))
    found = solved(low, None, "terminator R2: missing or open")
    assert ohms(found, "C1-1.machine", "C1-2.machine") == pytest.approx(side_by_side(120, 2250), abs=0.2)


def test_a_broken_wire_parts_the_ends_and_a_low_node_pulls_both_down() -> None:
    # Broken between C1 and C2: the near end sees R1 alone, the far end R2 and the node.
    assert across("wire W1: broken", plug=1) == pytest.approx(120, abs=0.05)
    assert across("wire W1: broken", plug=3) == pytest.approx(side_by_side(120, 40e3), abs=0.2)
    low = across("pump unit: low across the pair", level=0)
    assert low == pytest.approx(side_by_side(60, 40e3, 50), abs=0.15)
    assert across("pump unit: low across the pair", level=0, unplugged=("C2",)) == pytest.approx(60, abs=0.15)
    assert across("pump unit: high leg open", plug=2) == pytest.approx(60, abs=0.15)


def test_swapping_the_two_wires_at_a_plug_does_not_change_the_ohms() -> None:
    assert across("C3: C3-1 and C3-2 swapped") == pytest.approx(across(), abs=1e-3)


POWERED = """
sheet: Press cart, bus pair alive
controls: {key: [off, on]}
runs:
  high: [C1-1, wire W1 3 m 0.75 mm2 YE, unit.high]
  low:  [C1-2, wire W2 3 m 0.75 mm2 GN, unit.low]
  near: [C1-1, terminator R1, C1-2]
  far:  [unit.high, terminator R2, unit.low]
  power: [battery+, fuse F1 5 A, key switch, unit.supply]
  back: [unit.ground, ring G1, frame]
connectors: {C1: {part: terminator R1}}
parts:
  unit: {kind: bus node, bias: 2.4 V, bias ohms: 3 kohm, ohms: 40 kohm}
"""


def test_a_powered_node_holds_both_wires_at_its_bias_and_an_unpowered_one_none() -> None:
    circuit = circuit_of(POWERED)
    # A pair that nothing holds floats: the meter's own 10 Mohm draw it near zero.
    meter = (Attachment("resistor", "C1-1.machine", "unit.ground", 10e6),)
    on, off = (solved(circuit, {"key": k}, attached=meter) for k in ("on", "off"))
    for cavity in ("C1-1", "C1-2"):
        assert volts(on, f"{cavity}.machine", "unit.ground") == pytest.approx(2.4, abs=0.01)
        assert volts(off, f"{cavity}.machine", "unit.ground") == pytest.approx(0.0, abs=0.06)


@pytest.mark.parametrize(("wire", "other"), [("high", "low"), ("low", "high")])
def test_a_wire_shorted_inside_a_node_pulls_the_pair_to_ground_or_to_supply(wire: str, other: str) -> None:
    # To ground through 0.5 ohm: the bias gives 2.4 V / 3 kohm into one leg, and both are at zero.
    circuit = circuit_of(POWERED)
    found = solved(circuit, {"key": "on"}, f"unit: {wire} wire shorted to ground inside", level=0)
    for end in (wire, other):
        assert volts(found, f"unit.{end}", "unit.ground") == pytest.approx(0.0, abs=0.02)
    found = solved(circuit, {"key": "on"}, f"unit: {wire} wire shorted to supply inside", level=0)
    for end in (wire, other):
        # 60 ohm to the other wire, 20 kohm and 3 kohm to the bias: nearly all of the 12.6 V.
        assert volts(found, f"unit.{end}", "unit.ground") == pytest.approx(12.5, abs=0.15)


def test_a_reading_of_one_terminator_does_not_name_one_cause() -> None:
    answer = Engine(CIRCUIT.sheet)
    ranked = bp.rank(answer, "C1-1 to C1-2: 116 ohm, all plugged")
    likely = [s.name for s in ranked.suspects if s.probability > 0.02]
    assert "terminator R2: missing or open" in likely
    assert any(name.startswith("wire W") for name in likely)
    assert ranked.suspects[0].probability < 0.5
    checks = [c.words() for c in bp.next_checks(ranked)]
    assert any(c.startswith("ohms from") for c in checks)

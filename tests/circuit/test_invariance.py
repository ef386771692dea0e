"""A sheet says what is joined to what: the order in which it says so changes no volt.

Metamorphic checks, without a source: entries of every section in another order, a run walked
the other way, names in other words for the same thing.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from backprobe.circuit.compiled import compile_sheet
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import make_setup
from backprobe.circuit.solve import Changes, Solution, solve_changes
from backprobe.circuit.stage import make_stage
from backprobe.sheet.document import Mapping, Node, Scalar, read_document, write_document
from backprobe.sheet.reader import parse_sheet

SPRAYER = """
sheet: Vine sprayer, gate circuit
system: 12 V
controls: {key: [off, on], gate: [shut, open], arm: [released, pressed]}
runs:
  power: [battery+, fuse F3 10 A, key switch, splice S5, C1-1, controller.battery]
  ground: [controller.ground, C1-2, wire 0.8 m 2.5 mm2 BK, ring G4, frame, strap E1, battery-]
  feed: [controller.feed, C2-1, wire 2 m 0.75 mm2 RD, gate sensor.supply]
  signal: [gate sensor.output, C2-3, controller.gate input]
  return: [gate sensor.ground, C2-2, controller.sensor ground]
  arm: [S5, arm switch, controller.arm input]
  valve: [controller.valve output, C3-1, coil Y2 8.8 ohm, C3-2, ring G4]
  suppressor: [coil Y2.2, diode V1, coil Y2.1]
  coil: [S5, resistor R2 10 ohm, relay coil K1 80 ohm, frame]
  horn: [battery+, fuse F4 15 A, relay contact K1, lamp H2 21 W, frame]
parts:
  gate sensor:
    kind: ratiometric sensor
    output: {gate shut: 64 %, gate open: 21 %}
    supply: {value: 9.0 V, range: 4.5..14 V}
  arm switch: {closed: {arm: pressed}, open ohms: 10 kohm}
  controller:
    feed: {volts: 9.0 V +-2 %, limit: 60 mA}
    gate input: {pull-down: 47 kohm, bands: {0..0.6 V: code low, 0.7..3.1 V: open, 4.9..6.6 V: shut}}
    arm input: {pull-down: 5 kohm, bands: {0..6 V: off, 8..16 V: on}}
functions:
  boom: {releases when: gate input is shut and arm input is on, drives: valve output, guard: gate is shut}
lamps:
  gate lamp: {lit: gate input is open}
"""

RELAYS = """
sheet: Trailer winch, two relays
system: 24 V
controls: {button: [released, pressed], door: [open, shut]}
runs:
  power: [battery+, fuse F1 15 A, splice S1]
  first: [S1, button switch, relay coil K1 320 ohm, ring G1, frame]
  second: [S1, relay contact K1, door switch, relay coil K2 320 ohm, ring G1]
  motor: [S1, relay contact K2, coil Y1 14 ohm, frame]
  rest: [K2.87a, diode V2, resistor R1 470 ohm, lamp H1 3 W, frame]
  back: [frame, strap E1, battery-]
parts:
  button switch: {closed: {button: pressed}}
  door switch: {closed: {door: shut}}
"""
SHEETS = (SPRAYER, RELAYS)


def plain(node: Node) -> Any:
    """A node as dicts, lists and texts."""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Mapping):
        return {key.text: plain(value) for key, value in node.entries}
    return [plain(item) for item in node.items]


@st.composite
def shuffled(draw: st.DrawFn, text: str) -> str:
    """The same sheet with the entries of every section in another order."""

    def shuffle(data: Any, depth: int) -> Any:
        if not isinstance(data, dict) or depth == 0:
            return data
        names = draw(st.permutations(list(data)))
        return {name: shuffle(data[name], depth - 1) for name in names}

    return write_document(shuffle(plain(read_document(text, file="s")), 4))


def state_of(draw: st.DrawFn, text: str) -> dict[str, str]:
    """A position for each control."""
    controls = plain(read_document(text, file="s"))["controls"]
    return {name: draw(st.sampled_from(positions)) for name, positions in controls.items()}


def solved(text: str, state: dict[str, str], unplugged: frozenset[str] = frozenset()) -> Solution:
    circuit = compile_sheet(parse_sheet(text))
    return solve_full(make_stage(circuit, make_setup(circuit.sheet, state, unplugged)), circuit.nominal[None])


def assert_same(one: Solution, other: Solution) -> None:
    """Same terminals, same volts at each, same modes of each device, same currents."""
    a, b = one.stage.circuit, other.stage.circuit
    assert set(a.node_of) == set(b.node_of)
    names = sorted(a.node_of)
    volts = [np.array([float(s.across(n, "battery.-")[0]) for n in names]) for s in (one, other)]
    np.testing.assert_allclose(volts[0], volts[1], rtol=0, atol=1e-9)
    assert set(a.device_of) == set(b.device_of)
    for device in a.device_of:
        assert one.modes[0, a.device_of[device]] == other.modes[0, b.device_of[device]], device
    assert bool(one.chatters[0]) == bool(other.chatters[0])
    assert set(a.branch_of) == set(b.branch_of)
    for branch in a.branch_of:
        assert float(one.through(branch)[0]) == pytest.approx(float(other.through(branch)[0]), abs=1e-6), (
            branch
        )
    assert {m.name for m in a.modes} == {m.name for m in b.modes}


@pytest.mark.parametrize("text", SHEETS, ids=["sprayer", "relays"])
@given(data=st.data())
@settings(max_examples=25)
def test_the_order_of_entries_changes_nothing(text: str, data: st.DataObject) -> None:
    other = data.draw(shuffled(text))
    state = data.draw(st.composite(state_of)(text))
    assert_same(solved(text, state), solved(other, state))


@given(data=st.data())
@settings(max_examples=12)
def test_the_order_of_entries_changes_nothing_with_a_plug_off(data: st.DataObject) -> None:
    other = data.draw(shuffled(SPRAYER))
    state = data.draw(st.composite(state_of)(SPRAYER))
    off = frozenset({data.draw(st.sampled_from(("C1", "C2", "C3", "fuse F3", "ring G4")))})
    assert_same(solved(SPRAYER, state, off), solved(other, state, off))


@given(data=st.data())
@settings(max_examples=12)
def test_a_fault_does_the_same_whatever_the_order(data: st.DataObject) -> None:
    texts = (SPRAYER, data.draw(shuffled(SPRAYER)))
    state = data.draw(st.composite(state_of)(SPRAYER))
    circuits = [compile_sheet(parse_sheet(t)) for t in texts]
    name = data.draw(st.sampled_from(sorted(m.name for m in circuits[0].modes)))
    solutions = []
    for circuit in circuits:
        (mode,) = [m for m in circuit.modes if m.name == name]
        index = np.array([[circuit.parameter_of[k] for k in mode.changes]])
        value = np.array([[grid[0] for grid in mode.changes.values()]])
        stage = make_stage(circuit, make_setup(circuit.sheet, state))
        solutions.append(solve_changes(stage, Changes(index, value)))
    assert_same(*solutions)


@pytest.mark.parametrize("button", ["released", "pressed"])
def test_a_run_of_plain_parts_may_be_walked_either_way(button: str) -> None:
    # Resistances have no direction. (A diode has one and says so with `reversed`.)
    items = [
        "battery+",
        "fuse F1 15 A",
        "C1-1",
        "button switch",
        "C1-2",
        "coil Y1 14 ohm",
        "ring G1",
        "frame",
    ]
    texts = [
        f"""
sheet: one run
system: 24 V
controls: {{button: [released, pressed]}}
runs:
  one: [{", ".join(walk)}]
connectors:
  C1: {{part: button switch}}
parts:
  button switch: {{closed: {{button: pressed}}}}
"""
        for walk in (items, items[::-1])
    ]
    one, other = (solved(t, {"button": button}) for t in texts)
    # To a ten-millionth: a wire may chafe at its far end, and which end that is follows the walk,
    # so the 1e10 ohm of a chafe that is not there changes sides.
    for part in ("coil Y1.winding", "fuse F1.element", "C1-1.pin", "C1-2.pin", "button switch.contact"):
        assert abs(float(one.through(part)[0])) == pytest.approx(abs(float(other.through(part)[0])), abs=1e-7)
    found = [abs(float(s.across("coil Y1.1", "coil Y1.2")[0])) for s in (one, other)]
    assert found[0] == pytest.approx(found[1], abs=1e-6)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("battery+, fuse F1 15 A", "battery plus, fuse F1 15A"),
        ("ring G1, frame]", "ring G1, chassis]"),
        ("relay coil K2 320 ohm", "K2 coil"),
        ("coil Y1 14 ohm, frame", "coil Y1 14R, ground"),
        ("[S1, button switch", "[splice S1, button switch"),
    ],
)
def test_other_words_for_the_same_thing_change_nothing(old: str, new: str) -> None:
    assert RELAYS.count(old) == 1
    text = RELAYS.replace(old, new)
    if new == "K2 coil":
        text = text.replace("parts:", "parts:\n  relay K2: {coil: 320 ohm}")
    state = {"button": "pressed", "door": "shut"}
    one, other = solved(RELAYS, state), solved(text, state)
    for terminal in ("relay K1.86", "relay K2.86", "coil Y1.1", "frame"):
        assert float(one.across(terminal, "battery.-")[0]) == pytest.approx(
            float(other.across(terminal, "battery.-")[0]), abs=1e-9
        )

"""Latches: an operate button that arms until a guard opens, and a relay that holds itself in."""

from __future__ import annotations

import numpy as np
import pytest

import backprobe as bp
from backprobe.circuit.full import solve_full
from backprobe.circuit.history import setup_before
from backprobe.circuit.setup import make_setup
from backprobe.diagnosis.checks import is_safe
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import try_states, works_with
from backprobe.errors import SheetError
from tests.sheet.kinds.faulty import circuit_of, mode, solved

ARMED = """
sheet: Press cart, armed by a button
controls:
  key: [off, on]
  seat: [empty, seated]
  arm button: [released, pressed]
runs:
  power:  [battery+, fuse F2 10 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, ring G1, frame]
  seat:   [controller.seat input, C1-3, wire W3 2 m, seat switch, ring G2, frame]
  button: [controller.button input, C1-4, wire W4 2 m, arm button, ring G2]
  valve:  [controller.press output, C1-5, coil Y1 9 ohm, ring G3, frame]
connectors: {C1: {part: controller}}
parts:
  seat switch: {closed: {seat: seated}}
  arm button: {kind: switch, closed: {arm button: pressed}}
  controller:
    seat input: {pull-up: 3 kohm, pull-up volts: 5.2 V, bands: {0..1.4 V: seated, 2.6..6 V: empty}}
    button input: {pull-up: 3 kohm, pull-up volts: 5.2 V, bands: {0..1.4 V: pressed, 2.6..6 V: released}}
latches:
  armed:
    set when: button input is pressed and seat input is seated
    clear when: seat input is empty
    set by: arm button pressed
functions:
  press: {releases when: armed is set, drives: press output, guard: seat is seated}
lamps:
  arm lamp: {lit: armed is set or button input is pressed}
"""
ENGINE = Engine(bp.parse_sheet(ARMED, file="armed"))
SEATED = {"key": "on", "seat": "seated"}


def works(state: dict[str, str], fault: str = "") -> bool:
    return bool(works_with(ENGINE, make_setup(ENGINE.sheet, state), fault))


def test_it_arms_while_pressed_holds_when_let_go_and_drops_when_the_guard_opens() -> None:
    assert not works(SEATED)
    assert works({**SEATED, "arm button": "pressed"})
    assert works({**SEATED, "armed": "set"})
    assert not works({**SEATED, "seat": "empty", "armed": "set"})
    # Seated again: it dropped before, so it is clear and has to be pressed again.
    assert not works({**SEATED, "armed": "clear"})
    assert not works({**SEATED, "key": "off", "armed": "set"})


def test_pressing_with_the_guard_open_arms_nothing() -> None:
    assert not works({"key": "on", "seat": "empty", "arm button": "pressed"})
    assert not works({"key": "on", "seat": "empty", "arm button": "pressed", "armed": "set"})


@pytest.mark.parametrize(
    "fault",
    ["arm button: does not close", "wire W4: broken", "seat switch: does not close", "fuse F2: blown"],
)
def test_what_was_typed_as_set_is_done_with_the_fault_and_may_fail(fault: str) -> None:
    assert not works({**SEATED, "armed": "set"}, fault)


def test_a_button_that_does_not_open_does_no_harm_to_the_latch_as_such() -> None:
    # Stuck pressed: armed at once when seated, and that is what its fault looks like.
    assert works(SEATED, "arm button: does not open")


def test_the_setup_before_has_the_button_pressed_and_the_guard_shut() -> None:
    now = make_setup(ENGINE.sheet, {"key": "on", "armed": "set"})
    before = setup_before(ENGINE.sheet, now)
    assert before is not None
    state = {"key": "on", "seat": "seated", "arm button": "pressed", "armed": "clear"}
    assert dict(before.state) == state
    assert setup_before(ENGINE.sheet, before) is None


def test_states_find_it_guarded_and_a_latch_that_ignores_its_guard_is_reported() -> None:
    found = try_states(ENGINE)
    assert not found.unguarded
    assert found.works["press"] is not None
    careless = bp.parse_sheet(ARMED.replace("clear when: seat input is empty", "clear when: key is off"))
    state = try_states(Engine(careless)).unguarded["press"]
    assert dict(state.state)["armed"] == "set"
    assert dict(state.state)["seat"] == "empty"


def test_no_check_presses_the_button_or_goes_on_armed_with_the_guard_open() -> None:
    # A seat input that lies would let it arm: the button is only pressed with the seat taken.
    home = make_setup(ENGINE.sheet, SEATED)
    for state, safe in (
        ({"seat": "empty"}, True),
        ({"seat": "empty", "arm button": "pressed"}, False),
        ({"seat": "empty", "armed": "set"}, False),
        ({"arm button": "pressed"}, True),
        ({"armed": "set"}, True),
    ):
        assert is_safe(ENGINE.sheet, home, make_setup(ENGINE.sheet, {**SEATED, **state})) == safe, state


def test_nothing_said_about_the_latch_is_clear_and_its_words_are_read() -> None:
    state = "key on, seat seated, arm button released, all plugged"
    plain = bp.parse_readings(f"press dead, {state}", ENGINE.sheet)[0]
    typed = bp.parse_readings(f"press works, {state}, armed set", ENGINE.sheet)[0]
    assert plain.setup.position("armed") == "clear"
    assert typed.setup.position("armed") == "set"


def test_a_normal_sequence_is_as_built() -> None:
    # Works pressed, works let go, dropped with the seat, must be pressed again: all as it should be.
    lines = """press works, key on, seat seated, arm button pressed, all plugged
press works, key on, seat seated, arm button released, armed set, all plugged
press dead, key on, seat empty, arm button released, armed set, all plugged
press dead, key on, seat seated, arm button released, armed clear, all plugged"""
    answer = bp.rank(ENGINE, lines)
    assert answer.as_built > max((s.probability for s in answer.suspects), default=0.0)


def test_a_lamp_that_goes_out_when_the_button_is_let_go_points_at_the_guard_circuit() -> None:
    # The lamp shows the button too: lit while pressed proves the button's wires, dark after it that
    # nothing was armed, so the seat is not seen.
    lines = """arm lamp lit, key on, seat seated, arm button pressed, all plugged
arm lamp dark, key on, seat seated, arm button released, armed set, all plugged"""
    answer = bp.rank(ENGINE, lines)
    by_name = {s.name: s.probability for s in answer.suspects}
    seat = sum(p for n, p in by_name.items() if "seat" in n or "W3" in n or "C1-3" in n)
    button = sum(p for n, p in by_name.items() if n in {"arm button: does not close", "wire W4: broken"})
    assert seat > 0.5
    assert button < 0.05
    assert answer.as_built < 0.02


HOLD = """
sheet: Crusher, start relay that holds itself
controls: {start button: [released, pressed], stop button: [released, pressed]}
runs:
  feed:  [battery+, fuse F1 10 A, stop button, splice S1, start button, splice S2, relay coil K1, frame]
  hold:  [splice S1, relay contact K1, splice S2]
  motor: [splice S2, lamp H1 10 W, frame]
parts:
  stop button: {kind: switch, closed: {stop button: released}}
  start button: {kind: switch, closed: {start button: pressed}}
latches:
  held in: {set by: start button pressed}
functions:
  drum: {loads: lamp H1}
"""


def test_a_relay_that_holds_itself_in_is_a_latch_of_the_circuit() -> None:
    circuit = circuit_of(HOLD)
    assert not mode(solved(circuit), "relay K1.armature")
    assert mode(solved(circuit, {"start button": "pressed"}), "relay K1.armature")
    assert mode(solved(circuit, {"held in": "set"}), "relay K1.armature")
    stopped = {"held in": "set", "stop button": "pressed"}
    assert not mode(solved(circuit, stopped), "relay K1.armature")


def test_a_holding_contact_that_does_not_close_lets_go_with_the_button() -> None:
    circuit = circuit_of(HOLD)
    fault = "relay K1: contact burnt"
    assert mode(solved(circuit, {"start button": "pressed"}, fault), "relay K1.armature")
    assert not mode(solved(circuit, {"held in": "set"}, fault), "relay K1.armature")


def test_low_rank_and_full_solutions_agree_on_what_was_done_before() -> None:
    setup = make_setup(ENGINE.sheet, {**SEATED, "armed": "set"})
    quick = ENGINE.singles(setup)
    full = solve_full(ENGINE.stage(setup), quick.values)
    assert (quick.modes == full.modes).all()
    assert np.abs(quick.volts - full.volts).max() < 1e-6


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("    set by: arm button pressed\n", "", "does not say what the operator does to set it"),
        ("set by: arm button pressed", "set by: arm button squeezed", "is not an operator state"),
        ("    clear when: seat input is empty\n", "", "has no rule `clear when`"),
        ("  armed:\n", "  key:\n", "is a control already"),
        ("seat input is empty", "seat input is vacant", "is not something seat input can be"),
        ("clear when:", "clears when:", "is not a field of a latch"),
        ("releases when: armed is set", "releases when: armed is on", "is not something armed can be"),
    ],
)
def test_what_is_wrong_with_a_latch_is_said(old: str, new: str, said: str) -> None:
    assert old in ARMED
    with pytest.raises(SheetError, match=said):
        bp.parse_sheet(ARMED.replace(old, new))


def test_a_rule_cannot_ask_for_what_only_a_relay_holds() -> None:
    wrong = HOLD.replace("{loads: lamp H1}", "{loads: lamp H1, releases when: held in is set}")
    with pytest.raises(SheetError, match="is held by a relay"):
        bp.parse_sheet(wrong)


def test_a_latch_whose_rule_names_the_button_itself_needs_no_set_by() -> None:
    rule = "set when: arm button is pressed and seat input is seated"
    text = ARMED.replace("set when: button input is pressed and seat input is seated", rule)
    sheet = bp.parse_sheet(text.replace("    set by: arm button pressed\n", ""))
    assert [str(s) for s in sheet.latches["armed"].by] == ["arm button pressed"]

"""A changeover switch on two pulled-up inputs: exactly one of them is grounded in each position.

Each input has 2 kohm to 6 V; a grounded one is at about 6 V x 0.03 ohm / 2 kohm = 0.1 mV, an open one at
6 V. The numbers are invented; every expected value follows from Ohm's law.
"""

from __future__ import annotations

import pytest

import backprobe as bp
from tests.sheet.kinds.faulty import circuit_of, is_true, solved, volts

SHEET = """
sheet: Winch cart, gate lock
controls: {lock: [free, locked]}
runs:
  power:  [battery+, fuse F1 5 A, controller.battery]
  ground: [controller.ground, ring G1, frame]
  first:  [controller.first input, C1-1, C2-1, lock switch.NO]
  second: [controller.second input, C1-2, C2-2, lock switch.NC]
  common: [lock switch.common, C2-3, wire W3 1 m 1 mm2 BK, ring G2, frame]
connectors: {C1: {part: controller}, C2: {part: lock switch}}
parts:
  lock switch: {kind: changeover switch, actuated: {lock: locked}}
  controller:
    first input: {pull-up: 2 kohm, pull-up volts: 6 V, bands: {0..1.5 V: low, 4..7 V: high}}
    second input: {pull-up: 2 kohm, pull-up volts: 6 V, bands: {0..1.5 V: low, 4..7 V: high}}
lamps:
  lock lamp:
    lit: first input is low and second input is high
    2 flashes: (first input is low and second input is low) or (first input is high and second input is high)
"""
CIRCUIT = circuit_of(SHEET)
LOW, HIGH = 0.0, 6.0


def levels(state: str, fault: str = "") -> tuple[float, float]:
    found = solved(CIRCUIT, {"lock": state}, fault and f"lock switch: {fault}")
    return volts(found, "C1-1.machine", "controller._ground"), volts(
        found, "C1-2.machine", "controller._ground"
    )


@pytest.mark.parametrize(
    ("fault", "free", "locked"),
    [
        # first input (NO) and second input (NC), free and locked
        ("", (HIGH, LOW), (LOW, HIGH)),
        ("stuck at rest", (HIGH, LOW), (HIGH, LOW)),
        ("stuck actuated", (LOW, HIGH), (LOW, HIGH)),
        ("stops midway, both contacts open", (HIGH, HIGH), (HIGH, HIGH)),
        ("common open inside", (HIGH, HIGH), (HIGH, HIGH)),
        ("NO contact does not close", (HIGH, LOW), (HIGH, HIGH)),
        ("NC contact does not close", (HIGH, HIGH), (LOW, HIGH)),
        ("NO and NC swapped at its terminals", (LOW, HIGH), (HIGH, LOW)),
        ("contact sets changed about (NO for NC)", (LOW, HIGH), (HIGH, LOW)),
        ("NO contact set fitted for NC, two alike", (HIGH, HIGH), (LOW, LOW)),
        ("NC contact set fitted for NO, two alike", (LOW, LOW), (HIGH, HIGH)),
    ],
)
def test_levels_of_both_inputs_in_both_positions(
    fault: str, free: tuple[float, float], locked: tuple[float, float]
) -> None:
    assert levels("free", fault) == pytest.approx(free, abs=0.01)
    assert levels("locked", fault) == pytest.approx(locked, abs=0.01)


def test_a_worn_contact_divides_with_the_pull_up() -> None:
    # 300 ohm in the NO contact: 6 V x 300 / 2300 = 0.783 V, less the few millivolts by which the
    # controller's own draw lifts its ground; and nothing in the other position.
    mode = next(m for m in CIRCUIT.modes if m.name == "lock switch: NO contact worn or dirty")
    level = next(iter(mode.changes.values())).index(300.0)
    found = solved(CIRCUIT, {"lock": "locked"}, mode.name, level=level)
    assert volts(found, "C1-1.machine", "controller._ground") == pytest.approx(0.783, abs=6e-3)
    found = solved(CIRCUIT, {"lock": "free"}, mode.name, level=level)
    assert volts(found, "C1-2.machine", "controller._ground") == pytest.approx(0.0, abs=6e-3)


def test_with_the_return_open_the_common_floats_up_through_the_closed_contact() -> None:
    # Nothing flows: no volts are lost in either 2 kohm, so both inputs and the common are at 6 V.
    for position in ("free", "locked"):
        found = solved(CIRCUIT, {"lock": position}, "wire W3: broken")
        for point in ("C1-1.machine", "C1-2.machine", "C2-3.machine"):
            assert volts(found, point, "controller._ground") == pytest.approx(6.0, abs=0.01)


def test_agreement_of_the_two_inputs_is_a_rule() -> None:
    both = "(first input is low and second input is low) or (first input is high and second input is high)"
    for position in ("free", "locked"):
        assert not is_true(solved(CIRCUIT, {"lock": position}), both)
        assert is_true(solved(CIRCUIT, {"lock": position}, "lock switch: common open inside"), both)


def test_an_open_return_is_found_and_the_contacts_are_not_blamed() -> None:
    lines = [
        f"{point} to battery-: 5.98 V, lock {position}, all plugged"
        for position in ("free", "locked")
        for point in ("C1-1", "C1-2", "C2-3")
    ]
    answer = bp.rank(CIRCUIT.sheet, "\n".join(lines))
    first = answer.suspects[0]
    assert first.name == "wire W3: broken"
    blamed = [s.name for s in answer.suspects if s.name.startswith("lock switch") and s.probability > 0.01]
    assert not blamed


def test_a_switch_called_by_its_guard_follows_the_habit_of_its_name() -> None:
    sheet = bp.parse_sheet(
        "sheet: Habit\nruns:\n  a: [battery+, gate switch.common, gate switch.NO, lamp H1 10 W, frame]\n"
        "parts: {gate switch: {kind: changeover switch}}\n"
    )
    assert sheet.controls["gate"].positions == ("open", "shut")
    assert dict(sheet.parts["gate switch"].closed) == {"gate": frozenset({"shut"})}
    assert sheet.functions["lamp H1"].guard == "gate is shut"


def test_two_controls_make_one_resting_contact() -> None:
    # NC is closed wherever NO is not, with one contact's resistance: never two branches at once.
    circuit = circuit_of(
        "sheet: Two\ncontrols: {a: [off, on], b: [off, on]}\nruns:\n"
        "  one: [battery+, lamp H1 10 W, s.NC]\n  two: [battery+, lamp H2 10 W, s.NO]\n"
        "  back: [s.common, frame]\n"
        "parts: {s: {kind: changeover switch, actuated: {a: on, b: on}, contact: 1 ohm}}\n"
    )
    for a in ("off", "on"):
        for b in ("off", "on"):
            found = solved(circuit, {"a": a, "b": b})
            through = [volts(found, "s._nc", "s._blade"), volts(found, "s._no", "s._blade")]
            # 12.6 V over 144/10 + 1 ohm and some milliohms: 0.81 V on the contact that is closed.
            made = a == b == "on"
            assert through[made] == pytest.approx(0.81, abs=0.02)
            assert through[not made] > 12

"""Failure mode identifiers of SAE J1939-73, and trouble codes as four bytes.

Identifiers 0 to 19 and 31 are [seen] in several independent public listings (20 and 21 in fewer);
one listing prints "high source" for 4, against all others. Packing is [seen], the bytes are [calc].
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import backprobe as bp
from backprobe.circuit.solve import Changes, no_changes, solve_changes
from backprobe.diagnosis.expected_codes import expected_codes
from backprobe.faults.failure_mode import FAILURE_MODES, TroubleCode, pin_codes, unpack_code
from tests.circuit.gate import GATE, READY
from tests.reference.books import outside

SUBJECT = "failure mode identifiers"
STANDARD = "SAE J1939-73"

WORDS = [
    (0, "above", "most severe"),
    (1, "below", "most severe"),
    (2, "erratic", "intermittent"),
    (3, "voltage above normal", "high source"),
    (4, "voltage below normal", "low source"),
    (5, "current below normal", "open circuit"),
    (6, "current above normal", "grounded circuit"),
    (7, "mechanical", "respond"),
    (8, "frequency", "pulse width"),
    (9, "abnormal", "update rate"),
    (10, "abnormal", "rate of change"),
    (11, "cause", "not known"),
    (12, "bad", "device"),
    (13, "out of", "calibration"),
    (14, "special", "instructions"),
    (15, "above", "least"),
    (16, "above", "moderate"),
    (17, "below", "least"),
    (18, "below", "moderate"),
    (19, "network data", "error"),
    (20, "drifted", "high"),
    (21, "drifted", "low"),
    (31, "condition", "exists"),
]


@outside(SUBJECT, STANDARD, "seen")
@pytest.mark.parametrize(("fmi", "one", "other"), WORDS)
def test_what_an_identifier_says(fmi: int, one: str, other: str) -> None:
    assert one in FAILURE_MODES[fmi]
    assert other in FAILURE_MODES[fmi]


@outside(SUBJECT, STANDARD, "seen")
def test_reserved_identifiers_are_left_out() -> None:
    assert set(range(32)) - set(FAILURE_MODES) == set(range(22, 31))


@outside(SUBJECT, STANDARD, "seen + calc", figures=4)
def test_number_91_with_identifier_3_seen_once() -> None:
    code = TroubleCode(91, 3, 1)
    assert code.pack() == bytes((0x5B, 0x00, 0x03, 0x01))
    assert unpack_code(bytes((0x5B, 0x00, 0x03, 0x01))) == code


@outside(SUBJECT, STANDARD + ": 19, 5, 7 and 1 bits", "seen", figures=4)
@given(st.integers(0, 2**19 - 1), st.integers(0, 31), st.integers(0, 127), st.booleans())
def test_packing_keeps_all_32_bits(number: int, fmi: int, count: int, older: bool) -> None:
    code = TroubleCode(number, fmi, count, older)
    data = code.pack()
    assert len(data) == 4
    assert unpack_code(data) == code
    # 19 bits of number: two whole bytes and the top three bits of the third.
    assert data[0] + 256 * data[1] + 65536 * (data[2] >> 5) == number


@outside(SUBJECT, STANDARD + ": 19, 5, 7 and 1 bits", "seen", figures=3)
@pytest.mark.parametrize("code", [TroubleCode(2**19, 3), TroubleCode(91, 32), TroubleCode(91, 3, 128)])
def test_a_number_wider_than_its_bits_is_refused(code: TroubleCode) -> None:
    with pytest.raises(bp.ReadingError, match=r"does not fit the \d+ bits"):
        code.pack()


def codes_of(fault: str, *, severest: bool = True, state: dict[str, str] = READY) -> dict[str, int]:
    """Identifiers by pin that a fault of the gate circuit brings."""
    engine = bp.Engine(bp.parse_sheet(GATE))
    setup = bp.make_setup(engine.sheet, state)
    rows = engine.catalogue.rows_of([m.name for m in engine.catalogue.modes].index(fault))
    solution = engine.singles(setup)
    sound = solve_changes(engine.stage(setup), no_changes())
    found = pin_codes(sound, solution)[int(rows[-1] if severest else rows[0])]
    return {c.pin: c.fmi for c in found}


SIGNAL = "wire C2-3 to controller gate input"
FEED = "wire controller feed to C2-1"


@outside(SUBJECT, STANDARD, "seen + calc", figures=2)
@pytest.mark.parametrize(
    ("fault", "first", "pin", "fmi"),
    [
        # A short is severest at the beginning of its grid, a break at the end.
        (f"{SIGNAL}: shorted to supply", True, "gate input", 3),
        (f"{SIGNAL}: shorted to frame", True, "gate input", 4),
        (f"{SIGNAL}: broken", False, "gate input", 4),  # a pull-down takes an open input down
        (f"{FEED}: broken", False, "gate input", 4),  # the starved sensor gives nothing
        (f"{FEED}: shorted to frame", True, "feed", 4),
        ("coil Y2: winding open", False, "valve output", 5),
        ("coil Y2: turns shorted", False, "valve output", 6),
    ],
)
def test_solved_faults_and_their_identifiers(fault: str, first: bool, pin: str, fmi: int) -> None:
    assert codes_of(fault, severest=not first)[pin] == fmi


@outside(SUBJECT, STANDARD, "calc", figures=2)
def test_an_open_input_with_a_pull_up_reads_high() -> None:
    text = GATE.replace("pull-down: 100 kohm", "pull-up: 22 kohm\n      pull-up volts: 8 V")
    engine = bp.Engine(bp.parse_sheet(text))
    setup = bp.make_setup(engine.sheet, READY)
    rows = engine.catalogue.rows_of([m.name for m in engine.catalogue.modes].index(f"{SIGNAL}: broken"))
    found = pin_codes(solve_changes(engine.stage(setup), no_changes()), engine.singles(setup))
    assert {c.pin: c.fmi for c in found[int(rows[-1])]} == {"gate input": 3}
    assert found[0] == ()


@outside(SUBJECT, STANDARD, "calc")
def test_an_output_that_flickers_is_erratic() -> None:
    # The valve shares a ground strap with its controller: a bad one lets the controller reset for ever.
    shared = GATE.replace("[frame, strap S2, battery-]", "[frame, wire W1 1 mohm, S1.1]")
    engine = bp.Engine(bp.parse_sheet(shared))
    stage = engine.stage(bp.make_setup(engine.sheet, READY))
    key = stage.circuit.parameter_of["strap S1.strap ohms"]
    faulty = solve_changes(stage, Changes(np.array([[key]]), np.array([[8.0]])))
    assert bool(faulty.chatters[0])
    found = pin_codes(solve_changes(stage, no_changes()), faulty)[0]
    assert {c.pin: c.fmi for c in found}["valve output"] == 2


@outside(SUBJECT, STANDARD, "calc")
def test_a_fault_between_the_normal_states_has_no_electrical_code() -> None:
    # An input inside its bands is believed: a worn contact in the valve's circuit sets no code either.
    engine = bp.Engine(bp.parse_sheet(GATE))
    setup = bp.make_setup(engine.sheet, {**READY, "gate": "open"})
    sound = solve_changes(engine.stage(setup), no_changes())
    assert pin_codes(sound, sound) == ((),)


@outside(SUBJECT, STANDARD, "calc", figures=2)
def test_suspects_of_a_ranking_carry_their_identifiers() -> None:
    sheet = bp.parse_sheet(GATE)
    lines = (
        "state: key on, gate shut, button pressed, all plugged\ntipper dead\ngate input to battery-: 0.00 V"
    )
    lines = lines.replace("gate input", "controller.gate input")
    answer = bp.rank(sheet, lines)
    found = expected_codes(answer)
    assert set(found) == {s.name for s in answer.suspects}
    inputs = {c.fmi for codes in found.values() for c in codes if c.pin == "gate input"}
    assert inputs == {4}
    # With a plug off, codes say nothing of the fault.
    off = "state: key on, gate shut, button pressed, C2 unplugged\ncontroller.gate input to battery-: 0.00 V"
    assert expected_codes(bp.rank(sheet, off)) == {}


@outside(SUBJECT, STANDARD, "seen + calc", figures=2)
def test_a_joint_that_comes_and_goes_is_erratic() -> None:
    engine = bp.Engine(bp.parse_sheet(GATE), only={f"{SIGNAL}: broken", "gate sensor: output broken inside"})
    state = "state: key on, gate shut, button pressed, all plugged\n"
    found = expected_codes(bp.rank(engine, state + "controller.gate input to battery-: unsteady"))
    assert [(c.pin, c.fmi) for c in found[f"{SIGNAL}: broken"]] == [("gate input", 2)]
    steady = expected_codes(bp.rank(engine, state + "controller.gate input to battery-: 0.00 V"))
    assert [(c.pin, c.fmi) for c in steady[f"{SIGNAL}: broken"]] == [("gate input", 4)]

"""A controller leads only once feed, ground, inputs and its own pin were read with the plug on.

The order of proof is common practice, no source; the machine is invented.
"""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.report.data import answer_data
from backprobe.report.words import answer_text

SHEET = """
sheet: Post driver, gate circuit
system: 12 V
controls: {key: [off, on], gate: [shut, open], hammer button: [released, pressed]}
runs:
  power:  [battery+, fuse F4 10 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, wire 1 m 2.5 mm2 BK, ring G1, frame, strap, battery-]
  signal: [frame, gate switch, C1-3, controller.gate input]
  valve:  [controller.valve output, C1-4, C3-1, coil Y1 8.8 ohm, C3-2, ring G2, frame]
connectors: {C1: {part: controller, minutes: 3}}
parts:
  gate switch: {closed: {gate: shut}}
  controller:
    gate input: {pull-up: 4.6 kohm, pull-up volts: 5.1 V, bands: {0..1 V: shut, 3.5..5.5 V: open}}
functions:
  hammer:
    releases when: gate input is shut and hammer button is pressed
    drives: valve output
    guard: gate is shut
"""
COMPLAINT = "state: key on, gate shut, hammer button pressed, all plugged\nhammer dead\n"
OUTPUT = "C1-4 to battery-: 0.01 V\n"
SUPPLY = "C1-1 to C1-2: 12.3 V\n"
INPUT = "C1-3 to battery-: 0.005 V\n"
DEAD = "controller: valve output dead"


def rank(*lines: str) -> bp.Answer:
    """The answer to the complaint and some readings."""
    return bp.rank(bp.parse_sheet(SHEET), COMPLAINT + "".join(lines))


@pytest.mark.parametrize(
    ("lines", "what"),
    [
        ((OUTPUT, INPUT), "feed and ground"),
        ((OUTPUT, SUPPLY), "gate input shut"),
        ((SUPPLY, INPUT), "valve output"),
    ],
)
def test_any_missing_proof_holds_the_controller_back(lines: tuple[str, ...], what: str) -> None:
    """With one of the three missing it is not named, and the missing one is named."""
    answer = rank(*lines)
    assert not answer.groups[0].suspects[0].name.startswith("controller:")
    held = {h.suspect: h for h in answer.held}
    assert [m.what.startswith(what) for m in held[DEAD].missing] == [True]


def test_what_is_missing_is_the_next_check_once_it_would_lead() -> None:
    """The output was only read beyond its wire, and the wire rings out: the rear of C1-4 comes first."""
    wire = "C1-4 to C3-1: 0.4 ohm, key off, hammer button released, C1 unplugged, C3 unplugged\n"
    seen = "".join(f"looked at {part}: fine\n" for part in ("C3-1", "C1-1", "C1-2", "C1-3", "C1-4"))
    answer = rank(SUPPLY, INPUT, "C3-1 to battery-: 0.01 V\n", wire, seen)
    held = {h.suspect: h.probability for h in answer.held}
    assert held[DEAD] > max(s.probability for s in answer.suspects if s.name not in held)
    first = bp.next_checks(answer)[0]
    assert first.proves == "valve output of controller, read with the plug on"
    assert first.candidate.red is not None
    assert first.candidate.red.name == "C1-4"
    assert "C1" not in first.candidate.setup.unplugged


def test_all_proven_lets_it_lead() -> None:
    """Feed, ground, input and output read with the plug on: the driver is named, among its own pin."""
    answer = rank(SUPPLY, INPUT, OUTPUT)
    assert not [h for h in answer.held if h.suspect == DEAD]
    assert DEAD in {s.name for s in answer.groups[0].suspects}


def test_a_reading_with_the_plug_off_proves_nothing() -> None:
    """Unplugged is never a neutral state: the same numbers with C1 off leave all three to be read."""
    answer = rank("C1-1 to battery-: 12.3 V, C1 unplugged\n", "C1-4 to battery-: 0 V, C1 unplugged\n")
    held = {h.suspect: h for h in answer.held}
    assert len(held[DEAD].missing) == 3


def test_a_sagging_feed_is_no_proof() -> None:
    """9.8 V from feed to ground with the plug on is a finding, not a proof."""
    answer = rank("C1-1 to C1-2: 9.8 V\n", INPUT, OUTPUT)
    held = [h for h in answer.held if h.suspect == DEAD]
    assert not held or held[0].missing[0].what.startswith("feed and ground")
    assert not answer.groups[0].suspects[0].name.startswith("controller: valve")


def test_words_and_data_say_what_is_missing() -> None:
    """Both faces list what has to be read before the controller may lead."""
    answer = rank(OUTPUT, SUPPLY)
    checks = bp.next_checks(answer)
    assert "may lead, still to be read" in answer_text(answer, checks)
    data = answer_data(answer, checks)
    assert any(h["name"] == DEAD and h["missing"] for h in data["held_back"])  # type: ignore[union-attr,index,call-overload]


LATCHED = (
    SHEET.replace(
        "releases when: gate input is shut and hammer button is pressed", "releases when: armed is set"
    )
    + """latches:
  armed: {set when: gate input is shut and hammer button is pressed, clear when: gate input is open}
"""
)


def test_inputs_that_set_a_latch_are_asked_for_too() -> None:
    """The release only says `armed is set`; what sets it is an input that has to be read."""
    answer = bp.rank(
        bp.parse_sheet(LATCHED), COMPLAINT.replace("state:", "state: armed set,") + OUTPUT + SUPPLY
    )
    held = {h.suspect: h for h in answer.held}
    assert [m.what.startswith("gate input shut") for m in held[DEAD].missing] == [True]

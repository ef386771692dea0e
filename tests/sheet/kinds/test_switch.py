"""A plain switch fitted with the opposite contact set, and what that does to a supervised one."""

from __future__ import annotations

import pytest

from tests.sheet.kinds.faulty import circuit_of, ohms, solved, volts

SHEET = """
sheet: Bale lift, seat lamp
controls: {seat: [empty, seated], bar: [up, down]}
runs:
  main: [battery+, fuse F1 5 A, seat switch, lamp H1 10 W, frame]
parts:
  seat switch: {closed: {seat: seated, bar: down}}
"""
WRONG = "seat switch: wrong contact set fitted (NO for NC)"


@pytest.mark.parametrize("seat", ["empty", "seated"])
@pytest.mark.parametrize("bar", ["up", "down"])
def test_the_wrong_contact_set_is_closed_exactly_where_the_right_one_is_open(seat: str, bar: str) -> None:
    circuit = circuit_of(SHEET)
    state = {"seat": seat, "bar": bar}
    # Closed: the contact drops 12.6 V x 0.02 / 14.4 = 17 mV. Open: the whole battery.
    right, wrong = solved(circuit, state), solved(circuit, state, WRONG)
    closed = seat == "seated" and bar == "down"
    ends = ("seat switch.1", "seat switch.2")
    drops = {True: pytest.approx(0.017, abs=0.002), False: pytest.approx(12.6, abs=0.1)}
    assert volts(right, *ends) == drops[closed]
    assert volts(wrong, *ends) == drops[not closed]


def test_a_supervised_switch_keeps_its_resistors_with_the_wrong_set() -> None:
    # Closed it reads its series resistor of 1.5 kohm, open 1.5 kohm and 10.5 kohm across the contact.
    circuit = circuit_of(
        "sheet: Coded\ncontrols: {seat: [empty, seated]}\nruns:\n  main: [C1-1, seat switch, C1-2]\n"
        "parts: {seat switch: {closed: {seat: seated}, closed ohms: 1.5 kohm, open ohms: 12 kohm}}\n"
    )
    for seat, right, wrong in (("seated", 1500, 12000), ("empty", 12000, 1500)):
        for fault, expected in (("", right), (WRONG, wrong)):
            found = solved(circuit, {"seat": seat}, fault)
            assert ohms(found, "C1-1.machine", "C1-2.machine") == pytest.approx(expected, rel=1e-3)

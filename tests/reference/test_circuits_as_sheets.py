"""Textbook circuits once more, written as a mechanic writes them: runs of a sheet.

A sheet adds the wires and joints that a book leaves out, some tens of milliohms each, so the
figures are met to a part in a thousand. Sources as in `test_circuits_lessons_dc`: T. R. Kuphaldt, Lessons
in Electric Circuits, vol. I; OpenStax, University Physics vol. 2; J. Irvine, tutorial 8 [seen].
"""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.circuit.setup import VOLTMETER_OHMS, Attachment
from backprobe.workbench.thevenin import source_from_loads
from tests.circuit.helpers import amps, solve_sheet, volts
from tests.reference.books import outside

NEAR = 1e-3
SUBJECT = "textbook circuits written as sheets"
LESSONS = "T. R. Kuphaldt, Lessons in Electric Circuits, vol. I (DC)"
PHYSICS = "OpenStax, University Physics, vol. 2"


def sheet(battery: str, *runs: str, parts: str = "") -> str:
    """A sheet of bare runs from a battery of these volts and this resistance."""
    volts_of, _, ohms = battery.partition(", ")
    lines = "\n".join(f"  r{i}: [{run}]" for i, run in enumerate(runs))
    return f"""
sheet: textbook
system: {volts_of}
runs:
{lines}
parts:
  battery: {{volts: {volts_of}, resistance: {ohms or "1 mohm"}}}
{parts}"""


@outside(SUBJECT, LESSONS, "seen", figures=4)
def test_bridge_of_24_volts() -> None:
    solution = solve_sheet(
        sheet(
            "24 V",
            "battery+, resistor R1 150 ohm, resistor R4 300 ohm, battery-",
            "battery+, resistor R2 50 ohm, resistor R5 250 ohm, battery-",
            "resistor R1.2, resistor R3 100 ohm, resistor R2.2",
        )
    )
    assert volts(solution, "resistor R4.1") == pytest.approx(17.655, rel=NEAR)
    assert volts(solution, "resistor R5.1") == pytest.approx(19.310, rel=NEAR)
    assert volts(solution, "resistor R3.2", "resistor R3.1") == pytest.approx(1.655, rel=NEAR)
    assert amps(solution, "battery.cell") == pytest.approx(0.136092, rel=NEAR)


@outside(SUBJECT, LESSONS, "seen", figures=4)
def test_string_of_9_volts() -> None:
    solution = solve_sheet(
        sheet("9 V", "battery+, resistor R1 3 kohm, resistor R2 10 kohm, resistor R3 5 kohm, battery-")
    )
    drops = [volts(solution, f"resistor R{i}.1", f"resistor R{i}.2") for i in (1, 2, 3)]
    assert drops == [pytest.approx(v, rel=NEAR) for v in (1.5, 5.0, 2.5)]
    assert amps(solution, "resistor R1.body") == pytest.approx(0.5e-3, rel=NEAR)


@outside(SUBJECT, LESSONS, "seen", figures=6)
def test_two_parallel_pairs_at_24_volts() -> None:
    solution = solve_sheet(
        sheet(
            "24 V",
            "battery+, resistor R1 100 ohm, resistor R3 350 ohm, battery-",
            "battery+, resistor R2 250 ohm, resistor R4 200 ohm, battery-",
            "resistor R1.2, resistor R2.2",
        )
    )
    assert volts(solution, "resistor R1.1", "resistor R1.2") == pytest.approx(8.627, rel=NEAR)
    assert volts(solution, "resistor R4.1") == pytest.approx(15.37, rel=NEAR)
    found = [amps(solution, f"resistor R{i}.body") * 1e3 for i in (1, 2, 3, 4)]
    assert found == [pytest.approx(v, rel=NEAR) for v in (86.27, 34.51, 43.92, 76.86)]


@outside(SUBJECT, LESSONS, "calc", figures=2)
def test_a_meter_on_a_divider_of_two_megohms() -> None:
    # [calc] 24 V, 1 Mohm and 1 Mohm, read with 10 Mohm.
    meter = Attachment("resistor", "resistor R2.1", "battery.-", VOLTMETER_OHMS)
    text = sheet("24 V", "battery+, resistor R1 1 Mohm, resistor R2 1 Mohm, battery-")
    assert volts(solve_sheet(text), "resistor R2.1") == pytest.approx(12.0, rel=NEAR)
    assert volts(solve_sheet(text, None, meter), "resistor R2.1") == pytest.approx(11.4286, rel=NEAR)


@outside(SUBJECT, PHYSICS, "seen + calc")
@pytest.mark.parametrize(
    ("inner", "load", "terminal"), [("0.1 ohm", 10.0, 11.881), ("0.1 ohm", 0.5, 10.0), ("0.5 ohm", 0.5, 6.0)]
)
def test_a_load_on_a_battery_of_12_volts(inner: str, load: float, terminal: float) -> None:
    # At the posts themselves, inside the clamps, which a book does not have.
    posts = ("battery.post +", "battery.post -")
    lamp = Attachment("resistor", *posts, load)
    text = sheet(f"12 V, {inner}", "battery+, resistor R1 10 Mohm, battery-")
    assert volts(solve_sheet(text, None, lamp), *posts) == pytest.approx(terminal, rel=NEAR)


@outside(SUBJECT, "J. Irvine, electronics tutorial 8", "seen", figures=2)
def test_port_of_1_5_and_4_ohm() -> None:
    # Ohms, not kilohms: the wires are declared, so that they take a thousandth.
    wires = "\n".join(f"  wire W{i}: {{ohms: 1 mohm}}" for i in range(4))
    text = sheet(
        "12 V",
        "battery+, wire W0, resistor R1 1 ohm, wire W1, resistor R2 5 ohm, wire W2, resistor R3 4 ohm, "
        "wire W3, battery-",
        parts=wires,
    )
    assert volts(solve_sheet(text), "resistor R3.1", "resistor R3.2") == pytest.approx(4.8, rel=NEAR)
    load = Attachment("resistor", "resistor R3.1", "resistor R3.2", 0.8)
    loaded = solve_sheet(text, None, load)
    assert volts(loaded, "resistor R3.1", "resistor R3.2") / 0.8 == pytest.approx(1.5, rel=NEAR)


@outside(SUBJECT, "T. R. Kuphaldt, Lessons in Electric Circuits, vol. III: silicon about 0.7 V", "calc")
@pytest.mark.parametrize(
    ("source", "ohms", "milliamps", "exponential"),
    [
        ("5 V", "1 kohm", 4.300, 4.307456),
        ("12 V", "1 kohm", 11.300, 11.282563),
        ("24 V", "4.7 kohm", 4.95745, 4.958259),
    ],
)
def test_current_through_a_diode_of_fixed_drop(
    source: str, ohms: str, milliamps: float, exponential: float
) -> None:
    diode = "  diode V1: {volts: 0.7 V, ohms: 1 mohm}"
    solution = solve_sheet(sheet(source, f"battery+, resistor R1 {ohms}, diode V1, battery-", parts=diode))
    found = amps(solution, "resistor R1.body") * 1e3
    assert found == pytest.approx(milliamps, rel=NEAR)
    # The exponential law (1e-14 A, n = 1, 25.852 mV) differs by less than any meter of the trade shows.
    assert found == pytest.approx(exponential, rel=4e-3)


@outside(SUBJECT, LESSONS, "seen + calc", figures=4)
def test_source_behind_a_divider_from_two_loaded_readings() -> None:
    # 20 V, 2 kohm + 500 ohm + 3 kohm, seen across the 500 ohm; the meter's 10 Mohm beside each load.
    text = sheet("20 V", "battery+, resistor R1 2 kohm, resistor R2 500 ohm, resistor R3 3 kohm, battery-")
    ends = ("resistor R2.1", "resistor R2.2")
    meter = Attachment("resistor", *ends, VOLTMETER_OHMS)
    loads = (1e3, 100.0)
    shown = [volts(solve_sheet(text, None, meter, Attachment("resistor", *ends, r)), *ends) for r in loads]
    found = source_from_loads(list(zip(loads, shown, strict=True)))
    assert found.volts == pytest.approx(1.818182, rel=NEAR)
    assert found.ohms == pytest.approx(454.545, rel=NEAR)
    # What the API foretells of the same two points is that source, with the meter on it.
    (expected,) = bp.predict(bp.parse_sheet(text), points=[ends[0]], black=ends[1])
    assert expected.volts == pytest.approx(found.volts, rel=NEAR)
    assert expected.ohms == pytest.approx(found.ohms, rel=NEAR)

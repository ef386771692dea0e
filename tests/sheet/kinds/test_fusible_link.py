"""Fusible link: its section, what melts it, and a link that is burnt and looks whole."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.sheet.kinds.fusible_link import melting_amps
from tests.sheet.kinds.faulty import amps, circuit_of, mode, solved, volts

SHEET = """
sheet: Main feed
controls: {key: [off, on]}
runs:
  main: [battery+, fusible link FL1 1 mm2, key, resistor R1 4 ohm, frame]
parts:
  battery: {volts: 12 V}
"""


def test_copper_melts_by_preeces_rule() -> None:
    # I = 80 d^1.5 with d in mm (W. H. Preece 1884) [mem]: 1 mm of diameter melts at 80 A, 2 mm at 226 A.
    assert melting_amps(3.14159265 / 4) == pytest.approx(80)
    assert melting_amps(3.14159265) == pytest.approx(80 * 2**1.5)


def test_its_rating_and_resistance_follow_from_its_section() -> None:
    values = bp.parse_sheet(SHEET).parts["fusible link FL1"].values
    # 1 mm2 is 1.128 mm: 95.9 A melt it, it is taken to hold half of that.
    assert values["rating"].nominal == pytest.approx(80 * 1.12838**1.5 / 2, rel=1e-3)
    # 0.15 m of 17.241 ohm mm2/km (IEC 60028 [seen, third party]).
    assert values["ohms"].nominal == pytest.approx(0.15 * 0.017241, rel=1e-6)
    written = bp.parse_sheet(SHEET.replace("1 mm2", "40 A")).parts["fusible link FL1"].values
    assert written["rating"].nominal == 40


def test_it_holds_three_amps_and_melts_on_a_dead_short() -> None:
    circuit = circuit_of(SHEET)
    assert not mode(solved(circuit, {"key": "on"}), "fusible link FL1.wire")
    # 12 V across some 0.11 ohm of battery, wire and link: over 96 A.
    fault = "wire fusible link FL1 to key switch: shorted to frame"
    low = circuit_of(SHEET.replace("FL1 1 mm2", "FL1 20 A"))
    assert mode(solved(low, {"key": "on"}, fault, level=0), "fusible link FL1.wire")


def test_burnt_inside_it_passes_nothing_and_keeps_all_the_volts() -> None:
    solution = solved(circuit_of(SHEET), {"key": "on"}, "fusible link FL1: burnt inside its insulation")
    assert abs(amps(solution, "resistor R1.body")) < 1e-6
    assert volts(solution, "fusible link FL1.1", "fusible link FL1.2") == pytest.approx(12, abs=1e-3)
    mildest = solved(
        circuit_of(SHEET), {"key": "on"}, "fusible link FL1: burnt inside its insulation", level=0
    )
    # Soot of 100 kohm leaves ghost volts at the load: 12 V 4 / 100004.
    assert volts(mildest, "resistor R1.1", "resistor R1.2") == pytest.approx(12 * 4 / 100004, rel=1e-3)


def test_a_lossy_crimp_is_in_series() -> None:
    # Level 3 is 1 ohm beside 4 ohm of load and about 0.18 ohm of the rest.
    solution = solved(
        circuit_of(SHEET), {"key": "on"}, "fusible link FL1: bad crimp (high resistance)", level=3
    )
    assert amps(solution, "resistor R1.body") == pytest.approx(12 / 5.18, rel=0.01)


def test_it_is_no_fuse_that_can_be_pulled() -> None:
    sheet = bp.parse_sheet(SHEET)
    assert sheet.parts["fusible link FL1"].kind == "fusible link"
    with pytest.raises(bp.ReadingError, match="is nothing that unplugs"):
        bp.parse_readings("before R1 to frame: 0 V, key on, FL1 out", sheet)

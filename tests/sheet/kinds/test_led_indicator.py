"""LED indicator: a drop, a resistor, one way only. Ohm's law by hand; joints are within the tolerance."""

from __future__ import annotations

import numpy as np
import pytest

import backprobe as bp
from backprobe.diagnosis.lamp_looks import lamp_looks
from tests.sheet.kinds.faulty import amps, circuit_of, solved, volts

SHEET = """
sheet: Boom lamp
controls: {key: [off, on]}
runs:
  main: [battery+, key, LED H3 700 ohm, frame]
parts:
  battery: {volts: 12.6 V}
  LED H3: {volts: 2.1 V}
"""
# 12.6 V less 2.1 V across 700 ohm and the 15 ohm slope of the chip.
LIT = (12.6 - 2.1) / 715


def looks(text: str, fault: str = "", level: int = -1) -> dict[str, float]:
    solution = solved(circuit_of(text), {"key": "on"}, fault, level=level)
    return {word: float(chance[0]) for word, chance in lamp_looks(solution, "LED indicator H3").items()}


def test_its_current_is_what_the_resistor_lets_through() -> None:
    solution = solved(circuit_of(SHEET), {"key": "on"})
    assert amps(solution, "LED indicator H3.resistor") == pytest.approx(LIT, rel=1e-3)
    assert looks(SHEET)["lit"] > 0.99


@pytest.mark.parametrize("fault", ["open inside", "fitted the wrong way round"])
def test_it_stays_dark_with_all_the_volts_across_it(fault: str) -> None:
    solution = solved(circuit_of(SHEET), {"key": "on"}, f"LED indicator H3: {fault}")
    assert abs(amps(solution, "LED indicator H3.resistor")) < 1e-6
    across = volts(solution, "LED indicator H3.anode", "LED indicator H3.cathode")
    assert across == pytest.approx(12.6, abs=0.01)


def test_an_indicator_the_wrong_way_round_lights_when_fed_the_other_way() -> None:
    # In a run that passes it against its arrow, the turned one is the one that lights.
    other = SHEET.replace("LED H3 700 ohm", "LED H3 700 ohm reversed")
    assert looks(other)["dark"] > 0.99
    turned = solved(circuit_of(other), {"key": "on"}, "LED indicator H3: fitted the wrong way round")
    assert amps(turned, "LED indicator H3.resistor") == pytest.approx(-LIT, rel=1e-3)


def test_a_shorted_chip_takes_more_current_and_gives_no_light() -> None:
    # 12.6 V across 700 ohm alone: 18 mA.
    solution = solved(circuit_of(SHEET), {"key": "on"}, "LED indicator H3: chip shorted")
    assert amps(solution, "LED indicator H3.resistor") == pytest.approx(12.6 / 700.5, rel=1e-3)
    assert looks(SHEET, "LED indicator H3: chip shorted")["dark"] > 0.99


def test_a_resistor_for_other_volts_dims_it() -> None:
    # Fourfold: 10.5 V / 2815 ohm = 3.7 mA, lit; sixtyfold: 0.25 mA, a glimmer.
    much = looks(SHEET, "LED indicator H3: resistor too great or drifted", level=0)
    little = looks(SHEET, "LED indicator H3: resistor too great or drifted")
    assert much["lit"] > 0.8
    assert little["dim"] > 0.8


def test_a_leak_makes_it_glimmer() -> None:
    # A wet switch of 30 kohm: 10.5 V / 30.7 kohm = 0.34 mA; a filament of watts would stay dark.
    wet = SHEET.replace("key,", "splice S1, key, splice S2,").replace(
        "parts:", "  leak: [S1, resistor R1 30 kohm, S2]\nparts:"
    )
    solution = solved(circuit_of(wet), {"key": "off"})
    assert amps(solution, "LED indicator H3.resistor") == pytest.approx(10.5 / 30715, rel=0.01)
    seen = lamp_looks(solution, "LED indicator H3")
    assert float(seen["dim"][0]) > 0.8
    assert np.isclose(sum(float(c[0]) for c in seen.values()), 1)


def test_it_is_the_load_of_its_run_and_its_light_a_reading() -> None:
    sheet = bp.parse_sheet(SHEET)
    assert sheet.functions["LED indicator H3"].loads == ("LED indicator H3",)
    answer = bp.rank(sheet, "LED H3 dark, key on\nbefore LED H3 to after LED H3: 12.6 V, key on")
    names = {n for s in answer.groups[0].suspects for n in s.names}
    assert {"LED indicator H3: open inside", "LED indicator H3: fitted the wrong way round"} <= names

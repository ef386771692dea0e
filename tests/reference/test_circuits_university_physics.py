"""Worked examples of physics courses: batteries, loops, sources found from two loads.

Read in public copies [seen]: OpenStax, University Physics vol. 2, modules m58453, m58455 and
m58456; J. Irvine, electronics tutorial 8; a problem with one circuit and two meters
(physics-arena 1290). [calc] marks what follows from their figures by arithmetic.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf

import numpy as np
import pytest

from backprobe.circuit.solve import Changes, solve_changes
from backprobe.workbench.thevenin import source_from_loads
from tests.circuit.helpers import Bench, amps, exact_amps, exact_volts, resistor_at, volts
from tests.reference.books import (
    EXACT,
    LIGHT,
    check_amps,
    check_port,
    check_volts,
    outside,
    port_ohms,
    printed,
    string,
)

SUBJECT = "direct-current circuits"
PHYSICS = "OpenStax, University Physics, vol. 2"


def physics(mark: str = "seen", figures: int = 1) -> pytest.MarkDecorator:
    """A figure of this book, or worked out from it."""
    return outside(SUBJECT, PHYSICS, mark, figures=figures)


# --- OpenStax University Physics 2 --------------------------------------------------------


@physics("seen + calc", 2)
@pytest.mark.parametrize(
    ("inner", "load", "current", "terminal"),
    [
        # The book prints 11.90 V, from the rounded current; 12 V x 10/10.1 is 11.881 V [calc].
        (0.1, 10.0, "1.188", "11.881"),
        (0.1, 0.5, "20.0", "10.00"),
        (0.5, 0.5, "12.0", "6.00"),
    ],
)
def test_terminal_volts_of_a_battery(inner: float, load: float, current: str, terminal: str) -> None:
    bench = Bench()
    bench.source("cell", "1", "0", 12.0, inner)
    bench.resistor("load", "1", "0", load)
    check_amps(bench, "load", current)
    check_volts(bench, "1", "0", terminal)
    if inner == 0.5:
        assert amps(bench.solve(), "load") * volts(bench.solve(), "1") == pytest.approx(72.0, rel=EXACT)


@physics(figures=3)
def test_three_loop_currents() -> None:
    # A circuit whose loops read 3 I1 - 8 I2 = -1.8, 8 I2 + I3 = 2.9 and I1 + I2 = I3.
    bench = Bench()
    bench.source("one", "top", "0", 1.1, 3.0)
    bench.source("two", "top", "0", 2.9, 8.0)
    bench.resistor("three", "top", "0", 1.0)
    for name, figure in (("one", "0.20"), ("two", "0.30"), ("three", "0.50")):
        check_amps(bench, name, figure)
    i1, i2, i3 = (amps(bench.solve(), n) for n in ("one", "two", "three"))
    assert 3 * i1 - 8 * i2 == pytest.approx(-1.8, rel=EXACT)
    assert 8 * i2 + i3 == pytest.approx(2.9, rel=EXACT)
    assert i1 + i2 == pytest.approx(i3, rel=EXACT)


@physics(figures=6)
def test_two_opposed_sources_and_their_powers() -> None:
    # The module prints the last resistor as 10 ohm in one line; only 20 ohm fits its own figures.
    bench = Bench()
    bench.source("24 V", "1", "0", 24.0)
    bench.resistor("10 ohm", "1", "2", 10.0)
    bench.resistor("30 ohm", "2", "3", 30.0)
    bench.source("12 V", "3", "4", 12.0)
    bench.resistor("20 ohm", "4", "0", 20.0)
    check_amps(bench, "10 ohm", "0.20")
    solution = bench.solve()
    current = amps(solution, "10 ohm")
    for name, watts in (("10 ohm", 0.40), ("30 ohm", 1.20), ("20 ohm", 0.80)):
        assert amps(solution, name) ** 2 * bench.elements[name].ohms == pytest.approx(watts, rel=LIGHT)
    assert -amps(solution, "12 V") * 12 == pytest.approx(2.40, rel=LIGHT)
    assert current * 24 == pytest.approx(4.80, rel=LIGHT)


@physics(figures=3)
def test_a_meter_of_one_kilohm_on_a_cell() -> None:
    bench = Bench()
    bench.source("cell", "1", "0", 1.585, 0.1)
    bench.resistor("meter", "1", "0", 1e3)
    check_amps(bench, "meter", "1.5848", per=1e-3)
    check_volts(bench, "1", "0", "1.58484")
    assert volts(bench.solve(), "1") / 1.585 == printed("0.99990")


@physics(figures=2)
def test_a_battery_on_charge() -> None:
    # 10.0 A into 12.0 V at 16.0 V: 0.400 ohm inside, 40.0 W lost. The charger is any source
    # that gives 10 A then: 26 V behind 1 ohm [calc].
    bench = Bench()
    bench.source("battery", "1", "0", 12.0, 0.4)
    bench.source("charger", "1", "0", 26.0, 1.0)
    check_amps(bench, "charger", "10.0")
    check_volts(bench, "1", "0", "16.0")
    current = -amps(bench.solve(), "battery")
    assert (volts(bench.solve(), "1") - 12) / current == pytest.approx(0.400, rel=EXACT)
    assert current**2 * 0.4 == pytest.approx(40.0, rel=EXACT)


# --- a source found from two loads --------------------------------------------------------


@physics("calc", 4)
def test_two_loaded_readings_give_the_source_back() -> None:
    bench = Bench()
    bench.source("cell", "1", "0", 12.0, 0.1)
    light, heavy = (volts(bench.solve(resistor_at("1", "0", r)), "1") for r in (10.0, 0.5))
    assert light == pytest.approx(11.8812, abs=5e-5)
    assert heavy == pytest.approx(10.0, rel=EXACT)
    found = source_from_loads([(10.0, light), (0.5, heavy)], meter_ohms=inf)
    assert found.volts == pytest.approx(12.0, rel=EXACT)
    assert found.ohms == pytest.approx(0.1, rel=1e-7)
    # The solver's own port agrees with what the two readings say.
    assert port_ohms(bench.solve(), "1", "0") == pytest.approx(found.ohms, rel=1e-7)


@physics("calc", 2)
def test_a_rounded_light_load_reading_spoils_the_resistance() -> None:
    # [calc] with the printed 11.90 V in place of 11.881 V.
    found = source_from_loads([(10.0, 11.90), (0.5, 10.0)], meter_ohms=inf)
    assert found.volts == printed("12.0202")
    assert found.ohms == printed("0.1010")


# --- single problems ----------------------------------------------------------------------


@outside(SUBJECT, "J. Irvine, electronics tutorial 8", "seen", figures=3)
def test_port_of_a_divider_and_its_load() -> None:
    bench = string(12.0, 1.0, 5.0, 4.0)
    check_port(bench, "3", "0", "4.8", "2.4")
    bench.resistor("load", "3", "0", 0.8)
    check_amps(bench, "load", "1.5")


@outside(SUBJECT, "physics-arena, problem 1290", "seen + calc", figures=2)
def test_one_circuit_and_two_meters() -> None:
    # 2.4 V and 10, 4, 6 and 3 ohm. How they are joined is [calc]: of all ways to join four
    # resistors, a source and a meter over four nodes only this one gives both readings.
    bench = Bench()
    bench.source("source", "1", "0", 2.4)
    for name, a, b in (("10", "0", "2"), ("4", "0", "3"), ("6", "2", "3"), ("3", "1", "2")):
        bench.resistor(name, a, b, float(name))
    check_volts(bench, "1", "3", "1.8")
    bench.resistor("ammeter", "1", "3", 1e-6)
    check_amps(bench, "ammeter", "0.667")


@outside(SUBJECT, "exact rational arithmetic", "calc")
def test_a_change_of_one_element_is_the_other_circuit() -> None:
    # The string with 300 ohm and the string with a short are one circuit and its change.
    healthy, shorted = string(9.0, 100.0, 300.0, 50.0), string(9.0, 100.0, 1e-3, 50.0)
    stage = healthy.stage()
    key = stage.circuit.parameter_of["R2 ohms"]
    solution = solve_changes(stage, Changes(np.array([[key]]), np.array([[1e-3]])))
    assert amps(solution, "R1") == pytest.approx(amps(shorted.solve(), "R1"), rel=EXACT)
    short = replace(healthy.elements["R2"], ohms=1e-3)
    exact = exact_volts([short, *(e for n, e in healthy.elements.items() if n != "R2")])
    assert amps(solution, "R1") == pytest.approx(float(exact_amps(healthy.elements["R1"], exact)), rel=EXACT)

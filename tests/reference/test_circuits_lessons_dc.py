"""Worked examples of a textbook on direct current, on circuits of bare resistances and sources.

T. R. Kuphaldt, Lessons in Electric Circuits, vol. I (DC), chapters 5 to 8 and 10, read in a
public copy [seen]. [calc] marks what follows from its figures by arithmetic.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from backprobe.circuit.setup import VOLTMETER_OHMS
from backprobe.circuit.solve import Changes, solve_changes
from backprobe.sheet.anatomy import OPEN
from tests.circuit.helpers import Bench, amps, resistor_at, volts
from tests.reference.books import EXACT, check_amps, check_port, check_volts, outside, printed, string


def lessons(mark: str = "seen", figures: int = 1) -> pytest.MarkDecorator:
    """A figure of this book, or worked out from it."""
    source = "T. R. Kuphaldt, Lessons in Electric Circuits, vol. I (DC)"
    return outside("direct-current circuits", source, mark, figures=figures)


# --- Kuphaldt: networks with two sources (ch. 10) -----------------------------------------


def two_sources(load: float | None = 2.0) -> Bench:
    """28 V through 4 ohm and 7 V through 1 ohm onto one node."""
    bench = Bench()
    bench.source("left", "top", "0", 28.0, 4.0)
    bench.source("right", "top", "0", 7.0, 1.0)
    if load is not None:
        bench.resistor("load", "top", "0", load)
    return bench


@lessons(figures=6)
def test_two_sources_onto_one_load() -> None:
    bench = two_sources()
    check_volts(bench, "top", "0", "8")
    check_amps(bench, "load", "4")
    check_amps(bench, "left", "5")
    # 1 A flows INTO the 7 V source: a battery on charge.
    check_amps(bench, "right", "-1")
    solution = bench.solve()
    assert 28 - volts(solution, "top") == pytest.approx(20, rel=EXACT)
    assert volts(solution, "top") - 7 == pytest.approx(1, rel=EXACT)


@lessons("seen + calc", 4)
def test_two_sources_as_a_thevenin_and_a_norton_source() -> None:
    check_port(two_sources(None), "top", "0", "11.2", "0.8")
    shorted = two_sources(1e-9)
    assert amps(shorted.solve(), "load") == pytest.approx(14, rel=2e-9)
    # Norton: what a short carries is the open volts over the resistance [calc].
    assert amps(shorted.solve(), "load") == pytest.approx(11.2 / 0.8, rel=2e-9)


@lessons()
@pytest.mark.parametrize("load", [0.4, 0.7, 0.8, 0.9, 1.6])
def test_the_best_load_equals_the_source_resistance(load: float) -> None:
    bench = two_sources(load)
    watts = volts(bench.solve(), "top") ** 2 / load
    if load == 0.8:
        assert watts == pytest.approx(39.2, rel=EXACT)
    else:
        assert watts < 39.2


# --- Kuphaldt: unbalanced bridges (ch. 10) ------------------------------------------------


def bridge(source: float, ohms: tuple[float, float, float, float, float]) -> Bench:
    """Arms 1-2, 1-3, the link 2-3, arms 2-0 and 3-0."""
    bench = Bench()
    bench.source("source", "1", "0", source)
    ends = (("1", "2"), ("1", "3"), ("2", "3"), ("2", "0"), ("3", "0"))
    for (a, b), value in zip(ends, ohms, strict=True):
        bench.resistor(f"R{a}{b}", a, b, value)
    return bench


@lessons()
@pytest.mark.parametrize(
    ("a", "b", "figure"),
    [
        ("2", "0", "17.655"),
        ("3", "0", "19.310"),
        ("1", "2", "6.345"),
        ("1", "3", "4.690"),
        ("3", "2", "1.655"),
    ],
)
def test_unbalanced_bridge_at_24_volts(a: str, b: str, figure: str) -> None:
    check_volts(bridge(24.0, (150, 50, 100, 300, 250)), a, b, figure)


@lessons()
def test_unbalanced_bridge_total_current() -> None:
    # Through the arms: the drop over a source of 1 micro-ohm is lost in the digits of 24 V.
    solution = bridge(24.0, (150, 50, 100, 300, 250)).solve()
    total = amps(solution, "R12") + amps(solution, "R13")
    assert total == printed("0.136092")
    assert total == pytest.approx(amps(solution, "R20") + amps(solution, "R30"), rel=EXACT * 100)
    assert total == pytest.approx(amps(solution, "source"), abs=5e-9)


@lessons()
@pytest.mark.parametrize(
    ("a", "b", "figure"), [("2", "0", "5.294"), ("3", "0", "4.706"), ("2", "3", "0.5882")]
)
def test_unbalanced_bridge_at_10_volts(a: str, b: str, figure: str) -> None:
    check_volts(bridge(10.0, (12, 18, 6, 18, 12)), a, b, figure)


# --- Kuphaldt: series and parallel (ch. 5 to 7) -------------------------------------------


def two_parallel_pairs() -> Bench:
    """24 V, 100 beside 250 ohm, then 350 beside 200 ohm."""
    bench = Bench()
    bench.source("source", "1", "0", 24.0)
    for name, a, b in (("100", "1", "2"), ("250", "1", "2"), ("350", "2", "0"), ("200", "2", "0")):
        bench.resistor(name, a, b, float(name))
    return bench


@lessons(figures=6)
def test_two_parallel_pairs_in_series() -> None:
    bench = two_parallel_pairs()
    check_volts(bench, "1", "2", "8.627")
    check_volts(bench, "2", "0", "15.37")
    for name, figure in (("100", "86.27"), ("250", "34.51"), ("350", "43.92"), ("200", "76.86")):
        check_amps(bench, name, figure, per=1e-3)


@lessons(figures=4)
def test_three_resistors_in_series() -> None:
    bench = string(9.0, 3e3, 10e3, 5e3)
    for a, b, figure in (("1", "2", "1.5"), ("2", "3", "5.0"), ("3", "0", "2.5")):
        check_volts(bench, a, b, figure)
    check_amps(bench, "R1", "0.5", per=1e-3)


@lessons("calc", 4)
def test_three_resistors_with_the_middle_one_shorted() -> None:
    # [calc] from the same string: 9 V over 8 kohm.
    bench = string(9.0, 3e3, 1e-3, 5e3)
    check_amps(bench, "R1", "1.125", per=1e-3)
    for a, b, figure in (("1", "2", "3.375"), ("2", "3", "0"), ("3", "0", "5.625")):
        check_volts(bench, a, b, figure)


@lessons("calc", 4)
def test_three_resistors_with_the_middle_one_open() -> None:
    # [calc] The whole source stands across the open part, and no current flows.
    bench = string(9.0, 3e3, 10e3, 5e3)
    stage = bench.stage()
    key = stage.circuit.parameter_of["R2 ohms"]
    solution = solve_changes(stage, Changes(np.array([[key]]), np.array([[OPEN]])))
    assert volts(solution, "2", "3") == pytest.approx(9.0, abs=2e-5)
    assert volts(solution, "1", "2") == pytest.approx(0.0, abs=1e-5)
    assert volts(solution, "3") == pytest.approx(0.0, abs=9 * 5e3 / OPEN * 1.01)
    assert amps(solution, "R1") == pytest.approx(0.0, abs=2e-9)


@lessons()
@pytest.mark.parametrize(("part", "figure"), [(300.0, "20"), (1e-6, "60")])
def test_a_short_in_a_string_triples_its_current(part: float, figure: str) -> None:
    # 450 ohm in all, of which 300 ohm are one part.
    check_amps(string(9.0, 100.0, part, 50.0), "R1", figure, per=1e-3)


# --- Kuphaldt: what meters do to circuits (ch. 8) -----------------------------------------


@lessons(figures=3)
def test_a_voltmeter_loads_a_divider_of_very_high_resistance() -> None:
    # The leak of 1e10 ohm at each node, a fortieth of 250 Mohm, takes 1.3 % of what nobody can
    # read, and 0.1 % once the meter is on.
    bench = string(24.0, 250e6, 250e6)
    check_volts(bench, "2", "0", "12", leak_takes=0.15)
    meter = resistor_at("2", "0", VOLTMETER_OHMS)
    check_volts(bench, "2", "0", "0.8889", meter, leak_takes=1e-3)
    check_volts(bench, "1", "2", "23.1111", meter, leak_takes=1e-3)
    assert VOLTMETER_OHMS == 10e6


@lessons("calc")
@pytest.mark.parametrize(
    ("ohms", "figure", "leak_takes"),
    [(1e3, "11.9994", 1e-6), (1e4, "11.9940", 1e-5), (1e5, "11.9403", 1e-4), (1e6, "11.4286", 1e-3)],
)
def test_a_voltmeter_on_a_divider_of_two_equal_parts(ohms: float, figure: str, leak_takes: float) -> None:
    # [calc] 24 V, two equal parts, 10 Mohm meter (input resistance [seen] OpenStax m58456).
    meter = resistor_at("2", "0", VOLTMETER_OHMS)
    check_volts(string(24.0, ohms, ohms), "2", "0", figure, meter, leak_takes=leak_takes)


@lessons("calc", 2)
def test_a_ghost_voltage_on_an_open_wire() -> None:
    # [calc] An open wire with 1 Mohm of leakage to 24 V on a 10 Mohm meter, and on a lamp.
    bench = Bench()
    bench.source("source", "1", "0", 24.0)
    bench.resistor("moisture", "1", "wire", 1e6)
    meter = resistor_at("wire", "0", VOLTMETER_OHMS)
    check_volts(bench, "wire", "0", "21.82", meter, leak_takes=3e-3)
    lamp = resistor_at("wire", "0", 24.0**2 / 5)
    check_volts(bench, "wire", "0", "0.00", lamp, leak_takes=1e-3)


def ammeter_bench(meter: float, branch: str) -> Bench:
    """3 ohm beside 1.5 ohm at 2 V, with an ammeter in one of the branches."""
    bench = Bench()
    bench.source("source", "1", "0", 2.0)
    for name, ohms in (("R3", 3.0), ("R1.5", 1.5)):
        bench.resistor(name, "1", name, ohms)
        bench.resistor(f"{name} meter", name, "0", meter if name == branch else 1e-6)
    return bench


@lessons(figures=2)
@pytest.mark.parametrize(("branch", "before", "after"), [("R3", "666.7", "571.43"), ("R1.5", "1333", "1000")])
def test_an_ammeter_lowers_the_current_it_reads(branch: str, before: str, after: str) -> None:
    check_amps(ammeter_bench(1e-6, branch), branch, before, per=1e-3)
    check_amps(ammeter_bench(0.5, branch), branch, after, per=1e-3)


@lessons("seen + calc")
def test_a_shunt_shows_a_current_as_millivolts() -> None:
    # The print-out shows 0.7999 mV, cut off; 12 V / 15001 ohm over 1 ohm is 0.79995 mV [calc].
    bench = string(12.0, 15e3, 1.0)
    solution = bench.solve()
    assert volts(solution, "2") * 1e3 == printed("0.79995")
    assert float(Fraction(12, 15001)) * 1e3 == printed("0.79995")


@lessons(figures=2)
def test_thevenin_of_a_divider() -> None:
    check_port(string(20.0, 2e3, 500.0, 3e3), "2", "3", "1.818182", "454.545")

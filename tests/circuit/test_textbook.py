"""Worked examples of textbooks, on circuits of bare resistances and sources.

Each printed figure is held against exact rational arithmetic without the solver's leak,
to its last digit: so the oracle and the circuit are the book's. The solver is then held
against the same arithmetic with the leak, to 1e-9 of the greatest value.

Sources, read in public copies [seen]:

- T. R. Kuphaldt, Lessons in Electric Circuits, vol. I (DC), chapters 5, 6, 8 and 10;
- OpenStax, University Physics vol. 2, modules m58453, m58455, m58456;
- J. Irvine, electronics tutorial 8 (port of a divider);
- a physics problem with one circuit and two meters (physics-arena 1290).

[calc] marks what follows from those figures by arithmetic.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from backprobe.circuit.setup import VOLTMETER_OHMS, Attachment
from backprobe.circuit.solve import Changes, Solution, solve_changes
from backprobe.sheet.anatomy import OPEN
from tests.circuit.helpers import (
    Bench,
    Element,
    amps,
    exact_amps,
    exact_volts,
    resistor_at,
    volts,
)

EXACT = 1e-9
LIGHT = 3e-6
"""What the leak and a stiff source may take from a circuit of some kilohms [relative]."""


def printed(text: str) -> object:
    """A figure as a book prints it: right to half its last digit."""
    decimals = len(text.partition(".")[2])
    return pytest.approx(float(text), abs=0.5000001 * 10.0**-decimals)


def check_volts(
    bench: Bench, a: str, b: str, figure: str, *attached: Attachment, leak_takes: float = LIGHT
) -> None:
    """Volts from `a` to `b`: the book's figure, the exact value and the solver's agree."""
    elements = [*bench.elements.values(), *_as_elements(attached)]
    ideal, leaky = exact_volts(elements, leak=0.0), exact_volts(elements)
    node_a, node_b = (_datum(n) for n in (a, b))
    expected = float(ideal[node_a] - ideal[node_b])
    assert expected == printed(figure)
    found = volts(bench.solve(*attached), a, b)
    assert found == pytest.approx(float(leaky[node_a] - leaky[node_b]), rel=EXACT, abs=EXACT)
    assert found == pytest.approx(expected, rel=leak_takes, abs=leak_takes)


def check_amps(bench: Bench, branch: str, figure: str, *, per: float = 1.0) -> None:
    """Current through a branch, in units of `per` amperes: book, exact arithmetic and solver agree."""
    elements = list(bench.elements.values())
    ideal, leaky = exact_volts(elements, leak=0.0), exact_volts(elements)
    expected = float(exact_amps(bench.elements[branch], ideal)) / per
    assert expected == printed(figure)
    found = amps(bench.solve(), branch) / per
    assert found == pytest.approx(float(exact_amps(bench.elements[branch], leaky)) / per, rel=EXACT)
    assert found == pytest.approx(expected, rel=LIGHT)


def check_port(bench: Bench, a: str, b: str, open_volts: str, ohms: str) -> None:
    """Open-circuit volts and resistance of a port, as Thevenin's theorem has them."""
    check_volts(bench, a, b, open_volts)
    assert port_ohms(bench.solve(), a, b) == printed(ohms)


def port_ohms(solution: Solution, a: str, b: str) -> float:
    """Resistance seen between two nodes [ohm]."""
    circuit = solution.stage.circuit
    selector = circuit.pair(circuit.node(_datum(a)), circuit.node(_datum(b)))
    return float(solution.transfer(selector)[0] @ selector)


def _as_elements(attached: Iterable[Attachment]) -> list[Element]:
    return [Element(f"attached {i}", a.black, a.red, a.ohms, a.volts) for i, a in enumerate(attached)]


def _datum(name: str) -> str:
    return "battery.-" if name == "0" else name


# --- Kuphaldt: networks with two sources (ch. 10) -----------------------------------------


def two_sources(load: float | None = 2.0) -> Bench:
    """28 V through 4 ohm and 7 V through 1 ohm onto one node."""
    bench = Bench()
    bench.source("left", "top", "0", 28.0, 4.0)
    bench.source("right", "top", "0", 7.0, 1.0)
    if load is not None:
        bench.resistor("load", "top", "0", load)
    return bench


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


def test_two_sources_as_a_thevenin_and_a_norton_source() -> None:
    check_port(two_sources(None), "top", "0", "11.2", "0.8")
    shorted = two_sources(1e-9)
    assert amps(shorted.solve(), "load") == pytest.approx(14, rel=2e-9)
    # Norton: what a short carries is the open volts over the resistance [calc].
    assert 11.2 / 0.8 == pytest.approx(14)


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


def test_unbalanced_bridge_total_current() -> None:
    # Through the arms: the drop over a source of 1 micro-ohm is lost in the digits of 24 V.
    solution = bridge(24.0, (150, 50, 100, 300, 250)).solve()
    total = amps(solution, "R12") + amps(solution, "R13")
    assert total == printed("0.136092")
    assert total == pytest.approx(amps(solution, "R20") + amps(solution, "R30"), rel=EXACT * 100)
    assert total == pytest.approx(amps(solution, "source"), abs=5e-9)


@pytest.mark.parametrize(("a", "b", "figure"), [("2", "0", "5.294"), ("3", "0", "4.706"), ("2", "3", "0.5882")])
def test_unbalanced_bridge_at_10_volts(a: str, b: str, figure: str) -> None:
    check_volts(bridge(10.0, (12, 18, 6, 18, 12)), a, b, figure)


# --- Kuphaldt: series and parallel (ch. 5 to 7) -------------------------------------------


def two_parallel_pairs() -> Bench:
    """24 V, 100 beside 250 ohm, then 350 beside 200 ohm."""
    bench = Bench()
    bench.source("source", "1", "0", 24.0)
    for name, a, b, ohms in (("R1", "1", "2", 100), ("R2", "1", "2", 250), ("R3", "2", "0", 350), ("R4", "2", "0", 200)):
        bench.resistor(name, a, b, float(ohms))
    return bench


def test_two_parallel_pairs_in_series() -> None:
    bench = two_parallel_pairs()
    check_volts(bench, "1", "2", "8.627")
    check_volts(bench, "2", "0", "15.37")
    for name, figure in (("R1", "86.27"), ("R2", "34.51"), ("R3", "43.92"), ("R4", "76.86")):
        check_amps(bench, name, figure, per=1e-3)


def string(source: float, *ohms: float) -> Bench:
    """Resistors in series: node 1 at the source, then 2, 3, ..., the last one on the datum."""
    bench = Bench()
    bench.source("source", "1", "0", source)
    ends = [str(i + 1) for i in range(len(ohms))] + ["0"]
    for i, value in enumerate(ohms):
        bench.resistor(f"R{i + 1}", ends[i], ends[i + 1], value)
    return bench


def test_three_resistors_in_series() -> None:
    bench = string(9.0, 3e3, 10e3, 5e3)
    for a, b, figure in (("1", "2", "1.5"), ("2", "3", "5.0"), ("3", "0", "2.5")):
        check_volts(bench, a, b, figure)
    check_amps(bench, "R1", "0.5", per=1e-3)


def test_three_resistors_with_the_middle_one_shorted() -> None:
    # [calc] from the same string: 9 V over 8 kohm.
    bench = string(9.0, 3e3, 1e-3, 5e3)
    check_amps(bench, "R1", "1.125", per=1e-3)
    for a, b, figure in (("1", "2", "3.375"), ("2", "3", "0"), ("3", "0", "5.625")):
        check_volts(bench, a, b, figure)


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


@pytest.mark.parametrize(("part", "figure"), [(300.0, "20"), (1e-6, "60")])
def test_a_short_in_a_string_triples_its_current(part: float, figure: str) -> None:
    # 450 ohm in all, of which 300 ohm are one part.
    check_amps(string(9.0, 100.0, part, 50.0), "R1", figure, per=1e-3)


# --- Kuphaldt: what meters do to circuits (ch. 8) -----------------------------------------


def test_a_voltmeter_loads_a_divider_of_very_high_resistance() -> None:
    # The leak of 1e10 ohm at each node, a fortieth of 250 Mohm, takes 1.3 % of what nobody can
    # read, and 0.1 % once the meter is on.
    bench = string(24.0, 250e6, 250e6)
    check_volts(bench, "2", "0", "12", leak_takes=0.15)
    meter = resistor_at("2", "0", VOLTMETER_OHMS)
    check_volts(bench, "2", "0", "0.8889", meter, leak_takes=1e-3)
    check_volts(bench, "1", "2", "23.1111", meter, leak_takes=1e-3)
    assert VOLTMETER_OHMS == 10e6


@pytest.mark.parametrize(
    ("ohms", "figure", "leak_takes"),
    [(1e3, "11.9994", 1e-6), (1e4, "11.9940", 1e-5), (1e5, "11.9403", 1e-4), (1e6, "11.4286", 1e-3)],
)
def test_a_voltmeter_on_a_divider_of_two_equal_parts(ohms: float, figure: str, leak_takes: float) -> None:
    # [calc] 24 V, two equal parts, 10 Mohm meter (input resistance [seen] OpenStax m58456).
    meter = resistor_at("2", "0", VOLTMETER_OHMS)
    check_volts(string(24.0, ohms, ohms), "2", "0", figure, meter, leak_takes=leak_takes)


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


@pytest.mark.parametrize(
    ("branch", "before", "after"), [("R3", "666.7", "571.43"), ("R1.5", "1333", "1000")]
)
def test_an_ammeter_lowers_the_current_it_reads(branch: str, before: str, after: str) -> None:
    check_amps(ammeter_bench(1e-6, branch), branch, before, per=1e-3)
    check_amps(ammeter_bench(0.5, branch), branch, after, per=1e-3)


def test_a_shunt_shows_a_current_as_millivolts() -> None:
    # The print-out shows 0.7999 mV, cut off; 12 V / 15001 ohm over 1 ohm is 0.79995 mV [calc].
    bench = string(12.0, 15e3, 1.0)
    solution = bench.solve()
    assert volts(solution, "2") * 1e3 == printed("0.79995")
    assert float(Fraction(12, 15001)) * 1e3 == printed("0.79995")


def test_thevenin_of_a_divider() -> None:
    check_port(string(20.0, 2e3, 500.0, 3e3), "2", "3", "1.818182", "454.545")


# --- OpenStax University Physics 2 --------------------------------------------------------


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


def test_a_meter_of_one_kilohm_on_a_cell() -> None:
    bench = Bench()
    bench.source("cell", "1", "0", 1.585, 0.1)
    bench.resistor("meter", "1", "0", 1e3)
    check_amps(bench, "meter", "1.5848", per=1e-3)
    check_volts(bench, "1", "0", "1.58484")
    assert volts(bench.solve(), "1") / 1.585 == printed("0.99990")


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


def source_from_two_loads(r1: float, v1: float, r2: float, v2: float) -> tuple[float, float]:
    """Open volts [V] and resistance [ohm] of a source that shows `v1` on `r1` and `v2` on `r2`."""
    ohms = (v2 - v1) / (v1 / r1 - v2 / r2)
    return v1 * (1 + ohms / r1), ohms


def test_two_loaded_readings_give_the_source_back() -> None:
    bench = Bench()
    bench.source("cell", "1", "0", 12.0, 0.1)
    light, heavy = (volts(bench.solve(resistor_at("1", "0", r)), "1") for r in (10.0, 0.5))
    assert (light, heavy) == (pytest.approx(11.8812, abs=5e-5), pytest.approx(10.0, rel=EXACT))
    found = source_from_two_loads(10.0, light, 0.5, heavy)
    assert found == (pytest.approx(12.0, rel=EXACT), pytest.approx(0.1, rel=EXACT * 100))
    # The solver's own port agrees with what the two readings say.
    assert port_ohms(bench.solve(), "1", "0") == pytest.approx(found[1], rel=1e-7)


def test_a_rounded_light_load_reading_spoils_the_resistance() -> None:
    # [calc] with the printed 11.90 V in place of 11.881 V.
    assert source_from_two_loads(10.0, 11.90, 0.5, 10.0) == (printed("12.0202"), printed("0.1010"))


# --- single problems ----------------------------------------------------------------------


def test_port_of_a_divider_and_its_load() -> None:
    bench = string(12.0, 1.0, 5.0, 4.0)
    check_port(bench, "3", "0", "4.8", "2.4")
    bench.resistor("load", "3", "0", 0.8)
    check_amps(bench, "load", "1.5")


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


def test_a_change_of_one_element_is_the_other_circuit() -> None:
    # The string with 300 ohm and the string with a short are one circuit and its change.
    healthy, shorted = string(9.0, 100.0, 300.0, 50.0), string(9.0, 100.0, 1e-3, 50.0)
    stage = healthy.stage()
    key = stage.circuit.parameter_of["R2 ohms"]
    solution = solve_changes(stage, Changes(np.array([[key]]), np.array([[1e-3]])))
    assert amps(solution, "R1") == pytest.approx(amps(shorted.solve(), "R1"), rel=EXACT)
    short = replace(healthy.elements["R2"], ohms=1e-3)
    exact = exact_volts([short, *(e for n, e in healthy.elements.items() if n != "R2")])
    assert amps(solution, "R1") == pytest.approx(
        float(exact_amps(healthy.elements["R1"], exact)), rel=EXACT
    )

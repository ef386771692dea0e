"""The solver against independent ones, on random circuits with fixed seeds.

Three oracles, none of which shares a line with the solver: nodal analysis in rational
numbers; the sparse tableau (volts and currents as unknowns together, Hachtel, Brayton and
Gustavson, IEEE Trans. Circuit Theory 18, 1971 [mem]) solved by SciPy's sparse LU; and the
effective resistance from the pseudo-inverse of the Laplacian (Klein and Randic, J. Math.
Chem. 12, 1993 [mem]).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
import scipy.linalg
import scipy.sparse
import scipy.sparse.linalg
from numpy.random import Generator, default_rng
from numpy.typing import NDArray

from backprobe.circuit.compiled import Circuit
from backprobe.circuit.full import solve_full
from backprobe.circuit.settle import start_modes
from backprobe.circuit.solve import Changes, no_changes, solve_changes
from backprobe.sheet.anatomy import LEAK_TO_CHASSIS, OPEN
from tests.circuit.helpers import GROUND, Bench, Element, exact_amps, exact_volts, volts, worst

CLOSE = 1e-9
"""Agreement asked for [V]; a good meter shows 1e-4 V."""


def decades(rng: Generator, low: float, high: float) -> float:
    """A value whose logarithm is uniform: every decade alike."""
    return float(10 ** rng.uniform(np.log10(low), np.log10(high)))


def random_bench(rng: Generator, size: int, *, low: float = 1e-3, high: float = 1e9) -> Bench:
    """A connected network of `size` nodes and the datum, with cross links and three sources."""
    bench = Bench()
    names = ["0", *(f"n{i}" for i in range(1, size + 1))]
    for i in range(1, size + 1):
        bench.resistor(f"tree {i}", names[int(rng.integers(i))], names[i], decades(rng, low, high))
    for i in range(size):
        a, b = rng.choice(size + 1, 2, replace=False)
        bench.resistor(f"link {i}", names[a], names[b], decades(rng, low, high))
    for i in range(2):
        # Batteries stand on the datum and give amperes.
        plus = names[int(rng.integers(1, size + 1))]
        bench.source(f"battery {i}", plus, "0", float(rng.uniform(1, 30)), decades(rng, 1e-3, 1e2))
    # A feed floats and gives milliamperes.
    a, b = rng.choice(size + 1, 2, replace=False)
    bench.source("feed", names[a], names[b], float(rng.uniform(1, 30)), decades(rng, 1e3, 1e5))
    return bench


def tableau_volts(elements: Iterable[Element], circuit: Circuit) -> NDArray[np.float64]:
    """Node volts from the sparse tableau, in the circuit's order of nodes [V].

    Unknowns are node volts v and element currents i: K'i + g v = 0 and R i - K v = e. No sum
    of conductances is ever formed, so a milliohm beside a gigaohm costs no digits.
    """
    elements = list(elements)
    size, count = circuit.size, len(elements)
    incidence = scipy.sparse.lil_array((count, size))
    for row, e in enumerate(elements):
        for name, sign in ((e.a, 1.0), (e.b, -1.0)):
            if name != GROUND:
                incidence[row, circuit.node(name)] += sign
    leaks = scipy.sparse.diags_array(np.full(size, LEAK_TO_CHASSIS))
    ohms = np.array([e.ohms for e in elements])
    # Each element's own row is scaled by its resistance: pivots are then of one size.
    scale = scipy.sparse.diags_array(1 / np.maximum(ohms, 1.0))
    system = scipy.sparse.block_array(
        [[leaks, incidence.T], [-(scale @ incidence), scale @ scipy.sparse.diags_array(ohms)]], format="csc"
    )
    right = np.concatenate([np.zeros(size), scale @ np.array([e.volts for e in elements])])
    return np.asarray(scipy.sparse.linalg.spsolve(system, right))[:size]


# --- linear circuits ---------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(24))
def test_small_networks_equal_exact_rational_elimination(seed: int) -> None:
    rng = default_rng(seed)
    bench = random_bench(rng, int(rng.integers(5, 10)))
    assert worst(bench.solve(), exact_volts(bench.elements.values())) < CLOSE


@pytest.mark.parametrize("seed", range(24))
def test_large_networks_equal_the_sparse_tableau(seed: int) -> None:
    rng = default_rng(100 + seed)
    bench = random_bench(rng, int(rng.integers(10, 31)))
    solution = bench.solve()
    expected = tableau_volts(bench.elements.values(), solution.stage.circuit)
    np.testing.assert_allclose(solution.volts[0], expected, rtol=0, atol=CLOSE)


@pytest.mark.parametrize("seed", range(6))
def test_both_oracles_agree(seed: int) -> None:
    bench = random_bench(default_rng(200 + seed), 8)
    exact = exact_volts(bench.elements.values())
    circuit = bench.circuit()
    found = tableau_volts(bench.elements.values(), circuit)
    assert max(abs(found[circuit.node(n)] - float(v)) for n, v in exact.items() if n != GROUND) < CLOSE


@pytest.mark.parametrize("seed", range(12))
def test_branch_currents_equal_exact_ones(seed: int) -> None:
    rng = default_rng(300 + seed)
    bench = random_bench(rng, 7, low=1.0, high=1e6)
    solution, exact = bench.solve(), exact_volts(bench.elements.values())
    for name, element in bench.elements.items():
        # A current is a difference of volts over a resistance: 1e-12 V of them is its noise.
        noise = 1e-12 / element.ohms
        assert float(solution.through(name)[0]) == pytest.approx(
            float(exact_amps(element, exact)), rel=1e-9, abs=noise
        )


@pytest.mark.parametrize("seed", range(12))
def test_resistance_between_points_equals_the_laplacian_pseudo_inverse(seed: int) -> None:
    rng = default_rng(400 + seed)
    size = int(rng.integers(5, 20))
    bench = random_bench(rng, size, low=1.0, high=1e4)
    solution = bench.solve()
    circuit = solution.stage.circuit
    # The datum is the last node here; leaks are edges to it like any other.
    laplacian = np.zeros((size + 1, size + 1))
    edges = [(circuit.node(e.a), circuit.node(e.b), 1 / e.ohms) for e in bench.elements.values()]
    edges += [(i, -1, LEAK_TO_CHASSIS) for i in range(size)]
    for a, b, siemens in edges:
        laplacian[[a, b], [a, b]] += siemens
        laplacian[[a, b], [b, a]] -= siemens
    inverse = scipy.linalg.pinvh(laplacian)
    for a in range(size):
        for b in range(-1, a):
            selector = circuit.pair(a, b)
            found = float(solution.transfer(selector)[0] @ selector)
            expected = inverse[a, a] + inverse[b, b] - 2 * inverse[a, b]
            assert found == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("hold", [1e6, 1e9, OPEN])
def test_an_island_with_a_source_of_its_own(hold: float) -> None:
    # The one place where double precision shows: amperes inside an island that hardly anything
    # holds. Its rounding, 1e-16 of the current, floats the whole island by that times `hold`;
    # volts inside the island are as good as anywhere.
    bench = Bench()
    bench.source("cell", "plus", "minus", 24.0, 0.5)
    bench.resistor("load", "plus", "middle", 1.0)
    bench.resistor("wire", "middle", "minus", 0.01)
    bench.resistor("hold", "minus", "0", hold)
    solution, exact = bench.solve(), exact_volts(bench.elements.values())
    current = 24 / 1.51
    assert worst(solution, exact) < 1e-15 * current * hold + 1e-12
    for a, b in (("plus", "minus"), ("plus", "middle"), ("middle", "minus")):
        assert abs(volts(solution, a, b) - float(exact[a] - exact[b])) < CLOSE


# --- changes of a solved circuit ---------------------------------------------------------


def random_changes(rng: Generator, circuit: Circuit, count: int) -> Changes:
    """One to four parameters changed per circuit: opens, shorts, other values, other sources."""
    index = np.full((count, 4), -1, np.int64)
    value = np.zeros((count, 4))
    for row in range(count):
        chosen = rng.choice(len(circuit.parameters), int(rng.integers(1, 5)), replace=False)
        for k, p in enumerate(chosen):
            index[row, k] = p
            if circuit.parameters[p].logarithmic:
                value[row, k] = (OPEN, 1e-3, decades(rng, 1e-3, 1e9))[int(rng.integers(3))]
            else:
                value[row, k] = rng.uniform(0, 30)
    return Changes(index, value)


def changed(bench: Bench, circuit: Circuit, row: NDArray[np.float64]) -> list[Element]:
    """The bench's elements with one row of parameter values."""
    at = circuit.parameter_of
    return [
        replace(
            e,
            ohms=float(row[at[f"{n} ohms"]]),
            volts=float(row[at[f"{n} volts"]]) if f"{n} volts" in at else 0.0,
        )
        for n, e in bench.elements.items()
    ]


@pytest.mark.parametrize("seed", range(16))
def test_changes_equal_full_solves_and_exact_elimination(seed: int) -> None:
    rng = default_rng(500 + seed)
    bench = random_bench(rng, int(rng.integers(5, 9)))
    stage = bench.stage()
    changes = random_changes(rng, stage.circuit, 10)
    values = changes.values(stage.circuit.nominal)
    by_update, in_full = solve_changes(stage, changes), solve_full(stage, values)
    np.testing.assert_allclose(by_update.volts, in_full.volts, rtol=0, atol=CLOSE)
    for row in range(0, 10, 2):
        assert worst(by_update, exact_volts(changed(bench, stage.circuit, values[row])), row) < CLOSE


@pytest.mark.parametrize("seed", range(10))
def test_changes_of_large_networks_equal_the_sparse_tableau(seed: int) -> None:
    rng = default_rng(600 + seed)
    bench = random_bench(rng, int(rng.integers(15, 31)))
    stage = bench.stage()
    changes = random_changes(rng, stage.circuit, 20)
    values = changes.values(stage.circuit.nominal)
    by_update, in_full = solve_changes(stage, changes), solve_full(stage, values)
    np.testing.assert_allclose(by_update.volts, in_full.volts, rtol=0, atol=CLOSE)
    for row in range(20):
        expected = tableau_volts(changed(bench, stage.circuit, values[row]), stage.circuit)
        np.testing.assert_allclose(by_update.volts[row], expected, rtol=0, atol=CLOSE)


@pytest.mark.parametrize("ohms", [1e-3, 1.0, 1e3])
def test_an_open_that_leaves_a_node_on_its_leak(ohms: float) -> None:
    # The case where a rank-one update divides by almost nothing.
    bench = Bench()
    bench.source("cell", "plus", "0", 12.0, 0.02)
    bench.resistor("wire", "plus", "far", ohms)
    bench.resistor("stub", "far", "end", ohms)
    stage = bench.stage()
    key = stage.circuit.parameter_of["wire ohms"]
    solution = solve_changes(stage, Changes(np.array([[key]]), np.array([[OPEN]])))
    # Both nodes behind the open leak: 12 V over 1e10 ohm and 1e10/2 ohm gives a third.
    exact = exact_volts(changed(bench, stage.circuit, solution.values[0]))
    assert float(exact["end"]) == pytest.approx(4.0, rel=1e-6)
    assert worst(solution, exact) < CLOSE


@pytest.mark.parametrize("seed", range(8))
def test_transfer_of_changes_equals_that_of_full_solves(seed: int) -> None:
    rng = default_rng(700 + seed)
    bench = random_bench(rng, 10, low=1.0, high=1e5)
    stage = bench.stage()
    changes = random_changes(rng, stage.circuit, 12)
    by_update, in_full = (
        solve_changes(stage, changes),
        solve_full(stage, changes.values(stage.circuit.nominal)),
    )
    for node in range(stage.circuit.size):
        selector = stage.circuit.pair(node, -1)
        one, other = by_update.transfer(selector), in_full.transfer(selector)
        # Against the greatest resistance of each circuit: an open makes it 1e10 ohm.
        scale = np.abs(other).max(axis=1, keepdims=True)
        assert np.abs(one - other).max() / scale.max() < 1e-6
        np.testing.assert_allclose(one / scale, other / scale, rtol=0, atol=1e-6)


def test_no_change_is_the_nominal_circuit() -> None:
    bench = random_bench(default_rng(800), 12)
    stage = bench.stage()
    solution = solve_changes(stage, no_changes(3))
    expected = np.repeat(bench.solve().volts, 3, axis=0)
    np.testing.assert_allclose(solution.volts, expected, rtol=0, atol=CLOSE)


# --- diodes: piecewise linear, so exactly one set of modes is consistent ------------------


def random_diodes(rng: Generator, size: int, count: int) -> Bench:
    """A network with `count` diodes in random places."""
    bench = random_bench(rng, size, low=1.0, high=1e5)
    names = ["0", *(f"n{i}" for i in range(1, size + 1))]
    for i in range(count):
        a, b = rng.choice(size + 1, 2, replace=False)
        bench.diode(f"diode {i}", names[a], names[b], float(rng.uniform(0.3, 2.0)), decades(rng, 0.1, 10))
    return bench


def consistent_modes(bench: Bench) -> list[tuple[tuple[bool, ...], dict[str, Fraction]]]:
    """All sets of modes that agree with the volts they lead to, by trying every one."""
    diodes = [n for n in bench.elements if n.startswith("diode")]
    found = []
    for modes in product((False, True), repeat=len(diodes)):
        on = dict(zip(diodes, modes, strict=True))
        exact = exact_volts(e for n, e in bench.elements.items() if on.get(n, True))
        currents = {d: exact_amps(bench.elements[d], exact) for d in diodes}
        # Forward: more volts than the drop, which is what the sign of this current says.
        if all((currents[d] > 0) == on[d] for d in diodes):
            found.append((modes, exact))
    return found


@pytest.mark.parametrize("seed", range(16))
def test_diodes_equal_the_only_consistent_state(seed: int) -> None:
    rng = default_rng(900 + seed)
    bench = random_diodes(rng, int(rng.integers(4, 7)), int(rng.integers(1, 5)))
    ((modes, exact),) = consistent_modes(bench)
    solution = bench.solve()
    assert not solution.chatters[0]
    assert tuple(solution.modes[0].tolist()) == modes
    assert worst(solution, {n: v for n, v in exact.items() if n in solution.stage.circuit.node_of}) < CLOSE


@pytest.mark.parametrize("seed", range(10))
def test_changes_with_diodes_equal_the_only_consistent_state(seed: int) -> None:
    rng = default_rng(1000 + seed)
    bench = random_diodes(rng, 5, 3)
    stage = bench.stage()
    changes = random_changes(rng, stage.circuit, 6)
    # A diode's own drop stays what it is.
    drops = [p for p, q in enumerate(stage.circuit.parameters) if "diode" in q.key]
    changes.index[np.isin(changes.index, drops)] = -1
    solution = solve_changes(stage, changes)
    for row in range(changes.count):
        other = replace_elements(bench, changed(bench, stage.circuit, solution.values[row]))
        ((modes, exact),) = consistent_modes(other)
        assert tuple(solution.modes[row].tolist()) == modes
        assert worst(solution, exact, row) < CLOSE


def replace_elements(bench: Bench, elements: Iterable[Element]) -> Bench:
    """A bench for the oracle with other values; a diode's drop keeps its sign."""
    drops = {n: e.volts for n, e in bench.elements.items() if n.startswith("diode")}
    return Bench(
        elements={e.name: replace(e, volts=drops.get(e.name, e.volts)) for e in elements},
    )


def test_many_diodes_settle_whatever_the_start() -> None:
    # A ladder of twelve: more than all-at-once flipping would settle by luck.
    bench = Bench()
    bench.source("cell", "a0", "0", 12.0, 0.5)
    for i in range(12):
        bench.resistor(f"rung {i}", f"a{i}", f"a{i + 1}", 100.0 + 7 * i)
        ends = (f"a{i + 1}", "0") if i % 3 else ("0", f"a{i + 1}")
        bench.diode(f"diode {i}", *ends, 9.0 - 0.7 * i if i % 3 else 0.6, 2.0)
    solution = bench.solve()
    assert not solution.chatters[0]
    on = dict(zip((d.key for d in solution.stage.circuit.devices), solution.modes[0].tolist(), strict=True))
    exact = exact_volts(e for n, e in bench.elements.items() if on.get(n, True))
    for name, conducts in on.items():
        assert (exact_amps(bench.elements[name], exact) > 0) == conducts
    assert worst(solution, exact) < CLOSE
    assert any(on.values()) and not all(on.values())
    assert not start_modes(solution.stage.circuit, 1).any()
    assert volts(solution, "a1") < 12.0

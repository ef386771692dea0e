"""Node elimination against arithmetic by hand, dense inverses, rational numbers and a sheet's setups."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from numpy.random import default_rng

from backprobe.circuit.compiled import Floats, compile_sheet
from backprobe.circuit.eliminate import make_plan
from backprobe.circuit.full import solve_full, solve_together
from backprobe.circuit.setup import make_setup
from backprobe.circuit.solve import Solution
from backprobe.circuit.stage import make_stage
from backprobe.demo.story import demo_jobs
from backprobe.sheet.anatomy import LEAK_TO_CHASSIS


def drawn(seed: int, size: int, branches: int) -> Floats:
    """Incidence of a random connected drawing whose first branch ends at the datum."""
    rng = default_rng(seed)
    incidence = np.zeros((branches, size))
    incidence[0, 0] = 1
    for k in range(1, branches):
        one = k if k < size else int(rng.integers(0, size))
        other = int(rng.integers(0, min(k, size)))
        incidence[k, one] += 1
        incidence[k, other] -= 1
    return incidence


def matrices(incidence: Floats, siemens: Floats) -> Floats:
    """``(c, n, n)`` nodal matrices [S]."""
    whole: Floats = (incidence.T * siemens[:, None, :]) @ incidence
    return whole + LEAK_TO_CHASSIS * np.eye(incidence.shape[1])


def test_a_star_of_three_by_hand() -> None:
    """Three branches of 2, 3 and 5 S at one node, the last to the datum: 2 x 3 / 10 S joins the outer two."""
    incidence = np.array([[1.0, -1.0, 0.0], [1.0, 0.0, -1.0], [1.0, 0.0, 0.0]])
    found = make_plan(incidence).factor(np.array([[2.0, 3.0, 5.0]])).solve(np.array([[0.0], [1.0], [0.0]]))
    # One ampere into the second node: 1/2 ohm and then 1/5 ohm to the datum; the third only follows.
    assert found[:, 0] == pytest.approx([0.2, 0.7, 0.2], rel=1e-9)


@pytest.mark.parametrize(("size", "branches"), [(1, 1), (2, 4), (9, 12), (40, 55), (40, 160)])
def test_agrees_with_a_dense_inverse(size: int, branches: int) -> None:
    incidence = drawn(size, size, branches)
    siemens = 10 ** default_rng(1).uniform(-3, 2, (6, branches))
    plan = make_plan(incidence)
    factors = plan.factor(siemens)
    dense = np.linalg.inv(matrices(incidence, siemens))
    right = default_rng(2).normal(size=(size, 6))
    whole = np.einsum("cij,jc->ci", dense, right)
    np.testing.assert_allclose(factors.solve(right).T, whole, rtol=1e-7, atol=1e-9)
    place = plan.place[:-1]
    inverse = factors.inverse()
    assert inverse[np.ix_(place, place)].transpose(2, 0, 1) == pytest.approx(dense, rel=1e-7, abs=1e-9)
    assert not inverse[-1].any()


def test_kept_nodes_alone_are_left_over() -> None:
    incidence = drawn(3, 30, 60)
    plan = make_plan(incidence, np.array([2, 11, 29]))
    assert plan.core.tolist() == [2, 11, 29]
    siemens = 10 ** default_rng(4).uniform(-3, 2, (5, 60))
    right = default_rng(5).normal(size=(30, 5))
    whole = np.einsum("cij,jc->ci", np.linalg.inv(matrices(incidence, siemens)), right)
    np.testing.assert_allclose(plan.factor(siemens).solve(right).T, whole, rtol=1e-7, atol=1e-9)


def test_keeps_its_digits_where_only_the_leak_holds() -> None:
    """An island of stiff wires on the leak alone: 1 A meets 1/(n leak); a dense inverse loses digits."""
    size = 12
    incidence = np.zeros((size, size))
    incidence[0, 0] = 1
    for k in range(1, size):
        incidence[k, k], incidence[k, k - 1] = 1, -1
    siemens = np.full((1, size), 1e3)
    siemens[0, 0] = 0.0
    found = make_plan(incidence).factor(siemens).inverse()[0, 0, 0]
    leak = Fraction(LEAK_TO_CHASSIS)
    # No two nodes of the island are further than 11 mohm apart, which is nothing beside the leak.
    assert found == pytest.approx(float(1 / (size * leak)), rel=1e-11)


@pytest.fixture(scope="module")
def solved() -> list[tuple[Solution, Solution]]:
    """Setups of a demo sheet, each solved on its own and all together."""
    sheet = demo_jobs()[0].sheet
    circuit = compile_sheet(sheet)
    setups = [make_setup(sheet, {c.name: p}) for c in sheet.controls.values() for p in c.positions]
    setups += [make_setup(sheet).without(name) for name in sheet.connectors]
    stages = [make_stage(circuit, s) for s in setups]
    spread = default_rng(3).normal(size=(13, len(circuit.parameters))) * circuit.spread
    values = np.where(circuit.logarithmic, circuit.nominal * np.exp(spread), circuit.nominal + spread)
    together = solve_together(stages, values)
    return [(solve_full(stage, values), many) for stage, many in zip(stages, together, strict=True)]


def test_setups_solved_together_are_as_each_alone(solved: list[tuple[Solution, Solution]]) -> None:
    for alone, together in solved:
        assert together.stage is alone.stage
        assert (together.modes == alone.modes).all()
        assert together.volts == pytest.approx(alone.volts, abs=1e-9)
        assert together.currents == pytest.approx(alone.currents, abs=1e-7)


def test_ports_agree_with_transfers(solved: list[tuple[Solution, Solution]]) -> None:
    for alone, _ in solved[:4]:
        circuit = alone.stage.circuit
        red, black = np.array([3, 5, -1]), np.array([-1, 7, 2])
        volts, ohms = alone.ports(red, black)
        for k, (r, b) in enumerate(zip(red.tolist(), black.tolist(), strict=True)):
            selector = circuit.pair(r, b)
            assert volts[:, k] == pytest.approx(alone.volts @ selector, abs=1e-9)
            assert ohms[:, k] == pytest.approx(alone.transfer(selector) @ selector, rel=1e-6, abs=1e-4)


def test_a_node_apart_and_a_branch_in_a_ring_change_nothing() -> None:
    incidence = np.array([[1.0, 0.0], [0.0, 0.0]])
    found = make_plan(incidence).factor(np.array([[4.0, 9.0]])).solve(np.array([[1.0], [0.0]]))
    assert found[:, 0] == pytest.approx([0.25, 0.0], rel=1e-9)

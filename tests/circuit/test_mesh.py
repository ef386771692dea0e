"""Circuits reduced to some of their nodes, against arithmetic by hand, rational numbers and full solves."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from numpy.random import default_rng

from backprobe.circuit.compiled import Floats, Ints, compile_sheet
from backprobe.circuit.full import solve_full
from backprobe.circuit.mesh import Reducer, mesh_edges, solve_meshes
from backprobe.circuit.narrow import narrowed
from backprobe.circuit.setup import make_setup
from backprobe.circuit.stage import make_stage
from backprobe.demo.story import demo_jobs
from backprobe.sheet.anatomy import LEAK_TO_CHASSIS
from tests.circuit.test_eliminate import drawn, matrices


def solved(incidence: Floats, kept: Ints, siemens: Floats, driven: Floats) -> Floats:
    """Volts ``(c, n)`` by way of the kept nodes [V]."""
    mesh = Reducer(incidence, kept).reduce(siemens, driven)
    at_kept = solve_meshes(mesh.siemens.copy(), mesh.driven.copy(), kept.size)[:-1]
    volts = np.einsum("nmc,mc->cn", mesh.weight[:, :-1], at_kept) + mesh.weight[:, -1].T
    assert not volts[:, -1].any()
    return np.asarray(volts[:, :-1])


def test_a_divider_by_hand() -> None:
    """12 V behind 2 ohm into 4 ohm, whose tap is kept: 8 V behind 4/3 ohm (Thevenin's theorem)."""
    incidence = np.array([[-1.0, 0.0], [1.0, -1.0], [0.0, 1.0]])
    siemens, driven = np.array([[1.0, 1.0, 0.25]]), np.array([[12.0, 0.0, 0.0]])
    mesh = Reducer(incidence, np.array([1])).reduce(siemens, driven)
    assert mesh_edges(1) == [(0, 1)]
    assert 1 / mesh.siemens[0, 0] == pytest.approx(4 / 3, rel=1e-9)
    # The edge leads from the tap to the datum, and what it drives flows the other way.
    assert -mesh.driven[0, 0] / mesh.siemens[0, 0] == pytest.approx(8.0, rel=1e-9)
    volts = solved(incidence, np.array([1]), siemens, driven)
    assert volts[0] == pytest.approx([10.0, 8.0], rel=1e-9)


@pytest.mark.parametrize("kept", [[], [0], [3, 7], [1, 4, 9, 16, 25, 36]])
@pytest.mark.parametrize("branches", [55, 160])
def test_agrees_with_a_dense_inverse(branches: int, kept: list[int]) -> None:
    incidence = drawn(7, 40, branches)
    siemens = 10 ** default_rng(1).uniform(-3, 2, (6, branches))
    driven = siemens * default_rng(2).normal(size=(6, branches)) * (default_rng(3).random(branches) < 0.2)
    plain = -np.einsum("cij,cj->ci", np.linalg.inv(matrices(incidence, siemens)), driven @ incidence)
    found = solved(incidence, np.array(kept, np.int64), siemens, driven)
    np.testing.assert_allclose(found, plain, rtol=1e-7, atol=1e-9)


def test_an_island_beside_a_stiff_battery_keeps_its_volts() -> None:
    """Two points that only leak, joined by 1 kS with 12 V in series: +6 V and -6 V within rounding."""
    incidence = np.array([[1.0, -1.0, 0.0], [0.0, 0.0, -1.0]])
    siemens, driven = np.array([[1e3, 1e4]]), np.array([[-12e3, 12e4]])
    exact = Fraction(12) * 1000 / (2 * 1000 + Fraction(LEAK_TO_CHASSIS))
    for kept in ([], [0], [1, 2]):
        found = solved(incidence, np.array(kept, np.int64), siemens, driven)[0]
        assert found[:2] == pytest.approx([float(exact), -float(exact)], rel=1e-12)
        assert found[2] == pytest.approx(12.0, rel=1e-12)


def test_a_demo_sheet_reduced_to_a_plug() -> None:
    sheet = demo_jobs()[0].sheet
    circuit = compile_sheet(sheet)
    setup = make_setup(sheet, {c.name: c.positions[-1] for c in sheet.controls.values()})
    plain = solve_full(make_stage(circuit, setup), circuit.nominal[None])
    plug = next(c for c in sheet.connectors.values() if len(c.cavities) > 2)
    kept = np.unique([circuit.node(f"{c}.machine") for c in plug.cavities])
    found = solved(circuit.incidence, kept[kept >= 0], plain.siemens, plain.driven)
    assert found == pytest.approx(plain.volts, abs=1e-9)


def test_a_narrowed_circuit_names_the_same_things() -> None:
    sheet = demo_jobs()[0].sheet
    whole = compile_sheet(sheet)
    further = {0, len(whole.branches) - 1}
    narrow = narrowed(whole, further)
    own = narrow.circuit
    assert further <= set(narrow.branches.tolist())
    assert len(own.branches) < len(whole.branches)
    assert own.size < whole.size
    for key, b in own.branch_of.items():
        assert narrow.branches[b] == whole.branch_of[key]
        assert own.nominal[own.ohms_of[b]] == whole.nominal[whole.ohms_of[whole.branch_of[key]]]
    for name, node in own.node_of.items():
        assert whole.node_of[name] == (narrow.nodes[node] if node >= 0 else -1)
    begin, end = narrow.ends
    for one, other, branch in zip(begin, end, own.branches, strict=True):
        assert (one, other) == (whole.node(branch.a), whole.node(branch.b))

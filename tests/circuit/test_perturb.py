"""Low-rank changes against exact fractions and against a full solve of every circuit.

Expected values come from Gaussian elimination in exact fractions, written out here, or from the
general-purpose dense solver of numpy; circuits are invented.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from backprobe.circuit.perturb import perturb_one, perturb_source, perturb_two

Floats = NDArray[np.float64]
VOLTS = 1e-9
"""Largest difference allowed [V]."""


def exact_solve(matrix: Floats, right: Floats) -> list[Fraction]:
    """Gaussian elimination of the very numbers given, without rounding."""
    size = len(right)
    rows = [[Fraction(float(x)) for x in (*matrix[i], right[i])] for i in range(size)]
    for i in range(size):
        pivot = next(j for j in range(i, size) if rows[j][i])
        rows[i], rows[pivot] = rows[pivot], rows[i]
        rows[i] = [x / rows[i][i] for x in rows[i]]
        for j in range(size):
            if j != i and rows[j][i]:
                rows[j] = [x - rows[j][i] * y for x, y in zip(rows[j], rows[i], strict=True)]
    return [row[size] for row in rows]


def exact_inverse(matrix: Floats) -> Floats:
    columns = [exact_solve(matrix, column) for column in np.eye(len(matrix))]
    return np.array([[float(x) for x in column] for column in columns]).T


def branch_between(size: int, begin: int, end: int) -> Floats:
    """Incidence vector; node -1 is the datum."""
    vector = np.zeros(size)
    for node, sign in ((begin, 1.0), (end, -1.0)):
        if node >= 0:
            vector[node] += sign
    return vector


class Ladder:
    """Circuits of a chain whose every node is tied to a source of its own, from seeded numbers."""

    def __init__(self, seed: int, count: int, size: int) -> None:
        draw = np.random.default_rng(seed)
        ends = [(i, i + 1) for i in range(size - 1)] + [(i, -1) for i in range(size)]
        self.branch = np.array([branch_between(size, *e) for e in ends])
        # 50 mohm to 2 kohm in the chain and to the datum.
        self.siemens = 1 / 10 ** draw.uniform(-1.3, 3.3, (count, len(ends)))
        self.matrix = np.einsum("bi,mb,bj->mij", self.branch, self.siemens, self.branch)
        self.right = self.siemens[:, size - 1 :] * draw.uniform(0, 14, (count, size))
        self.inverse = np.array([exact_inverse(a) for a in self.matrix])
        self.volts = np.array(
            [[float(x) for x in exact_solve(a, b)] for a, b in zip(self.matrix, self.right, strict=True)]
        )

    def changed(self, circuit: int, *added: tuple[Floats, float]) -> Floats:
        full = self.matrix[circuit] + sum(change * np.outer(u, u) for u, change in added)
        return np.linalg.solve(full, self.right[circuit])


def test_divider_by_hand() -> None:
    """12 A into 1 S beside 2 S in series with 2 S: 6 V and 3 V; a second 2 S at the end: 5.142857 V.

    In series 2 S and (2 + 2) S make 4/3 S; with 1 S that is 7/3 S: 12 / (7/3) = 36/7 V at the
    source, of which 2 / (2 + 4) = 1/3 stays at the end: 12/7 V.
    """
    matrix = np.array([[[3.0, -2.0], [-2.0, 4.0]]])
    right = np.array([[12.0, 0.0]])
    inverse, volts = np.linalg.inv(matrix), np.array([[6.0, 3.0]])
    found = perturb_one(inverse, volts, np.array([[0.0, 1.0]]), np.array([[0.0, 2.0]]))
    assert found.shape == (1, 1, 2, 2)
    assert np.abs(found[0, 0] - [[6, 3], [36 / 7, 12 / 7]]).max() < VOLTS
    assert np.abs(matrix @ volts[0] - right).max() == 0


@settings(max_examples=40)
@given(
    seed=st.integers(0, 2**31),
    count=st.integers(1, 4),
    size=st.integers(2, 6),
    factors=st.lists(st.floats(0.02, 1e4), min_size=1, max_size=4),
)
def test_one_change_matches_a_full_solve(seed: int, count: int, size: int, factors: list[float]) -> None:
    ladder = Ladder(seed, count, size)
    own = ladder.siemens.min(axis=0)
    change = own[:, None] * (np.array(factors) - 1)
    probes = np.array([branch_between(size, 0, size - 1), branch_between(size, size - 1, -1), np.zeros(size)])
    every = perturb_one(ladder.inverse, ladder.volts, ladder.branch, change)
    probed = perturb_one(ladder.inverse, ladder.volts, ladder.branch, change, probes)
    assert every.shape == (count, len(own), len(factors), size)
    assert probed.shape == (count, len(own), len(factors), 3)
    for m, f, s in np.ndindex(*every.shape[:3]):
        full = ladder.changed(m, (ladder.branch[f], change[f, s]))
        assert np.abs(every[m, f, s] - full).max() < VOLTS
        assert np.abs(probed[m, f, s] - probes @ full).max() < VOLTS


def test_every_circuit_may_have_its_own_change() -> None:
    """A branch opened to a tenth of what it is in each circuit, one branch at a time."""
    ladder = Ladder(5, 4, 4)
    change = ladder.siemens[:, :, None] * -0.9
    found = perturb_one(ladder.inverse, ladder.volts, ladder.branch, change)
    source = perturb_source(ladder.inverse, ladder.volts, ladder.branch, change)
    for m, f in np.ndindex(*change.shape[:2]):
        full = ladder.changed(m, (ladder.branch[f], change[m, f, 0]))
        assert np.abs(found[m, f, 0] - full).max() < VOLTS
        pushed = np.linalg.solve(ladder.matrix[m], ladder.right[m] - change[m, f, 0] * ladder.branch[f])
        assert np.abs(source[m, f, 0] - pushed).max() < VOLTS


@pytest.mark.parametrize("seed", range(3))
def test_one_change_matches_exact_fractions(seed: int) -> None:
    ladder = Ladder(seed, 2, 4)
    change = np.array([[0.5, 40.0]] * len(ladder.branch))
    found = perturb_one(ladder.inverse, ladder.volts, ladder.branch, change)
    for m, f, s in np.ndindex(*found.shape[:3]):
        # Adding in fractions, so that not even the sum is rounded.
        u = ladder.branch[f]
        rows = [[Fraction(float(x)) for x in row] for row in ladder.matrix[m]]
        for i, j in np.ndindex(4, 4):
            rows[i][j] += Fraction(float(change[f, s])) * int(u[i]) * int(u[j])
        residual = [
            sum(a * Fraction(float(v)) for a, v in zip(row, found[m, f, s], strict=True)) - Fraction(float(b))
            for row, b in zip(rows, ladder.right[m], strict=True)
        ]
        error = np.linalg.solve(np.array(rows, float), np.array(residual, float))
        assert np.abs(error).max() < VOLTS


def held_by_one() -> tuple[Floats, Floats, Floats, Floats]:
    """1 S from the datum to node 0, 0.5 S on to node 1, where a leak of 2**-20 S and 2**-20 A meet.

    All conductances are powers of two, so that taking one away leaves no rounding behind.
    """
    leak = 2.0**-20
    matrix = np.array([[[1.5, -0.5], [-0.5, 0.5 + leak]]])
    right = np.array([[4.0, leak]])
    inverse = exact_inverse(matrix[0])[None]
    volts = np.array([[float(x) for x in exact_solve(matrix[0], right[0])]])
    return matrix, right, inverse, volts


def test_taking_away_what_alone_held_a_node() -> None:
    """Without the 0.5 S node 0 stands at 4 V / 1 and node 1 at leak amps over leak siemens: 1 V."""
    matrix, right, inverse, volts = held_by_one()
    branch, change = np.array([[1.0, -1.0]]), np.array([[-0.5, 0.0, 0.5]])
    found = perturb_one(inverse, volts, branch, change, matrix=matrix, right=right)
    assert np.abs(found[0, 0, 0] - [4, 1]).max() < VOLTS
    assert np.abs(found[0, 0, 1] - volts[0]).max() < VOLTS
    full = np.linalg.solve(matrix[0] + 0.5 * np.outer(branch[0], branch[0]), right[0])
    assert np.abs(found[0, 0, 2] - full).max() < VOLTS
    probed = perturb_one(inverse, volts, branch, change, np.array([[1.0, -1.0]]), matrix=matrix, right=right)
    assert abs(probed[0, 0, 0, 0] - 3) < VOLTS


def test_removal_hits_only_the_circuits_that_need_it() -> None:
    """The same removal in a circuit with a second way, 0.25 S from node 1 to the datum."""
    matrix, right, _, _ = held_by_one()
    other = matrix + np.array([[[0.0, 0.0], [0.0, 0.25]]])
    both, rights = np.concatenate([other, matrix, other]), np.repeat(right, 3, axis=0)
    inverses = np.array([exact_inverse(a) for a in both])
    start = np.array([np.linalg.solve(a, right[0]) for a in both])
    branch, change = np.array([[0.0, 1.0], [1.0, -1.0]]), np.array([[1.0, 2.0], [0.5, -0.5]])
    found = perturb_one(inverses, start, branch, change, matrix=both, right=rights)
    for m, f, s in np.ndindex(3, 2, 2):
        full = np.linalg.solve(both[m] + change[f, s] * np.outer(branch[f], branch[f]), right[0])
        assert np.abs(found[m, f, s] - full).max() < VOLTS


@pytest.mark.parametrize(("missing", "have"), [("matrix", "right"), ("right", "matrix")])
def test_removal_names_what_it_needs(missing: str, have: str) -> None:
    matrix, right, inverse, volts = held_by_one()
    branch, change = np.array([[1.0, -1.0]]), np.array([[-0.5]])
    given_one = {"matrix": matrix, "right": right}[have]
    with pytest.raises(ValueError, match=f"^{missing}: needed, since 1 "):
        perturb_one(inverse, volts, branch, change, **{have: given_one})
    with pytest.raises(ValueError, match=r"^matrix: needed"):
        perturb_two(inverse, volts, branch, np.array([[0, 0]]), np.array([[-0.25, -0.25]]))


@settings(max_examples=40)
@given(seed=st.integers(0, 2**31), size=st.integers(2, 5))
def test_changed_current_matches_a_full_solve(seed: int, size: int) -> None:
    ladder = Ladder(seed, 3, size)
    amps = np.random.default_rng(seed + 1).uniform(-2, 2, (len(ladder.branch), 2))
    probes = np.eye(size)[:1]
    found = perturb_source(ladder.inverse, ladder.volts, ladder.branch, amps)
    probed = perturb_source(ladder.inverse, ladder.volts, ladder.branch, amps, probes)
    for m, f, s in np.ndindex(*found.shape[:3]):
        # A current from beginning to end leaves the node where the branch begins.
        full = np.linalg.solve(ladder.matrix[m], ladder.right[m] - amps[f, s] * ladder.branch[f])
        assert np.abs(found[m, f, s] - full).max() < VOLTS * max(1, np.abs(full).max())
        assert probed[m, f, s, 0] == pytest.approx(found[m, f, s, 0], abs=VOLTS)


@settings(max_examples=40)
@given(seed=st.integers(0, 2**31), size=st.integers(2, 5))
def test_two_changes_match_a_full_solve(seed: int, size: int) -> None:
    ladder = Ladder(seed, 3, size)
    count = len(ladder.branch)
    pairs = np.array([(i, j) for i in range(count) for j in range(i + 1, count)])
    draw = np.random.default_rng(seed + 2)
    own = ladder.siemens.min(axis=0)
    change = own[pairs] * (10 ** draw.uniform(-0.7, 2, pairs.shape) - 1)
    probes = np.array([branch_between(size, size - 1, 0)])
    found = perturb_two(ladder.inverse, ladder.volts, ladder.branch, pairs, change)
    probed = perturb_two(ladder.inverse, ladder.volts, ladder.branch, pairs, change, probes)
    assert found.shape == (3, len(pairs), size)
    for m, q in np.ndindex(3, len(pairs)):
        added = zip(ladder.branch[pairs[q]], change[q], strict=True)
        full = ladder.changed(m, *added)
        assert np.abs(found[m, q] - full).max() < VOLTS
        assert abs(probed[m, q, 0] - (full[-1] - full[0])) < VOLTS


def test_two_half_removals_make_a_whole_one() -> None:
    """Twice 0.25 S taken away beside each other is the removal of 0.5 S: 4 V and 1 V."""
    matrix, right, inverse, volts = held_by_one()
    branch = np.array([[1.0, -1.0], [0.0, 1.0]])
    pairs, change = np.array([[0, 0], [0, 1]]), np.array([[-0.25, -0.25], [0.5, 1.0]])
    found = perturb_two(inverse, volts, branch, pairs, change, matrix=matrix, right=right)
    assert np.abs(found[0, 0] - [4, 1]).max() < VOLTS
    added = 0.5 * np.outer(branch[0], branch[0]) + np.outer(branch[1], branch[1])
    assert np.abs(found[0, 1] - np.linalg.solve(matrix[0] + added, right[0])).max() < VOLTS


def test_many_circuits_are_worked_in_parts_with_one_result() -> None:
    """700 circuits x 60 changes exceed what is worked on together; each still finds its own volts."""
    ladder = Ladder(11, 3, 4)
    inverse, volts = np.tile(ladder.inverse, (234, 1, 1)), np.tile(ladder.volts, (234, 1))
    change = np.tile(np.linspace(0.1, 5, 60), (len(ladder.branch), 1))
    found = perturb_one(inverse, volts, ladder.branch, change)
    again = perturb_one(ladder.inverse, ladder.volts, ladder.branch, change)
    assert np.abs(found - np.tile(again, (234, 1, 1, 1))).max() < VOLTS
    pairs = np.tile([[0, 1]], (500, 1))
    two = perturb_two(inverse, volts, ladder.branch, pairs, np.full((500, 2), 0.5))
    full = ladder.changed(2, (ladder.branch[0], 0.5), (ladder.branch[1], 0.5))
    assert np.abs(two[2::3] - full).max() < VOLTS


@pytest.mark.parametrize(
    ("name", "broken"),
    [
        ("inverse", {"inverse": np.eye(3)}),
        ("branch", {"branch": np.ones((1, 2))}),
        ("change", {"change": np.ones((2, 1))}),
        ("probes", {"probes": np.ones(3)}),
    ],
)
def test_shapes_that_do_not_fit_are_named(name: str, broken: dict[str, Floats]) -> None:
    fits = {
        "inverse": np.eye(3)[None],
        "volts": np.ones((1, 3)),
        "branch": np.ones((1, 3)),
        "change": np.ones((1, 1)),
    }
    with pytest.raises(ValueError, match=f"^{name}: shape"):
        perturb_one(**{**fits, **broken})


def test_other_shapes_that_do_not_fit_are_named() -> None:
    inverse, volts, branch = np.eye(3)[None], np.ones((1, 3)), np.ones((1, 3))
    with pytest.raises(ValueError, match=r"^amps: shape"):
        perturb_source(inverse, volts, branch, np.ones(1))
    with pytest.raises(ValueError, match=r"^pairs, change: shapes"):
        perturb_two(inverse, volts, branch, np.zeros((1, 2), np.int64), np.ones((1, 1)))

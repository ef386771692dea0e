"""Solve a batch of circuits node by node: the same order of elimination for all of them.

A guard circuit is nearly a tree, so its matrix is nearly empty. Taking a node away joins its
neighbours by ``g_i g_j / sum(g)``, the star-mesh transformation [1]. Nothing is ever subtracted,
so no digits are lost however far apart the conductances lie [2].

1. A. Rosen: A New Network Theorem. Journal of the Institution of Electrical Engineers 62 (1924). [mem]
2. W. K. Grassmann, M. I. Taksar, D. P. Heyman: Regenerative analysis and steady state distributions
   for Markov chains. Operations Research 33 (1985). [mem]
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

import numpy as np

from backprobe.sheet.anatomy import LEAK_TO_CHASSIS

if TYPE_CHECKING:
    from backprobe.circuit.compiled import Floats, Ints

CORE = 10
"""Nodes left over that are eliminated one by one, as a full matrix."""
MANY = 4
"""Neighbours up to which a node is taken away together with others."""


@dataclass(frozen=True, slots=True, eq=False)
class _Level:
    """Nodes without a common branch, eliminated together; ``k`` nodes of up to ``m`` neighbours.

    Parameters
    ----------
    nodes, edges, others
        ``(k,)`` nodes, ``(k, m)`` edges to their neighbours and ``(k, m)`` those; padded by the
        empty edge and by the datum.
    pairs, target, sums
        ``(2, f)`` which two of the level's edges a pair of neighbours has, the edges ``(t,)`` that
        gain by it, and ``(t, f)`` which of the pairs each of them gains.
    gaining, share
        Neighbours ``(g,)`` other than the datum, and ``(g, k * m)`` the edges that end there.
    begin
        First row of the level among all shares and sums; see `Factors`.
    """

    nodes: Ints
    edges: Ints
    others: Ints
    pairs: Ints
    target: Ints
    sums: Floats
    gaining: Ints
    share: Floats
    begin: int

    def of(self, rows: Floats) -> tuple[Floats, Floats]:
        """The level's shares ``(k, m, c)`` and sums ``(k, c)``, as views."""
        k, m = self.edges.shape
        middle = self.begin + k * m
        return rows[self.begin : middle].reshape(k, m, -1), rows[middle : middle + k]


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """In which order the nodes of a drawing are eliminated, whatever its values.

    Parameters
    ----------
    size
        Number of nodes.
    order, starts
        Branches sorted by edge, and where in them each edge's begin.
    leaks
        Edges from each node to the datum.
    edges
        Number of edges, those included that come about on the way.
    core, core_edges
        ``(m,)`` the nodes left over and ``(m, m + 1)`` the edges between them and to the datum.
    core_begins
        First row of each of those among all shares and sums, and the number of these in all.
    place
        ``(n + 1,)`` place of each node, and of the datum, in the reversed order.
    """

    size: int
    order: Ints
    starts: Ints
    leaks: Ints
    edges: int
    levels: tuple[_Level, ...]
    core: Ints
    core_edges: Ints
    core_begins: tuple[int, ...]
    place: Ints

    def of_core(self, rows: Floats) -> list[tuple[Floats, Floats]]:
        """For each node of the core its shares ``(m - k, c)`` and sum ``(c,)``, as views."""
        return [(rows[a : b - 1], rows[b - 1]) for a, b in pairwise(self.core_begins)]

    def factor(self, siemens: Floats) -> Factors:
        """Eliminate the nodes of every circuit of a batch.

        Parameters
        ----------
        siemens
            ``(c, b)`` conductances [S], none negative.
        """
        count = siemens.shape[0]
        g = np.zeros((self.edges + 1, count))
        if self.starts.size:
            g[: self.starts.size] = np.add.reduceat(siemens.T[self.order], self.starts, axis=0)
        g[self.leaks] += LEAK_TO_CHASSIS
        rows = np.empty((self.core_begins[-1], count))
        for level in self.levels:
            share, whole = level.of(rows)
            near = g[level.edges]
            np.add.reduce(near, axis=1, out=whole)
            np.divide(near, whole[:, None], out=share)
            if level.target.size:
                flat = (-1, count)
                gained = share.reshape(flat)[level.pairs[0]] * near.reshape(flat)[level.pairs[1]]
                g[level.target] += level.sums @ gained
        m = self.core.size
        left = g[self.core_edges]
        for k, begin in enumerate(self.core_begins[:-1]):
            near, end = left[k, k + 1 :], self.core_begins[k + 1] - 1
            whole = np.add.reduce(near, axis=0, out=rows[end])
            share = np.divide(near, whole, out=rows[begin:end])
            if k + 1 < m:
                left[k + 1 :, k + 1 :] += share[:-1, None] * near[None]
        return Factors(self, rows)


@dataclass(frozen=True, slots=True, eq=False)
class Factors:
    """Circuits of a batch ready to be solved.

    Parameters
    ----------
    rows
        ``(f, c)`` shares and sums of every level, and of every node of the core: a column for each circuit.
    """

    plan: Plan
    rows: Floats

    def each(self, selector: Floats) -> Floats:
        """``(n, c)``: one ampere through a selector ``(n,)`` in every circuit [A]."""
        return np.broadcast_to(selector[:, None], (selector.size, self.rows.shape[1]))

    def at(self, circuits: Ints | slice) -> Factors:
        """Some of the circuits, in the given order; one may come more than once."""
        return Factors(self.plan, self.rows[:, circuits])

    def solve(self, right: Floats) -> Floats:
        """Node volts ``(n, c)`` [V] of currents into the nodes, ``(n, c)`` [A]."""
        plan, size = self.plan, self.plan.size
        count, add = right.shape[1], np.add.reduce
        levels = [(level, *level.of(self.rows)) for level in plan.levels]
        # The datum has a row of its own, which stays at zero.
        x = np.zeros((size + 1, count))
        x[:size] = right
        for level, share, _ in levels:
            if level.gaining.size:
                passed = share * x[level.nodes][:, None]
                x[level.gaining] += level.share @ passed.reshape(-1, count)
        m = plan.core.size
        y = np.zeros((m + 1, count))
        y[:m] = x[plan.core]
        core = plan.of_core(self.rows)
        for k, (share, _) in enumerate(core[:-1]):
            y[k + 1 : m] += share[:-1] * y[k]
        for k in range(m - 1, -1, -1):
            share, whole = core[k]
            y[k] /= whole
            y[k] += add(share * y[k + 1 :], axis=0)
        x[plan.core] = y[:m]
        for level, share, whole in reversed(levels):
            x[level.nodes] = x[level.nodes] / whole + add(share * x[level.others], axis=1)
        return x[:size]

    def inverse(self) -> Floats:
        """Inverse matrices ``(n + 1, n + 1, c)`` [ohm], in the order of `Plan.place`, the datum last.

        Taken from the last node backwards: what one ampere does at a node is what reaches its
        neighbours, shared out to it. Quicker than a `solve` for each of many pairs of points.
        """
        plan = self.plan
        z = np.zeros((plan.size + 1, plan.size + 1, self.rows.shape[1]))
        m = plan.core.size
        for k, (share, whole) in reversed(list(enumerate(plan.of_core(self.rows)))):
            if k + 1 < m:
                z[k, k + 1 : m] = (share[:-1, None] * z[k + 1 : m, k + 1 : m]).sum(axis=0)
                z[k + 1 : m, k] = z[k, k + 1 : m]
            z[k, k] = 1 / whole + (share[:-1] * z[k + 1 : m, k]).sum(axis=0)
        done = m
        for level in reversed(plan.levels):
            share, whole = level.of(self.rows)
            near, until = plan.place[level.others], done + level.nodes.size
            for j in range(near.shape[1]):
                z[done:until, :done] += share[:, j, None] * z[near[:, j], :done]
            z[:done, done:until] = z[done:until, :done].transpose(1, 0, 2)
            for j in range(near.shape[1]):
                z[done:until, done:until] += share[:, j, None] * z[near[:, j], done:until]
            own = np.arange(done, until)
            z[own, own] += 1 / whole
            done = until
        return z


def stitch(several: Sequence[Factors], which: Ints, place: Ints) -> Factors:
    """Circuits of several batches of one plan as one batch.

    Parameters
    ----------
    which, place
        ``(c,)`` the batch that each circuit is taken from, and its column there.
    """
    used = np.unique(which).tolist() or [0]
    if len(used) == 1:
        whole: Factors = several[used[0]]
        everything = np.array_equal(place, np.arange(whole.rows.shape[1]))
        return whole if everything else whole.at(place)
    rows: Floats = np.empty((several[0].rows.shape[0], which.size))
    for number in used:
        here = np.flatnonzero(which == number)
        rows[:, here] = several[number].rows[:, place[here]]
    return Factors(several[0].plan, rows)


def make_plan(incidence: Floats, kept: Ints | None = None) -> Plan:
    """Choose the order: nodes with the fewest neighbours first, as many as have no common branch.

    Parameters
    ----------
    incidence
        ``(b, n)``; see `Circuit`.
    kept
        Nodes that alone are left over; by default those that come last.
    """
    return _Planner(incidence).plan(kept)


class _Planner:
    def __init__(self, incidence: Floats) -> None:
        self.size = incidence.shape[1]
        self.edge_of: dict[tuple[int, int], int] = {}
        self.near: list[set[int]] = [set() for _ in range(self.size)]
        used: list[tuple[int, int]] = []
        for branch, row in enumerate(incidence):
            ends = np.flatnonzero(row).tolist()
            if ends:
                one, other = (*ends, self.size)[:2]
                used.append((self._edge(one, other), branch))
        used.sort()
        self.order = np.array([branch for _, branch in used], np.int64)
        edges = np.array([edge for edge, _ in used], np.int64)
        self.starts = np.flatnonzero(np.diff(edges, prepend=-1))
        self.leaks = np.array([self._edge(node, self.size) for node in range(self.size)], np.int64)

    def _edge(self, one: int, other: int) -> int:
        if one < self.size and other < self.size:
            self.near[one].add(other)
            self.near[other].add(one)
        return self.edge_of.setdefault((min(one, other), max(one, other)), len(self.edge_of))

    def plan(self, kept: Ints | None = None) -> Plan:
        left = set(range(self.size))
        wanted: set[int] = set() if kept is None else set(kept.tolist())
        most_left = CORE if kept is None else len(wanted)
        chosen: list[list[int]] = []
        levels: list[tuple[list[list[int]], list[tuple[int, int, int]]]] = []
        while len(left) > most_left:
            nodes = self._independent(left - wanted, len(left) - most_left)
            left.difference_update(nodes)
            around = [[*sorted(self.near[node]), self.size] for node in nodes]
            most = max(map(len, around))
            pairs: list[tuple[int, int, int]] = []
            for k, ends in enumerate(around):
                pairs += [
                    (self._edge(a, b), k * most + i, k * most + j)
                    for i, a in enumerate(ends)
                    for j, b in enumerate(ends[i + 1 :], i + 1)
                ]
                for end in ends[:-1]:
                    self.near[end].discard(nodes[k])
            chosen.append(nodes)
            levels.append((around, pairs))
        core = sorted(left)
        table = [[self._edge(a, b) if a != b else -1 for b in [*core, self.size]] for a in core]
        made: list[_Level] = []
        begin = 0
        for nodes, (around, pairs) in zip(chosen, levels, strict=True):
            made.append(self._level(nodes, around, pairs, begin))
            begin += made[-1].edges.size + len(nodes)
        empty = len(self.edge_of)
        core_edges = np.array(table, np.int64).reshape(len(core), len(core) + 1)
        place = np.empty(self.size + 1, np.int64)
        backwards = [*core, *(node for nodes in reversed(chosen) for node in nodes), self.size]
        place[backwards] = np.arange(self.size + 1)
        return Plan(
            self.size,
            self.order,
            self.starts,
            self.leaks,
            empty,
            tuple(made),
            np.array(core, np.int64),
            np.where(core_edges < 0, empty, core_edges),
            tuple(accumulate((len(core) + 1 - k for k in range(len(core))), initial=begin)),
            place,
        )

    def _independent(self, among: set[int], count: int) -> list[int]:
        """Up to `count` nodes with few neighbours, none of which is a neighbour of another."""
        ranked = sorted(among, key=lambda node: (len(self.near[node]), node))
        most = max(len(self.near[ranked[0]]), MANY)
        found: list[int] = []
        beside: set[int] = set()
        for node in ranked[:count]:
            if len(self.near[node]) > most:
                break
            if node not in beside:
                found.append(node)
                beside |= self.near[node]
        return found

    def _level(
        self, nodes: list[int], around: list[list[int]], pairs: list[tuple[int, int, int]], begin: int
    ) -> _Level:
        most, empty = max(map(len, around)), len(self.edge_of)
        edges = np.full((len(nodes), most), empty, np.int64)
        others = np.full((len(nodes), most), self.size, np.int64)
        for k, ends in enumerate(around):
            others[k, : len(ends)] = ends
            edges[k, : len(ends)] = [self._edge_known(nodes[k], end) for end in ends]
        target, row = np.unique(np.array([t for t, _, _ in pairs], np.int64), return_inverse=True)
        sums = np.zeros((target.size, len(pairs)))
        sums[row, np.arange(len(pairs))] = 1.0
        gaining = np.setdiff1d(others, [self.size])
        share = (gaining[:, None] == others.ravel()).astype(float)
        both = np.array([(i, j) for _, i, j in pairs], np.int64).reshape(-1, 2).T
        return _Level(np.array(nodes, np.int64), edges, others, both, target, sums, gaining, share, begin)

    def _edge_known(self, one: int, other: int) -> int:
        return self.edge_of[min(one, other), max(one, other)]

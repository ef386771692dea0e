"""Circuits of a batch reduced to a few of their nodes: what is left is a mesh of edges between these.

Every node but the kept ones is taken away as in `eliminate`, and each edge takes along what its
sources drive through it. With ``g`` the conductance and ``d`` the driven current of the edges from a
node to its neighbours ``i`` and ``j``, and ``s`` the sum of ``g``, the edge from ``i`` to ``j`` gains::

    g_i g_j / s    and    (g_i d_j - g_j d_i) / s

A driven current never becomes a difference of large numbers, as currents into nodes do: what leaves
one node arrives at the other. So a few points that only leak keep their volts beside a stiff battery.

Axes: ``m`` kept nodes, ``e`` edges between them and to the datum, ``c`` circuits.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Floats, Ints
from backprobe.circuit.eliminate import Plan, make_plan
from backprobe.sheet.anatomy import LEAK_TO_CHASSIS


def mesh_edges(count: int) -> list[tuple[int, int]]:
    """The edges of a mesh of `count` nodes in their order; place `count` is the datum."""
    return [(i, j) for i in range(count) for j in range(i + 1, count + 1)]


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """A batch of circuits as seen from the kept nodes.

    Parameters
    ----------
    siemens, driven
        ``(e, c)`` conductance [S] and driven current [A] of `mesh_edges`, from the first node to the second.
    weight
        ``(n + 1, m + 1, c)``: volts of every node, and of the datum, by those of the kept ones [1]; last
        its volts where all these are at zero [V].
    """

    siemens: Floats
    driven: Floats
    weight: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Pairs:
    """The pairs of neighbours of a level, by how many of them its edges have gained from before.

    Parameters
    ----------
    one, other
        Places ``(f,)`` of a pair in the level's flattened edges.
    rounds
        Begin, end and gaining edges of each round; no edge gains twice in one.
    sign
        ``(k, m, 1)`` -1 where an edge leads from a neighbour to the level's node.
    """

    one: Ints
    other: Ints
    rounds: tuple[tuple[int, int, Ints], ...]
    sign: Floats


class Reducer:
    """Takes all nodes but some away from circuits of one drawing.

    Parameters
    ----------
    incidence
        ``(b, n)``; see `Circuit`.
    kept
        ``(m,)`` nodes, ascending.
    """

    def __init__(self, incidence: Floats, kept: Ints) -> None:
        self.plan: Plan = make_plan(incidence, kept)
        # Branches sorted by edge; an edge leads from its lower node to the higher one, the datum last.
        ends = incidence[self.plan.order]
        first = ends[np.arange(len(ends)), (ends != 0).argmax(axis=1)]
        self._along = first[:, None]
        count = self.plan.core.size
        one, other = np.array(mesh_edges(count), np.int64).reshape(-1, 2).T
        self._mesh: Ints = self.plan.core_edges[one, other]
        self._pairs = [self._pairs_of(k) for k in range(len(self.plan.levels))]

    def _pairs_of(self, number: int) -> _Pairs:
        level = self.plan.levels[number]
        gains = level.sums.argmax(axis=0) if level.target.size else np.zeros(0, np.int64)
        before = np.zeros(gains.size, np.int64)
        met: dict[int, int] = {}
        for f, edge in enumerate(gains.tolist()):
            before[f] = met[edge] = met.get(edge, -1) + 1
        order = np.argsort(before, kind="stable")
        cuts = np.searchsorted(before[order], np.arange(before.max(initial=-1) + 2))
        edges = level.target[gains[order]] if gains.size else gains
        rounds = [(a, b, edges[a:b]) for a, b in zip(cuts[:-1].tolist(), cuts[1:].tolist(), strict=True)]
        sign = np.where(level.nodes[:, None] < level.others, 1.0, -1.0)[:, :, None]
        return _Pairs(level.pairs[0][order], level.pairs[1][order], tuple(rounds), sign)

    def reduce(self, siemens: Floats, driven: Floats) -> Mesh:
        """The circuits of a batch as seen from the kept nodes.

        Parameters
        ----------
        siemens, driven
            ``(c, b)`` conductances [S], none negative, and driven currents [A]; see `Stage.held`.
        """
        plan, count = self.plan, siemens.shape[0]
        # Conductance and driven current of an edge lie side by side, and are fetched together.
        edges = np.zeros((plan.edges + 1, 2, count))
        if plan.starts.size:
            branches = np.empty((plan.order.size, 2, count))
            branches[:, 0] = siemens.T[plan.order]
            np.multiply(driven.T[plan.order], self._along, out=branches[:, 1])
            edges[: plan.starts.size] = np.add.reduceat(branches, plan.starts, axis=0)
        edges[plan.leaks, 0] += LEAK_TO_CHASSIS
        done: list[tuple[Floats, Floats]] = []
        for level, pairs in zip(plan.levels, self._pairs, strict=True):
            near = edges[level.edges]
            near[:, :, 1] *= pairs.sign
            whole = near[:, :, 0].sum(axis=1)
            share = near[:, :, 0] / whole[:, None]
            flat, flows = share.reshape(-1, count), near.reshape(-1, 2, count)
            passed = flows[pairs.other]
            passed *= flat[pairs.one][:, None]
            back = flat[pairs.other]
            back *= flows[pairs.one, 1]
            passed[:, 1] -= back
            for begin, end, gaining in pairs.rounds:
                edges[gaining] += passed[begin:end]
            done.append((share, -near[:, :, 1].sum(axis=1) / whole))
        return Mesh(edges[self._mesh, 0], edges[self._mesh, 1], self._weights(done, count))

    def _weights(self, done: list[tuple[Floats, Floats]], count: int) -> Floats:
        """``(n + 1, m + 1, c)``; see `Mesh`."""
        plan = self.plan
        m = plan.core.size
        weight = np.zeros((plan.size + 1, m + 1, count))
        weight[plan.core, np.arange(m)] = 1.0
        for level, (share, own) in zip(reversed(plan.levels), reversed(done), strict=True):
            if level.nodes.size == 1:
                weight[level.nodes[0]] = (share[0, :, None] * weight[level.others[0]]).sum(axis=0)
                weight[level.nodes[0], m] += own[0]
                continue
            found = share[:, 0, None] * weight[level.others[:, 0]]
            found[:, m] += own
            for j in range(1, level.others.shape[1]):
                # The rest is padded by the datum, which adds nothing.
                rows = np.flatnonzero(level.others[:, j] < plan.size)
                found[rows] += share[rows, j, None] * weight[level.others[rows, j]]
            weight[level.nodes] = found
        return weight


def solve_meshes(siemens: Floats, driven: Floats, count: int) -> Floats:
    """Volts ``(m + 1, c)`` of the nodes of meshes, the datum last [V]; overwrites what it is given.

    Parameters
    ----------
    siemens, driven
        ``(e, c)``; see `Mesh`.
    count
        Number ``m`` of nodes.
    """
    begin = np.cumsum([0, *range(count, 0, -1)]).tolist()
    done: list[tuple[Floats, Floats]] = []
    for k in range(count):
        near, out = siemens[begin[k] : begin[k + 1]], driven[begin[k] : begin[k + 1]]
        whole = near.sum(axis=0)
        share = near / whole
        for i in range(count - k - 1):
            edges = slice(begin[k + 1 + i], begin[k + 2 + i])
            siemens[edges] += share[i] * near[i + 1 :]
            driven[edges] += share[i] * out[i + 1 :]
            driven[edges] -= share[i + 1 :] * out[i]
        done.append((share, out.sum(axis=0) / whole))
    volts = np.zeros((count + 1, siemens.shape[1]))
    for k in range(count - 1, -1, -1):
        share, own = done[k]
        volts[k] = (share * volts[k + 1 :]).sum(axis=0) - own
    return volts

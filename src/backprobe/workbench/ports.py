"""A plug's cavities as the ports of a circuit: leads put between them are edges of a small mesh.

With the modes of its devices held, a circuit with a fault is reduced once to the cavities (see
`circuit.mesh`). Every join then adds its leads to that mesh, which is solved in a few steps for many
joins at once, and what one asks for follows from the volts of the cavities: it is linear in them.

Axes: ``f`` faults, ``j`` joins, ``t`` cavities that are nodes of their own, ``e`` edges of their mesh,
``q`` quantities asked for, ``u`` reduced circuits, ``c`` circuits.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from backprobe.circuit.compiled import Bools, Circuit, Floats, Ints
from backprobe.circuit.mesh import Reducer, mesh_edges, solve_meshes
from backprobe.circuit.narrow import Narrow
from backprobe.circuit.settle import Electrical
from backprobe.circuit.setup import JUMPER_OHMS
from backprobe.circuit.stage import Stage

TOGETHER = 256
"""Circuits reduced at a time: their edges stay within a processor's cache."""
SOLVED = 4096
"""Meshes solved at a time, for the same reason."""


class Points:
    """Cavities as nodes, and the leads of every join between them.

    Parameters
    ----------
    circuit
        The circuit.
    nodes
        ``(cavity,)`` node of each; -1 for the datum.
    leads
        ``(j, k, 2)`` cavities that each lead of a join connects, -1 where a join has fewer leads.
    """

    def __init__(self, circuit: Circuit, nodes: Ints, leads: Ints) -> None:
        self.nodes: Ints = np.unique(nodes[nodes >= 0])
        self.reducer = Reducer(circuit.incidence, self.nodes)
        count = self.nodes.size
        place = {int(n): t for t, n in enumerate(self.nodes)} | {-1: count}
        edge_of = {pair: e for e, pair in enumerate(mesh_edges(count))}
        joins, most = leads.shape[:2]
        self.ends: Ints = np.full((joins, most, 2), count, np.int64)
        """Places ``(j, k, 2)`` of the ends of each lead; the datum comes last."""
        self.siemens: Floats = np.zeros((len(edge_of), joins))
        """``(e, j)`` what the leads of each join add to the edges [S]."""
        for j, k in np.argwhere(leads[:, :, 0] >= 0).tolist():
            one, other = sorted(place[int(nodes[cavity])] for cavity in leads[j, k])
            self.ends[j, k] = one, other
            if one != other:
                self.siemens[edge_of[one, other], j] += 1 / JUMPER_OHMS


@dataclass(frozen=True, slots=True, eq=False)
class Answers:
    """What was asked of circuits.

    Parameters
    ----------
    volts, currents
        ``(c, n)`` and ``(c, b)`` of the nodes [V] and branches [A] asked for.
    siemens
        ``(c, b)`` conductance of these branches [S].
    amps
        ``(c, k)`` currents through the leads [A].
    """

    volts: Floats
    currents: Floats
    siemens: Floats
    amps: Floats


class Ports:
    """Faulted circuits of one stage as they are seen from some cavities, for each set of modes.

    Parameters
    ----------
    stage
        The setup, without leads.
    values
        ``(f, p)`` parameter values with each fault.
    points
        The cavities and joins.
    few, all_of
        What devices are judged by, and all that is asked; the first is within the other.
    """

    def __init__(self, stage: Stage, values: Floats, points: Points, few: Narrow, all_of: Narrow) -> None:
        self.stage, self.points = stage, points
        self.few, self.all_of = few, all_of
        self.closed = stage.closed(values)
        self.few_values = values[:, few.parameters]
        self.all_values = values[:, all_of.parameters]
        one, other = all_of.ends
        self._ends = [np.searchsorted(all_of.nodes, n) for n in (one, other)]
        for places, n in zip(self._ends, (one, other), strict=True):
            places[n < 0] = -1
        self._rows: dict[bytes, Ints] = {}
        self._tables: dict[bytes, tuple[Ints, Bools]] = {}
        self._count = 0
        edges, size = points.siemens.shape[0], points.nodes.size + 1
        self._siemens: Floats = np.empty((edges, 0))
        self._driven: Floats = np.empty((edges, 0))
        self._nodes = few.nodes.size
        self._quick = few.nodes.size + few.branches.size
        self._answers: Floats = np.empty((0, size, self._quick + all_of.nodes.size))
        """``(u, t + 1, q)``: the few nodes' volts, the few branches' currents, then all nodes' volts."""
        self._held: Floats = np.empty((2, 0, all_of.branches.size))
        """Conductances, and driven currents ``(u, b)`` of all branches asked for."""

    def quick(self, modes: Bools, fault: Ints, join: Ints) -> Electrical:
        """What devices are judged by, in circuits that each have a fault, a join and modes ``(c, d)``."""
        rows = self._reduced(modes, fault)
        order = np.argsort(rows, kind="stable")
        found = np.empty((len(fault), self._quick))
        for begin in range(0, len(fault), SOLVED):
            part = order[begin : begin + SOLVED]
            at_points = self._at_points(rows[part], join[part])
            found[part] = _multiplied(at_points, rows[part], self._answers[:, :, : self._quick])
        return Electrical(self.few_values[fault], found[:, : self._nodes], found[:, self._nodes :])

    def ask(self, modes: Bools, fault: Ints, join: Ints) -> Answers:
        """All that is asked of circuits, as in `quick`; best where circuits of one fault are together."""
        rows = self._reduced(modes, fault)
        at_points = self._at_points(rows, join)
        volts = _multiplied(at_points, rows, self._answers[:, :, self._quick :])
        siemens, driven = self._held[:, rows]
        begin, end = self._ends
        padded = np.pad(volts, ((0, 0), (0, 1)))
        currents = padded[:, begin]
        currents -= padded[:, end]
        currents *= siemens
        currents += driven
        ends, circuits = self.points.ends[join], np.arange(join.size)[:, None]
        across = at_points[ends[:, :, 0], circuits] - at_points[ends[:, :, 1], circuits]
        return Answers(volts, currents, siemens, across / JUMPER_OHMS)

    def _at_points(self, rows: Ints, join: Ints) -> Floats:
        """``(t + 1, c)`` volts of the cavities, the datum last [V]."""
        count = self.points.nodes.size
        siemens = np.take(self._siemens, rows, axis=1)
        siemens += np.take(self.points.siemens, join, axis=1)
        return solve_meshes(siemens, np.take(self._driven, rows, axis=1), count)

    def _reduced(self, modes: Bools, fault: Ints) -> Ints:
        """``(c,)`` number of each circuit's reduced one, made where it is not there yet."""
        rows = np.empty(len(fault), np.int64)
        groups: list[tuple[Ints, Ints]] = []
        wanted: list[tuple[Bools, Ints]] = []
        for pattern, own in _patterns(modes):
            table, on = self._table(pattern)
            groups.append((table, own))
            asked = np.zeros(table.size, bool)
            asked[fault[own]] = True
            missing = np.flatnonzero(asked & (table < 0))
            if missing.size:
                table[missing] = self._count + np.arange(missing.size)
                self._count += missing.size
                wanted.append((on, missing))
        if wanted:
            on = np.repeat([w[0] for w in wanted], [w[1].size for w in wanted], axis=0)
            self._reduce(on, np.concatenate([w[1] for w in wanted]))
        for table, own in groups:
            rows[own] = table[fault[own]]
        return rows

    def _table(self, pattern: Bools) -> tuple[Ints, Bools]:
        """``(f,)`` numbers of the circuits with these modes, -1 where not made; the branches on in them."""
        key = pattern.tobytes()
        if key not in self._tables:
            # What counts is which branches conduct; devices that do not differ in it share it.
            on = self.stage.conducting(pattern[None])[0]
            none = np.full(len(self.closed.siemens), -1, np.int64)
            self._tables[key] = self._rows.setdefault(on.tobytes(), none), on
        return self._tables[key]

    def _reduce(self, on: Bools, faults: Ints) -> None:
        """Append the reduced circuits of faults with the branches ``(u, b)`` conducting."""
        first = self._count - len(faults)
        self._grow()
        for begin in range(0, len(faults), TOGETHER):
            part = slice(begin, begin + TOGETHER)
            g, d = self.stage.held(self.closed.at(faults[part]), on[part])
            mesh = self.points.reducer.reduce(g, d)
            new = slice(first + begin, first + begin + len(g))
            self._siemens[:, new], self._driven[:, new] = mesh.siemens, mesh.driven
            self._held[0, new], self._held[1, new] = g[:, self.all_of.branches], d[:, self.all_of.branches]
            self._ask(self._answers[new], mesh.weight, g, d)

    def _grow(self) -> None:
        """Make room for at least as many reduced circuits as there are, and for half as many again."""
        more = self._count - len(self._answers)
        if more > 0:
            more += self._count // 2
            self._siemens = np.pad(self._siemens, ((0, 0), (0, more)))
            self._driven = np.pad(self._driven, ((0, 0), (0, more)))
            self._answers = np.pad(self._answers, ((0, more), (0, 0), (0, 0)))
            self._held = np.pad(self._held, ((0, 0), (0, more), (0, 0)))

    def _ask(self, result: Floats, weight: Floats, siemens: Floats, driven: Floats) -> None:
        """Fill in ``(u, t + 1, q)`` what is asked by the volts of the cavities.

        Parameters
        ----------
        weight
            As in `Mesh`.
        siemens, driven
            ``(u, b)``.
        """
        begin, end = self.few.ends
        across = weight[begin] - weight[end]
        across *= siemens.T[self.few.branches, None]
        across[:, -1] += driven.T[self.few.branches]
        result[:, :, : self._nodes] = weight[self.few.nodes].T
        result[:, :, self._nodes : self._quick] = across.T
        result[:, :, self._quick :] = weight[self.all_of.nodes].T


def _multiplied(at_points: Floats, rows: Ints, answers: Floats) -> Floats:
    """``(c, q)`` quantities; circuits that follow each other with one reduced circuit take one product."""
    known = np.ascontiguousarray(at_points.T)
    # The answers' last row is what there is with all cavities at zero.
    known[:, -1] = 1.0
    found = np.empty((rows.size, answers.shape[2]))
    cuts = np.flatnonzero(np.diff(rows, prepend=-1, append=-1)).tolist()
    for row, begin, end in zip(rows[cuts[:-1]].tolist(), cuts[:-1], cuts[1:], strict=True):
        np.matmul(known[begin:end], answers[row], out=found[begin:end])
    return found


def _patterns(modes: Bools) -> Iterator[tuple[Bools, Ints]]:
    """The different rows of ``(c, d)`` modes, each with the circuits that have it."""
    packed = np.packbits(modes, axis=1)
    width = packed.shape[1]
    keys: NDArray[np.uint64] = np.zeros(len(modes), np.uint64)
    if width > 8:
        keys = np.unique(packed, axis=0, return_inverse=True)[1].reshape(-1).astype(np.uint64)
    for k in range(width if width <= 8 else 0):
        keys = (keys << np.uint64(8)) | packed[:, k].astype(np.uint64)
    _, first, group = np.unique(keys, return_index=True, return_inverse=True)
    order = np.argsort(group.reshape(-1), kind="stable")
    cuts = np.searchsorted(group.reshape(-1)[order], np.arange(first.size + 1)).tolist()
    for g, row in enumerate(first.tolist()):
        yield modes[row], order[cuts[g] : cuts[g + 1]]

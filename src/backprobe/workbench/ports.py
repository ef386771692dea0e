"""A plug's cavities as the ports of a circuit: leads put between them in closed form.

With the modes of its devices held, a circuit with a fault answers to leads put between its cavities like
a network seen from those few points (Thevenin's theorem for several ports)::

    i = (R + E' Zp E)^-1 E' v,    v' = v - T E i

``v`` are its volts without leads, ``T`` the volts that one ampere into each point makes, ``Zp`` the rows
of ``T`` at the points, ``E`` which points the leads join. So each fault is solved once for every set of
modes, and all joins follow from small products.

Axes: ``f`` faults, ``j`` joins, ``n`` nodes, ``t`` points, ``k`` leads, ``c`` circuits.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from backprobe.circuit.compiled import Bools, Circuit, Floats, Ints
from backprobe.circuit.lowrank import Base, factorise, update, update_open
from backprobe.circuit.settle import Electrical
from backprobe.circuit.setup import JUMPER_OHMS
from backprobe.circuit.solve import Changes, touched_branches
from backprobe.circuit.stage import Stage

KEPT = 96
"""Sets of conducting branches whose solved faults are kept, oldest out first."""
BASES = 12
"""Factorised circuits that are kept, oldest out first: each takes half a megabyte."""


@dataclass(slots=True, eq=False)
class Held:
    """Faults solved with one set of branches conducting, as far as they were asked for.

    Parameters
    ----------
    place
        ``(f,)`` row of each fault in the others; -1 while it was not solved.
    volts, transfer
        ``(r, n)`` volts without leads [V], ``(r, n, t)`` volts by one ampere into each point [ohm].
    """

    place: Ints
    volts: Floats
    transfer: Floats


class Ports:
    """Faulted circuits of one stage as they are seen from some points, for each set of modes.

    Parameters
    ----------
    stage, changes
        The setup, and the ``f`` faults.
    nodes
        ``(t,)`` nodes of the points; -1 for the datum.
    leads
        ``(j, k, 2)`` points that each lead of a join connects, -1 where a join has fewer leads.
    kept
        Where solved sets of modes are kept, for ports whose circuits are alike.
    """

    def __init__(
        self,
        stage: Stage,
        changes: Changes,
        nodes: Ints,
        leads: Ints,
        kept: dict[bytes, Held] | None = None,
    ) -> None:
        self.stage, self.nodes = stage, nodes
        joins, most = leads.shape[:2]
        self.selects: Floats = np.zeros((joins, most, len(nodes)))
        j, k = np.nonzero(leads[:, :, 0] >= 0)
        self.selects[j, k, leads[j, k, 0]] += 1
        self.selects[j, k, leads[j, k, 1]] -= 1
        self.real: Bools = leads[:, :, 0] >= 0
        self.values = changes.values(stage.circuit.nominal)
        self.closed = stage.closed(self.values)
        self._touched = touched_branches(stage, changes)
        self._kept: dict[bytes, Held] = {} if kept is None else kept
        self._bases: dict[bytes, Base] = {}
        circuit = stage.circuit
        self._begin, self._end = _ends(stage.incidence)
        self._asked_nodes, self._asked_branches = _asked(circuit)

    def quick(self, modes: Bools, fault: Ints, join: Ints) -> Electrical:
        """What the devices are judged by: volts and currents elsewhere are left at zero."""
        volts, _ = self.volts(modes, fault, join, self._asked_nodes)
        currents = np.zeros((len(fault), self.stage.branch_count))
        asked = self._asked_branches
        on = self.stage.conducting(modes)[:, asked]
        part = self.closed.siemens[fault[:, None], asked] * on
        currents[:, asked] = part * (
            self._node(volts, self._begin[asked]) - self._node(volts, self._end[asked])
        )
        for links, amounts, scale in (
            (self.closed.sources, self.closed.volts, part),
            (self.closed.pushed, self.closed.amps, on),
        ):
            for column, branch in enumerate(links.tolist()):
                place = np.flatnonzero(asked == branch)
                if place.size:
                    currents[:, branch] += scale[:, place[0]] * amounts[fault, column]
        return Electrical(self.values[fault], volts, currents)

    def currents(self, volts: Floats, siemens: Floats, driven: Floats) -> Floats:
        """``(c, b)`` branch currents [A]."""
        across = self._node(volts, self._begin)
        across -= self._node(volts, self._end)
        across *= siemens
        across += driven
        return across

    @staticmethod
    def _node(volts: Floats, nodes: Ints) -> Floats:
        """``(c, k)`` volts of nodes, zero at the datum."""
        found = volts[:, nodes]
        found[:, nodes < 0] = 0.0
        return found

    def volts(
        self, modes: Bools, fault: Ints, join: Ints, asked: Ints | None = None
    ) -> tuple[Floats, Floats]:
        """Volts of circuits that each have a fault, a join and their own modes ``(c, d)``.

        Parameters
        ----------
        asked
            Nodes whose volts are wanted, zero at all others; every node when None.

        Returns
        -------
        volts, amps
            ``(c, n)`` node volts [V] and ``(c, k)`` currents through the leads [A].
        """
        volts = np.zeros((len(fault), self.stage.circuit.size))
        amps = np.empty((len(fault), self.selects.shape[1]))
        for pattern, rows in _patterns(modes):
            held = self._held(pattern, fault[rows])
            plain, transfer = held.volts, held.transfer
            f, e = held.place[fault[rows]], self.selects[join[rows]]
            system = e @ self._at_points(transfer)[f] @ e.transpose(0, 2, 1)
            k = np.arange(e.shape[1])
            system[:, k, k] += np.where(self.real[join[rows]], JUMPER_OHMS, 1.0)
            across = np.einsum("ckt,ct->ck", e, self._at_points(plain)[f])
            amps[rows] = np.linalg.solve(system, across[:, :, None])[:, :, 0]
            into = np.einsum("ckt,ck->ct", e, amps[rows])
            if asked is None:
                volts[rows] = plain[f] - _spread(transfer, f, into)
            else:
                volts[np.ix_(rows, asked)] = plain[:, asked][f] - _spread(transfer[:, asked], f, into)
        return volts, amps

    def lost(self, volts: Floats, amps: Floats, join: Ints) -> Floats:
        """``(c,)`` volts by which a lead's own drop disagrees with the volts at its ends [V]."""
        ends = np.einsum("ckt,ct->ck", self.selects[join], self._at_points(volts))
        wrong = np.where(self.real[join], ends - JUMPER_OHMS * amps, 0.0)
        result: Floats = np.abs(wrong).max(axis=1, initial=0.0)
        return result

    def _at_points(self, of_nodes: Floats) -> Floats:
        """Values at the points along the second axis; zero at the datum."""
        inside = (self.nodes >= 0).reshape(1, -1, *[1] * (of_nodes.ndim - 2))
        result: Floats = np.where(inside, of_nodes[:, self.nodes], 0.0)
        return result

    def _held(self, modes: Bools, wanted: Ints) -> Held:
        """The wanted faults ``(c,)`` with the modes of the devices held as they are."""
        # What counts is which branches conduct; states and devices that do not differ in it share it.
        key = self.stage.conducting(modes[None]).tobytes()
        held = self._kept.get(key)
        if held is None:
            while len(self._kept) >= KEPT:
                self._kept.pop(next(iter(self._kept)))
            size, none = self.stage.circuit.size, np.full(len(self._touched), -1, np.int64)
            held = self._kept[key] = Held(none, np.empty((0, size)), np.empty((0, size, len(self.nodes))))
        missing = np.unique(wanted)
        missing = missing[held.place[missing] < 0]
        if missing.size:
            volts, transfer = self._solve(modes, missing, key)
            held.place[missing] = len(held.volts) + np.arange(missing.size)
            held.volts = np.concatenate([held.volts, volts])
            held.transfer = np.concatenate([held.transfer, transfer])
        return held

    def _base(self, modes: Bools, key: bytes) -> Base:
        if key not in self._bases:
            while len(self._bases) >= BASES:
                self._bases.pop(next(iter(self._bases)))
            nominal = self.stage.circuit.nominal
            self._bases[key] = factorise(self.stage, nominal, modes, keep=False)
        return self._bases[key]

    def _solve(self, modes: Bools, faults: Ints, key: bytes) -> tuple[Floats, Floats]:
        stage, touched = self.stage, self._touched[faults]
        on = stage.conducting(modes[None])
        siemens, driven = stage.held(self.closed.at(faults), np.repeat(on, len(touched), axis=0))
        base = self._base(modes, key)
        pick = self._picker()
        volts = np.empty((len(touched), stage.circuit.size))
        transfer = np.empty((*volts.shape, len(self.nodes)))
        narrow = (touched < stage.branch_count).sum(axis=1) <= 1
        lost: list[int] = []
        for rows, width in ((np.flatnonzero(narrow), 1), (np.flatnonzero(~narrow), touched.shape[1])):
            if not rows.size:
                continue
            own = touched[rows, :width]
            volts[rows], factor, poor = update(stage, base, own, siemens[rows], driven[rows])
            columns = base.columns[own]
            near = np.einsum("cij,cjt->cit", factor, columns @ pick)
            transfer[rows] = base.inverse @ pick - np.einsum("cin,cit->cnt", columns, near)
            bad = rows[poor]
            if width == 1 and bad.size:
                volts[bad], block, worse = update_open(
                    stage, base, touched[bad, 0], siemens[bad], driven[bad]
                )
                for t, selector in enumerate(pick.T):
                    transfer[bad, :, t] = block.transfer(selector, np.arange(bad.size))
                bad = bad[worse]
            lost += bad.tolist()
        if lost:
            volts[lost], inverse = stage.solve(siemens[lost], driven[lost])
            transfer[lost] = inverse @ pick
        return volts, transfer

    def _picker(self) -> Floats:
        """``(n, t)`` one at each point's node."""
        pick = np.zeros((self.stage.circuit.size, len(self.nodes)))
        inside = np.flatnonzero(self.nodes >= 0)
        pick[self.nodes[inside], inside] = 1.0
        return pick


def _spread(transfer: Floats, fault: Ints, into: Floats) -> Floats:
    """``(c, n)`` volts that currents ``(c, t)`` out of the points take away."""
    result = np.empty((len(fault), transfer.shape[1]))
    order = np.argsort(fault, kind="stable")
    faults, starts = np.unique(fault[order], return_index=True)
    for f, rows in zip(faults.tolist(), np.split(order, starts[1:]), strict=True):
        result[rows] = into[rows] @ transfer[f].T
    return result


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
    for g, row in enumerate(first):
        yield modes[row], np.flatnonzero(group.reshape(-1) == g)


def _ends(incidence: Floats) -> tuple[Ints, Ints]:
    """Nodes where branches begin and end; -1 for the datum."""
    begin = np.where((incidence > 0).any(axis=1), incidence.argmax(axis=1), -1)
    end = np.where((incidence < 0).any(axis=1), incidence.argmin(axis=1), -1)
    return begin.astype(np.int64), end.astype(np.int64)


def _asked(circuit: Circuit) -> tuple[Ints, Ints]:
    """Nodes and branches by which devices and rules are judged."""
    nodes: set[int] = set()
    branches: set[int] = set()
    for device in circuit.devices:
        for name in ("branch", "limited"):
            key = getattr(device, name, "")
            if key:
                branches.add(circuit.branch_of[key])
        for name in ("a", "b"):
            if hasattr(device, name):
                nodes.add(circuit.node(getattr(device, name)))
    for entry in circuit.inputs.values():
        nodes |= {circuit.node(entry.node), circuit.node(entry.ground)}
    for branch in branches:
        nodes |= set(np.flatnonzero(circuit.incidence[branch]).tolist())
    return np.array(sorted(nodes - {-1}), np.int64), np.array(sorted(branches), np.int64)

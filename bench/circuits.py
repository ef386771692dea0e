"""Invented circuits in the shape of a guard circuit, drawn from one seed.

A source feeds a chain of joints; shorter chains leave it; loads, pull-ups and cross-connections
tie the nodes to each other and to the return. Three joints are switches, which makes eight setups.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Bools, Floats, Ints

SEED = 20260317
NODES, BRANCHES, SWITCHES, DRAWS = 24, 40, 3, 256
SHORTS = 24
SEVERITIES = 5
OPEN_SIEMENS = 1e-9
WORN = np.array([2.0, 8.0, 30.0, 120.0, 500.0])
"""Factors on a part's resistance; a joint of 4 mohm comes to 2 ohm."""
SHORT_OHMS = np.array([0.01, 0.3, 5.0, 80.0, 1500.0])


@dataclass(frozen=True, slots=True, eq=False)
class Fleet:
    """All circuits ``m`` (setup by setup, draw by draw) and their faults ``f`` by severity ``s``."""

    matrix: Floats
    """``(m, n, n)`` nodal matrices [S]."""
    right: Floats
    """``(m, n)`` currents into the nodes [A]."""
    branch: Floats
    """``(f, n)`` incidence of each fault."""
    change: Floats
    """``(m, f, s)`` added conductance [S]."""
    probes: Floats
    """``(8, n)`` a voltmeter's leads."""

    @property
    def count(self) -> int:
        """Faulted circuits in all."""
        return self.change.size


def make_fleet(*, opened: bool = False) -> Fleet:
    """Draw the circuits.

    Parameters
    ----------
    opened
        Whether the last severity of each worn part is a full break.
    """
    draw = np.random.default_rng(SEED)
    incidence, ohms = _drawing(draw)
    switches = draw.choice(np.arange(2, 20), SWITCHES, replace=False)
    closed = (np.arange(2**SWITCHES)[:, None] >> np.arange(SWITCHES)) & 1
    tolerance = draw.uniform(0.02, 0.4, BRANCHES)
    siemens = 1 / (ohms * np.exp(draw.uniform(-1, 1, (DRAWS, BRANCHES)) * tolerance))
    siemens = np.tile(siemens, (len(closed), 1))
    volts = np.tile(draw.uniform(11.6, 13.1, DRAWS), len(closed))
    is_open = np.zeros(siemens.shape, bool)
    is_open[:, switches] = np.repeat(closed == 0, DRAWS, axis=0)
    siemens[is_open] = OPEN_SIEMENS
    matrix = (incidence.T * siemens[:, None, :]) @ incidence
    right = np.zeros((len(siemens), NODES))
    right[:, 0] = volts * siemens[:, 0]
    worn = np.setdiff1d(np.arange(1, BRANCHES), switches)
    branch = np.vstack([incidence[worn], _pairs(draw, SHORTS)])
    change = np.empty((len(siemens), len(branch), SEVERITIES))
    change[:, : len(worn)] = siemens[:, worn, None] * (1 / WORN - 1)
    if opened:
        change[:, : len(worn), -1] = OPEN_SIEMENS - siemens[:, worn]
    change[:, len(worn) :] = 1 / SHORT_OHMS
    return Fleet(matrix, right, branch, change, _probes(draw))


def _drawing(draw: np.random.Generator) -> tuple[Floats, Floats]:
    """``(b, n)`` incidence and ``(b,)`` nominal resistance [ohm]."""
    incidence = np.zeros((BRANCHES, NODES))
    ohms = np.empty(BRANCHES)
    incidence[0, 0], ohms[0] = 1, 0.007
    for node in range(1, NODES):
        # Mostly on along the chain, now and then a new chain from further back.
        back = node - 1 if draw.random() < 0.8 else int(draw.integers(0, node))
        incidence[node, back], incidence[node, node] = 1, -1
        ohms[node] = 10 ** draw.uniform(np.log10(2e-3), np.log10(0.2))
    for i in range(NODES, BRANCHES):
        a, b = draw.choice(NODES, 2, replace=False)
        incidence[i, a] = 1
        if i % 3 == 0:
            incidence[i, b] = -1
        ohms[i] = 10 ** draw.uniform(np.log10(4.0), 5)
    return incidence, ohms


def _pairs(draw: np.random.Generator, count: int) -> Floats:
    """``(count, n)`` shorts: every other one to the return, the rest between two nodes."""
    vectors = np.zeros((count, NODES))
    for i in range(count):
        a, b = draw.choice(NODES, 2, replace=False)
        vectors[i, a] = 1
        if i % 2:
            vectors[i, b] = -1
    return vectors


def _probes(draw: np.random.Generator) -> Floats:
    """Black on the return for five, on another node for three."""
    probes = np.zeros((8, NODES))
    for i, (red, black) in enumerate(draw.permutation(NODES)[:16].reshape(8, 2)):
        probes[i, red] = 1
        if i >= 5:
            probes[i, black] = -1
    return probes


def assemble(fleet: Fleet, flat: Ints) -> tuple[Floats, Floats]:
    """Nodal matrices ``(k, n, n)`` and currents ``(k, n, 1)`` of the faulted circuits numbered `flat`."""
    faults, severities = fleet.change.shape[1:]
    circuit, rest = np.divmod(flat, faults * severities)
    fault = rest // severities
    change = fleet.change.reshape(-1)[flat]
    matrix = fleet.matrix[circuit]
    entries = matrix.reshape(len(flat), -1)
    row = np.arange(len(flat))
    begin, end, to_node = _ends(fleet.branch)
    begin, end, weight = begin[fault], end[fault], change * to_node[fault]
    entries[row, begin * (NODES + 1)] += change
    entries[row, end * (NODES + 1)] += weight
    entries[row, begin * NODES + end] -= weight
    entries[row, end * NODES + begin] -= weight
    return matrix, fleet.right[circuit][:, :, None]


def _ends(branch: Floats) -> tuple[Ints, Ints, Bools]:
    """Nodes at which faults begin and end, and whether the end is a node at all (not the return)."""
    return branch.argmax(axis=1), branch.argmin(axis=1), branch.min(axis=1) < 0

"""A circuit of which only what one asks for is kept: some nodes, branches and parameters, every device."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace

import numpy as np

from backprobe.circuit.compiled import Circuit, Ints


@dataclass(frozen=True, slots=True, eq=False)
class Narrow:
    """A narrowed circuit, and which places of the whole one it keeps.

    Parameters
    ----------
    circuit
        Fit to judge volts and currents by, not to be solved.
    nodes, branches, parameters
        Places in the whole circuit, ascending.
    """

    circuit: Circuit
    nodes: Ints
    branches: Ints
    parameters: Ints

    @property
    def ends(self) -> tuple[Ints, Ints]:
        """``(b,)`` node of the whole circuit at each branch's beginning and end; -1 for the datum."""
        found = []
        for sign in (1, -1):
            here = self.circuit.incidence * sign > 0
            at = self.nodes[here.argmax(axis=1)] if self.nodes.size else np.zeros(len(here), np.int64)
            found.append(np.where(here.any(axis=1), at, -1))
        return found[0], found[1]


def narrowed(circuit: Circuit, branches: Iterable[int] = (), nodes: Iterable[int] = ()) -> Narrow:
    """Keep what devices, inputs and loads are judged by, and some branches and nodes besides.

    Parameters
    ----------
    branches
        Further branches, with their ends.
    nodes
        Further nodes; -1 for the datum.
    """
    kept_branches, kept_nodes = set(branches), set(nodes)
    parameters: set[int] = set()
    for device in circuit.devices:
        for field in fields(device):
            name = getattr(device, field.name)
            if name in circuit.branch_of:
                kept_branches.add(circuit.branch_of[name])
            if name in circuit.parameter_of:
                parameters.add(circuit.parameter_of[name])
            if name in circuit.node_of and field.name in {"a", "b"}:
                kept_nodes.add(circuit.node(name))
    for entry in circuit.inputs.values():
        kept_nodes |= {circuit.node(entry.node), circuit.node(entry.ground)}
    for load in circuit.loads.values():
        kept_branches.add(circuit.branch_of[load.branch])
        parameters.add(circuit.parameter_of[load.volts])
    for b in kept_branches:
        kept_nodes |= set(np.flatnonzero(circuit.incidence[b]).tolist())
        parameters |= {int(links[b]) for links in (circuit.ohms_of, circuit.emf_of, circuit.amps_of)}
    return _kept(
        circuit,
        np.array(sorted(kept_nodes - {-1}), np.int64),
        np.array(sorted(kept_branches), np.int64),
        np.array(sorted(parameters - {-1}), np.int64),
    )


def _kept(circuit: Circuit, nodes: Ints, branches: Ints, parameters: Ints) -> Narrow:
    node_at = {int(n): i for i, n in enumerate(nodes)} | {-1: -1}
    parameter_at = {int(p): i for i, p in enumerate(parameters)} | {-1: -1}
    own_parameters = tuple(circuit.parameters[p] for p in parameters)
    own_branches = tuple(circuit.branches[b] for b in branches)

    def links(of: Ints) -> Ints:
        return np.array([parameter_at[int(p)] for p in of[branches]], np.int64)

    narrow = replace(
        circuit,
        node_of={name: node_at[n] for name, n in circuit.node_of.items() if n in node_at},
        node_names=tuple(circuit.node_names[n] for n in nodes),
        branches=own_branches,
        branch_of={b.key: i for i, b in enumerate(own_branches)},
        incidence=circuit.incidence[np.ix_(branches, nodes)],
        parameters=own_parameters,
        parameter_of={p.key: i for i, p in enumerate(own_parameters)},
        ohms_of=links(circuit.ohms_of),
        emf_of=links(circuit.emf_of),
        emf_sign=circuit.emf_sign[branches],
        amps_of=links(circuit.amps_of),
        nominal=circuit.nominal[parameters],
        spread=circuit.spread[parameters],
        logarithmic=circuit.logarithmic[parameters],
        ohms_map=circuit.ohms_map[np.ix_(branches, parameters)],
        uncertain=np.flatnonzero(circuit.spread[parameters] > 0),
        plans={},
    )
    return Narrow(narrow, nodes, branches, parameters)

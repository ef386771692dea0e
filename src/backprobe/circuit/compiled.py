"""A sheet compiled into arrays: nodes, branches, parameters, devices.

Axes used throughout: ``n`` nodes (the battery's negative post is the datum and has no
row), ``b`` branches, ``p`` parameters, ``d`` devices, ``c`` circuits of one batch.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from backprobe.circuit.eliminate import Plan
from backprobe.circuit.history import memories
from backprobe.sheet.anatomy import Branch, Device, Input, Load, Mode, Parameter
from backprobe.sheet.build import Anatomy, PartBuilder
from backprobe.sheet.kinds import registry
from backprobe.sheet.model import Part, Sheet
from backprobe.sheet.posts import source_posts

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

DATUM = "battery.-"


@dataclass(frozen=True, slots=True, eq=False)
class Circuit:
    """Arrays of one sheet.

    Parameters
    ----------
    incidence
        ``(b, n)``: +1 at the node where a branch begins, -1 where it ends.
    ohms_of, emf_of, amps_of
        ``(b,)`` index of the branch's parameters; -1 for none.
    nominal, spread
        ``(p,)`` best value [own unit] and standard deviation; of the natural logarithm for
        `logarithmic` parameters.
    """

    sheet: Sheet
    node_of: dict[str, int]
    node_names: tuple[str, ...]
    branches: tuple[Branch, ...]
    branch_of: dict[str, int]
    incidence: Floats
    parameters: tuple[Parameter, ...]
    parameter_of: dict[str, int]
    ohms_of: Ints
    emf_of: Ints
    emf_sign: Floats
    amps_of: Ints
    nominal: Floats
    spread: Floats
    logarithmic: Bools
    devices: tuple[Device, ...]
    device_of: dict[str, int]
    inputs: dict[str, Input]
    loads: dict[str, Load]
    modes: tuple[Mode, ...]
    ohms_map: Floats
    """``(b, p)``: 1 where a branch's resistance is that parameter."""
    uncertain: Ints = field(default_factory=lambda: np.zeros(0, np.int64))
    """Indices of the parameters with a tolerance."""
    plans: dict[bytes, Plan] = field(default_factory=dict)
    """Orders of elimination, by the branches of what is attached."""

    @property
    def size(self) -> int:
        """Number of nodes."""
        return int(self.incidence.shape[1])

    def node(self, terminal: str) -> int:
        """Index of a terminal's node; -1 for the datum."""
        return self.node_of[terminal]

    def coordinates(self, values: Floats) -> Floats:
        """Parameter values with the logarithmic ones as natural logarithms; same shape."""
        result: Floats = np.where(self.logarithmic, np.log(np.where(self.logarithmic, values, 1.0)), values)
        return result

    def pair(self, red: int, black: int) -> Floats:
        """``(n,)`` selector whose product with the node volts is red minus black."""
        selector = np.zeros(self.size)
        if red >= 0:
            selector[red] += 1
        if black >= 0:
            selector[black] -= 1
        return selector


class _Union:
    def __init__(self) -> None:
        self.parent: dict[str, str] = {}

    def find(self, x: str) -> str:
        self.parent.setdefault(x, x)
        while self.parent[x] != x:
            self.parent[x] = self.parent[self.parent[x]]
            x = self.parent[x]
        return x

    def join(self, a: str, b: str) -> None:
        ra, rb = self.find(a), self.find(b)
        if ra != rb:
            # The datum and the frame keep their own names.
            keep, drop = (rb, ra) if rb in {DATUM, "frame"} else (ra, rb)
            self.parent[drop] = keep


def compile_sheet(sheet: Sheet) -> Circuit:
    """Compile a sheet: every part is built by its kind, every run joins facing terminals."""
    plus, minus = source_posts({name: part.kind for name, part in sheet.parts.items()})
    met = frozenset(end for run in sheet.runs.values() for i in run.items for end in (i.enter, i.leave))
    anatomy = Anatomy(supply_node=plus, met=met)
    kinds = registry().by_name
    for part in sheet.parts.values():
        kinds[part.kind].build(PartBuilder(part, anatomy, sheet.system_volts))
    for connector in sheet.connectors.values():
        plug = Part(connector.name, "connector", texts={"cavities": " ".join(connector.cavities)})
        kinds["connector"].build(PartBuilder(plug, anatomy, sheet.system_volts))
    anatomy.devices |= {m.key: m for m in memories(sheet, anatomy.devices)}
    union = _Union()
    for run in sheet.runs.values():
        for one, other in zip(run.items, run.items[1:], strict=False):
            union.join(one.leave, other.enter)
    if minus != DATUM:
        union.join(minus, DATUM)
    names: dict[str, int] = {DATUM: -1}
    terminals: dict[str, int] = {}
    every = [e for b in anatomy.branches.values() for e in (b.a, b.b)]
    every += [*list(union.parent), "frame", "battery.+", DATUM]
    for terminal in every:
        root = union.find(terminal)
        if root not in names:
            names[root] = len(names) - 1
        terminals[terminal] = names[root]
    return _arrays(sheet, anatomy, terminals, tuple(n for n in names if n != DATUM))


def _arrays(sheet: Sheet, anatomy: Anatomy, node_of: dict[str, int], names: tuple[str, ...]) -> Circuit:
    branches = tuple(anatomy.branches.values())
    parameters = tuple(anatomy.parameters.values())
    index = {p.key: i for i, p in enumerate(parameters)}
    incidence = np.zeros((len(branches), len(names)))
    for i, branch in enumerate(branches):
        for node, sign in ((node_of[branch.a], 1.0), (node_of[branch.b], -1.0)):
            if node >= 0:
                incidence[i, node] += sign
    ohms_of = np.array([index[b.ohms] for b in branches], np.int64)
    emf_of = np.array([index[b.emf] if b.emf else -1 for b in branches], np.int64)
    amps_of = np.array([index[b.amps] if b.amps else -1 for b in branches], np.int64)
    logarithmic = np.array([p.logarithmic for p in parameters])
    spread = np.array([p.value.log_spread if p.logarithmic else p.value.spread for p in parameters])
    ohms_map = np.zeros((len(branches), len(parameters)))
    ohms_map[np.arange(len(branches)), ohms_of] = 1.0
    return Circuit(
        sheet=sheet,
        node_of=node_of,
        node_names=names,
        branches=branches,
        branch_of={b.key: i for i, b in enumerate(branches)},
        incidence=incidence,
        parameters=parameters,
        parameter_of=index,
        ohms_of=ohms_of,
        emf_of=emf_of,
        emf_sign=np.array([b.emf_sign for b in branches]),
        amps_of=amps_of,
        nominal=np.array([p.value.nominal for p in parameters]),
        spread=spread,
        logarithmic=logarithmic,
        devices=tuple(anatomy.devices.values()),
        device_of={k: i for i, k in enumerate(anatomy.devices)},
        inputs=anatomy.inputs,
        loads=anatomy.loads,
        modes=tuple(anatomy.modes),
        ohms_map=ohms_map,
        uncertain=np.flatnonzero(spread > 0),
    )

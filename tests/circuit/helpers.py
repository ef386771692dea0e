"""A bench: circuits put together from bare primitives, and two independent ways to solve them.

Sheets imply wires, lugs and straps, which would disturb a textbook circuit by some
milliohms. Here a circuit holds what is put in and nothing else, but for the leak that
the solver adds at every node; the exact oracle adds the same leak.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np

from backprobe.circuit.compiled import DATUM, Circuit, _arrays, compile_sheet
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import Attachment, make_setup
from backprobe.circuit.solve import Solution
from backprobe.circuit.stage import Stage, make_stage
from backprobe.sheet.anatomy import (
    LEAK_TO_CHASSIS,
    Branch,
    Device,
    Gate,
    InMode,
    Junction,
    Limiter,
    Parameter,
    Value,
)
from backprobe.sheet.build import Anatomy
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet

GROUND = DATUM
STIFF = 1e-6
"""Resistance of a source that a textbook calls ideal [ohm]; the exact oracle has it too."""


@dataclass(frozen=True, slots=True)
class Element:
    """What the oracles read: a resistance with a source in series, driving `b` above `a`."""

    name: str
    a: str
    b: str
    ohms: float
    volts: float = 0.0


@dataclass(slots=True)
class Bench:
    """Collects branches and devices; the node called ``0`` is the datum."""

    anatomy: Anatomy = field(default_factory=Anatomy)
    elements: dict[str, Element] = field(default_factory=dict)

    def number(self, key: str, nominal: float, unit: str) -> str:
        """Register a number without tolerance."""
        self.anatomy.parameters[key] = Parameter(
            key, "bench", Value(nominal, nominal, nominal, unit), unit == "ohm"
        )
        return key

    def resistor(self, name: str, a: str, b: str, ohms: float, *gates: Gate) -> None:
        """A resistance [ohm]."""
        self._branch(name, a, b, ohms, 0.0, *gates)

    def source(self, name: str, plus: str, minus: str, volts: float, ohms: float = STIFF) -> None:
        """A source [V] with its own resistance [ohm]."""
        self._branch(name, minus, plus, ohms, volts)

    def diode(self, name: str, anode: str, cathode: str, volts: float, ohms: float) -> None:
        """A junction: above `volts` [V] its drop grows by `ohms` [ohm]."""
        key = self.number(f"{name} volts", volts, "V")
        slope = self.number(f"{name} ohms", ohms, "ohm")
        self.anatomy.branches[name] = Branch(
            name, "bench", _node(anode), _node(cathode), slope, key, -1.0, (InMode(name),)
        )
        self.elements[name] = Element(name, _node(anode), _node(cathode), ohms, -volts)
        self.device(Junction(name, name))

    def feed(self, name: str, plus: str, minus: str, volts: float, ohms: float, amps: float) -> None:
        """A regulated feed [V], [ohm] that gives `amps` [A] at most."""
        limit = self.number(f"{name} limit", amps, "A")
        emf = self.number(f"{name} volts", volts, "V")
        inner = self.number(f"{name} ohms", ohms, "ohm")
        wide = self.number(f"{name} limited ohms", 1e6, "ohm")
        a, b = _node(minus), _node(plus)
        self.anatomy.branches[name] = Branch(
            name, "bench", a, b, inner, emf, 1.0, (InMode(f"{name} limiting", inverted=True),)
        )
        self.anatomy.branches[f"{name} limited"] = Branch(
            f"{name} limited", "bench", a, b, wide, gates=(InMode(f"{name} limiting"),), amps=limit
        )
        self.device(Limiter(f"{name} limiting", name, f"{name} limited", limit, emf))

    def device(self, device: Device) -> None:
        """A device whose mode follows from the circuit."""
        self.anatomy.devices[device.key] = device

    def _branch(self, name: str, a: str, b: str, ohms: float, volts: float, *gates: Gate) -> None:
        key = self.number(f"{name} ohms", ohms, "ohm")
        emf = self.number(f"{name} volts", volts, "V") if volts else ""
        self.anatomy.branches[name] = Branch(name, "bench", _node(a), _node(b), key, emf, 1.0, gates)
        self.elements[name] = Element(name, _node(a), _node(b), ohms, volts)

    def circuit(self) -> Circuit:
        """The circuit as the solver takes it."""
        names = dict.fromkeys(n for b in self.anatomy.branches.values() for n in (b.a, b.b) if n != GROUND)
        node_of = {GROUND: -1} | {n: i for i, n in enumerate(names)}
        return _arrays(Sheet("bench", 12.0, {}, {}, {}, {}, {}), self.anatomy, node_of, tuple(names))

    def stage(self, *attached: Attachment) -> Stage:
        """The circuit with things attached."""
        circuit = self.circuit()
        return make_stage(circuit, make_setup(circuit.sheet, attached=attached))

    def solve(self, *attached: Attachment) -> Solution:
        """The circuit, solved in full at its nominal values."""
        stage = self.stage(*attached)
        return solve_full(stage, stage.circuit.nominal[None])


def _node(name: str) -> str:
    return GROUND if name == "0" else name


def volts(solution: Solution, a: str, b: str = "0") -> float:
    """Volts from `a` to `b` of the only circuit [V]."""
    return float(solution.across(_node(a), _node(b))[0])


def amps(solution: Solution, branch: str) -> float:
    """Current of the only circuit through a branch, from its beginning to its end [A]."""
    return float(solution.through(branch)[0])


def resistor_at(a: str, b: str, ohms: float) -> Attachment:
    """A meter or a load held between two nodes [ohm]."""
    return Attachment("resistor", _node(a), _node(b), ohms)


def exact_volts(elements: Iterable[Element], leak: float = LEAK_TO_CHASSIS) -> dict[str, Fraction]:
    """Node volts by nodal analysis in rational numbers: no rounding anywhere [V].

    Textbook Gauss-Jordan elimination; `leak` [S] is joined from every node to the datum.
    """
    elements = list(elements)
    names = list(dict.fromkeys(n for e in elements for n in (e.a, e.b) if n != GROUND))
    at = {n: i for i, n in enumerate(names)}
    size = len(names)
    rows = [[Fraction(0)] * (size + 1) for _ in names]
    for i in range(size):
        rows[i][i] += Fraction(leak)
    for e in elements:
        siemens = 1 / Fraction(e.ohms)
        for one, other, sign in ((e.a, e.b, -1), (e.b, e.a, 1)):
            if one == GROUND:
                continue
            rows[at[one]][at[one]] += siemens
            rows[at[one]][size] += sign * siemens * Fraction(e.volts)
            if other != GROUND:
                rows[at[one]][at[other]] -= siemens
    for i in range(size):
        pivot = next(r for r in range(i, size) if rows[r][i])
        rows[i], rows[pivot] = rows[pivot], rows[i]
        head = rows[i][i]
        rows[i] = [x / head for x in rows[i]]
        for r in range(size):
            if r != i and rows[r][i]:
                share = rows[r][i]
                rows[r] = [x - share * y for x, y in zip(rows[r], rows[i], strict=True)]
    return {GROUND: Fraction(0)} | {n: rows[i][size] for n, i in at.items()}


def exact_amps(element: Element, found: Mapping[str, Fraction]) -> Fraction:
    """Current through an element from `a` to `b`, from exact node volts [A]."""
    return (found[element.a] - found[element.b] + Fraction(element.volts)) / Fraction(element.ohms)


def worst(solution: Solution, exact: Mapping[str, Fraction], row: int = 0) -> float:
    """Greatest distance of a solved circuit's node volts from the exact ones [V]."""
    circuit = solution.stage.circuit
    return max(
        abs(float(Fraction(float(solution.volts[row, circuit.node(n)])) - v))
        for n, v in exact.items()
        if n != GROUND
    )


def solve_sheet(
    text: str, state: Mapping[str, str] | None = None, *attached: Attachment, unplugged: Iterable[str] = ()
) -> Solution:
    """A sheet's text, solved at its nominal values in one setup."""
    circuit = compile_sheet(parse_sheet(text))
    stage = make_stage(circuit, make_setup(circuit.sheet, state, frozenset(unplugged), tuple(attached)))
    return solve_full(stage, circuit.nominal[None])


def mode(solution: Solution, device: str) -> bool:
    """Mode of a device in the only circuit."""
    return bool(solution.modes[0, solution.stage.circuit.device_of[device]])


def alternating(solution: Solution) -> set[str]:
    """Devices that do not come to rest in the only circuit."""
    keys = np.array([d.key for d in solution.stage.circuit.devices])
    return set(keys[solution.alternating[0]].tolist())

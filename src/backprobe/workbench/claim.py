"""A proposed cure as a value: what would be joined, unplugged, fitted, fixed or put right."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from backprobe.circuit.compiled import Circuit, Floats
from backprobe.circuit.setup import Attachment, Setup
from backprobe.circuit.stage import Stage, make_stage
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import guard_shut, operator_states, try_states
from backprobe.sheet.anatomy import AtPosition, Attached, WhilePlugged
from backprobe.sheet.functions import inputs_of
from backprobe.sheet.logic import atoms, parse_rule
from backprobe.sheet.model import Sheet

RESISTOR_WATTS = 0.25
"""What a small resistor bears unless its claim says more [W]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Cure:
    """One meaning of a claim.

    Parameters
    ----------
    words
        What would be done, in plain words.
    kind
        ``join``, ``resistor``, ``source``, ``unplug``, ``fix``, ``cut``, ``repair``, ``fit``, ``fuse``,
        ``reset``, ``not fitted`` or ``behind``: not drawn, and asked only once a relay clicks.
    attached, unplugged
        What is put between points, and what is taken off.
    fixed
        Sensors and switches that are held where they release, whatever their guard does.
    repairs, fitted
        Faults (``part: mode``) that the cure takes away, and one that it brings; empty for none.
    values
        Parameters that it changes, each with its new value [own unit].
    lasting
        Whether it is left in place; else it is done for a moment and put back.
    state
        Operator positions that the claim names; it is judged only where they hold.
    watts
        What its resistor bears [W].
    touches
        Points that it is held to, as the sheet names them.
    warns
        What is said against it beforehand, such as that a fuse no longer guards its wire.
    minds
        What to mind while it is done.
    called
        What is said first where the claim calls a part by what it is not, such as a sensor a switch.
    """

    words: str
    kind: str
    attached: tuple[Attachment, ...] = ()
    unplugged: frozenset[str] = frozenset()
    fixed: tuple[str, ...] = ()
    repairs: frozenset[str] = frozenset()
    fitted: str = ""
    values: tuple[tuple[str, float], ...] = ()
    lasting: bool = True
    state: tuple[tuple[str, str], ...] = ()
    watts: float = RESISTOR_WATTS
    touches: tuple[str, ...] = ()
    warns: tuple[str, ...] = ()
    minds: tuple[str, ...] = ()
    called: str = ""

    @property
    def mends(self) -> bool:
        """Whether it only takes faults away, as a repair does."""
        return self.kind == "repair" and bool(self.repairs)

    def meets(self, setup: Setup) -> bool:
        """Whether a setup is one that the claim speaks of."""
        return set(self.state) <= set(setup.state)

    def setup(self, state: Setup) -> Setup:
        """The operator state with what the cure unplugs and attaches."""
        return Setup(state.state, state.unplugged | self.unplugged, (*state.attached, *self.attached))

    def changed(self, circuit: Circuit, values: Floats) -> Floats:
        """Parameter values ``(c, p)`` once the cure has changed its own."""
        result = values.copy()
        for key, value in self.values:
            result[:, circuit.parameter_of[key]] = value
        if self.fitted:
            mode = next(m for m in circuit.modes if m.name == self.fitted)
            for key, grid in mode.changes.items():
                result[:, circuit.parameter_of[key]] = grid[len(grid) // 2]
        return result


class Guarded:
    """Which parts of a sheet tell where people are, and the cavities that their signals pass.

    Parameters
    ----------
    engine
        The engine of the sheet.
    clicks
        Relay to whether it clicked, as far as that was read.
    """

    def __init__(self, engine: Engine, clicks: Mapping[str, bool] | None = None) -> None:
        self.engine, self.clicks = engine, dict(clicks or {})
        self.circuit = engine.circuit
        self.sheet: Sheet = engine.sheet
        self.controls = frozenset(
            a.subject
            for f in self.sheet.functions.values()
            if f.guard
            for a in atoms(parse_rule(f.guard))
            if a.subject in self.sheet.controls
        )
        """Operator controls that a guard speaks of."""

    @cached_property
    def moved_by(self) -> dict[str, tuple[str, ...]]:
        """Sensor or switch to the controls of a guard that move it, in the order of the sheet."""
        found: dict[str, dict[str, None]] = {}
        for branch in self.circuit.branches:
            for gate in branch.gates:
                if isinstance(gate, AtPosition) and gate.control in self.controls:
                    found.setdefault(branch.owner, {}).setdefault(gate.control)
        return {n: tuple(found[n]) for n in self.sheet.parts if n in found}

    @property
    def parts(self) -> tuple[str, ...]:
        """Sensors and switches that a guard's controls move, in the order of the sheet."""
        return tuple(self.moved_by)

    @cached_property
    def operated(self) -> frozenset[str]:
        """Parts that some control of the operator moves."""
        gates = ((b.owner, g) for b in self.circuit.branches for g in b.gates)
        return frozenset(owner for owner, g in gates if isinstance(g, AtPosition))

    @cached_property
    def told(self) -> bool:
        """Whether a controller lets guarded functions go; else switches and relays do it by themselves."""
        return any(f.guard and f.releases for f in self.sheet.functions.values())

    @cached_property
    def plugs(self) -> tuple[str, ...]:
        """Plugs of those parts; every plug of the sheet where none is known to be theirs."""
        own = tuple(c.name for c in self.sheet.connectors.values() if c.part in self.parts)
        return own or tuple(self.sheet.connectors)

    @cached_property
    def cavities(self) -> frozenset[str]:
        """Cavities of those plugs, and on the way from those parts to what reads them; none for no guard."""
        if not self.controls:
            return frozenset()
        found = {c for p in self.plugs for c in self.sheet.connectors[p].cavities}
        for run in self.sheet.runs.values():
            owners = {i.part for i in run.items}
            if owners & set(self.parts):
                found |= {i.part for i in run.items if i.role == "cavity"}
        return frozenset(found)

    @cached_property
    def inputs(self) -> frozenset[str]:
        """Controller inputs that release a guarded function."""
        named = inputs_of(self.sheet)
        rules = [f.releases for f in self.sheet.functions.values() if f.guard and f.releases]
        return frozenset(a.subject for r in rules for a in atoms(parse_rule(r)) if a.subject in named)

    @cached_property
    def released_at(self) -> dict[str, str]:
        """Control to the position in which the sound machine releases: guards shut, most things working."""
        best = try_states(self.engine, every=False).best
        if best is None:
            functions = self.sheet.functions.values()
            shut = (s for s in operator_states(self.sheet) if all(guard_shut(f, s) for f in functions))
            best = next(shut, None)
        return dict(best.state) if best else {}

    def touched(self, cure: Cure) -> tuple[str, ...]:
        """Guard cavities and guard parts that a cure joins, feeds, holds fast or cuts off."""
        points = {p.removesuffix(".machine").removesuffix(".part") for p in _ends(cure)}
        points |= set(cure.touches) if cure.kind == "cut" else set()
        owners = {p.rpartition(".")[0] for p in _ends(cure)}
        near = [c for c in sorted(self.cavities) if c in points]
        near += [p for p in self.parts if p in owners or p in cure.fixed or p in points]
        return tuple(near)


def _ends(cure: Cure) -> Iterator[str]:
    for a in cure.attached:
        yield from (a.red, a.black)


def stage_of(circuit: Circuit, cure: Cure, state: Setup, released: dict[str, str]) -> Stage:
    """The circuit in an operator state with the cure done.

    Parameters
    ----------
    released
        Where controls stand when the machine is released; what is fixed stays as it is there.
    """
    return _fixed(make_stage(circuit, cure.setup(state)), cure.fixed, released)


def _fixed(stage: Stage, parts: tuple[str, ...], released: dict[str, str]) -> Stage:
    """The stage with the branches of some parts held as they are in the released position."""
    if not parts:
        return stage
    state = dict(stage.setup.state) | released
    held = {a.red for a in stage.setup.attached if a.kind == "target"}
    opened = stage.open_always.copy()
    for i, branch in enumerate(stage.circuit.branches):
        if branch.owner not in parts:
            continue
        opened[i] = False
        for gate in branch.gates:
            match gate:
                case AtPosition(control, positions, inverted):
                    opened[i] |= (state.get(control) in positions) == inverted
                case WhilePlugged(name):
                    opened[i] |= name in stage.setup.unplugged
                case Attached(name, inverted):
                    opened[i] |= (name in held) == inverted
    before = None if stage.before is None else _fixed(stage.before, parts, released)
    return replace(stage, open_always=opened, before=before, cache={})


def repaired(circuit: Circuit, cure: Cure, values: Floats, faults: list[tuple[str, ...]]) -> Floats:
    """Values ``(c, p)`` of faulty circuits once the cure is done.

    Parameters
    ----------
    faults
        For each circuit the faults (``part: mode``) that it has.
    """
    result = values.copy()
    grids = {m.name: m.changes for m in circuit.modes}
    for row, names in enumerate(faults):
        for name in names:
            if name in cure.repairs:
                for key in grids[name]:
                    k = circuit.parameter_of[key]
                    result[row, k] = circuit.nominal[k]
        for name in names:
            # What another fault of the same circuit changed as well stays changed.
            if name not in cure.repairs and cure.repairs & set(names):
                keys = [circuit.parameter_of[key] for key in grids[name]]
                result[row, keys] = values[row, keys]
    return cure.changed(circuit, np.asarray(result, np.float64))

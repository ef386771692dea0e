"""Iterate modes, controller logic and circuit until they agree, or say what alternates.

Fast devices (diodes, limiters, supply thresholds) follow the circuit at once. Slow ones
(relays, controller outputs, fuses) move one step at a time from the state before, as they
do in the machine; a circuit that keeps moving *chatters*.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Bools, Circuit, Floats
from backprobe.circuit.stage import Stage
from backprobe.sheet.anatomy import FAST, Driven, Input, Junction, Limiter, Melter, Puller, Supplied
from backprobe.sheet.logic import Algebra, Is, evaluate, parse_rule

ARRAYS: Algebra[Bools] = Algebra(np.logical_not, np.logical_and, np.logical_or)
FAST_ROUNDS = 40
TOGETHER_ROUNDS = 6
"""Rounds in which all fast devices may flip together before they flip one at a time."""


@dataclass(slots=True)
class Electrical:
    """Volts and currents of a batch, as modes are judged by."""

    values: Floats
    volts: Floats
    currents: Floats


Solver = Callable[[Bools, np.ndarray], Electrical]
"""Solves the circuits at the given row numbers with the given modes ``(rows, d)``."""


def start_modes(circuit: Circuit, count: int) -> Bools:
    """``(c, d)`` modes before anything is energised; supplies are taken as present."""
    modes = np.zeros((count, len(circuit.devices)), bool)
    for i, device in enumerate(circuit.devices):
        if isinstance(device, Supplied):
            modes[:, i] = True
    return modes


@dataclass(slots=True)
class Settled:
    """The outcome of `settle`: modes ``(c, d)``, and which circuits chatter, with what."""

    modes: Bools
    chatters: Bools
    alternating: Bools


def settle(stage: Stage, count: int, solver: Solver, modes: Bools | None = None) -> Settled:
    """Find consistent modes for `count` circuits.

    Parameters
    ----------
    solver
        Called with modes and row numbers of the circuits still moving.
    modes
        Modes to start from; by default `start_modes`.
    """
    circuit = stage.circuit
    current = start_modes(circuit, count) if modes is None else modes.copy()
    fast = [i for i, d in enumerate(circuit.devices) if isinstance(d, FAST)]
    slow = [i for i, d in enumerate(circuit.devices) if not isinstance(d, FAST)]
    moving = np.arange(count)
    alternating = np.zeros_like(current)
    rounds = 4 + 2 * len(slow)
    for step in range(rounds):
        electrical = _settle_fast(stage, current, moving, solver, fast)
        if not slow or not moving.size:
            moving = moving[:0]
            break
        wanted = _wanted_slow(stage, current[moving], electrical, slow)
        changed = wanted != current[np.ix_(moving, slow)]
        current[np.ix_(moving, slow)] = wanted
        rows = changed.any(axis=1)
        if step >= rounds - 4:
            alternating[np.ix_(moving, slow)] |= changed
        moving = moving[rows]
        if not moving.size:
            break
    chatters = np.zeros(count, bool)
    chatters[moving] = True
    alternating[~chatters] = False
    return Settled(current, chatters, alternating)


def _settle_fast(
    stage: Stage, current: Bools, rows: np.ndarray, solver: Solver, fast: list[int]
) -> Electrical:
    """Settle fast devices of the given rows in place; returns the electrical state of all of them."""
    electrical = solver(current[rows], rows)
    if not fast:
        return electrical
    active = np.arange(rows.size)
    for step in range(FAST_ROUNDS):
        part = Electrical(electrical.values[active], electrical.volts[active], electrical.currents[active])
        have = current[np.ix_(rows[active], fast)]
        wanted = _wanted_fast(stage, current[rows[active]], part, fast)
        wrong = wanted != have
        bad = wrong.any(axis=1)
        if not bad.any():
            break
        if step >= TOGETHER_ROUNDS:
            first = wrong.argmax(axis=1)
            only = np.zeros_like(wrong)
            only[np.arange(len(wrong)), first] = True
            wanted = np.where(only & wrong, wanted, have)
        active, wanted = active[bad], wanted[bad]
        current[np.ix_(rows[active], fast)] = wanted
        fresh = solver(current[rows[active]], rows[active])
        electrical.volts[active], electrical.currents[active] = fresh.volts, fresh.currents
    return electrical


def _across(circuit: Circuit, volts: Floats, a: str, b: str) -> Floats:
    def at(terminal: str) -> Floats:
        node = circuit.node(terminal)
        return volts[:, node] if node >= 0 else np.zeros(volts.shape[0])

    return at(a) - at(b)


def _wanted_fast(stage: Stage, modes: Bools, e: Electrical, fast: list[int]) -> Bools:
    circuit = stage.circuit
    wanted = np.empty((modes.shape[0], len(fast)), bool)
    for k, i in enumerate(fast):
        device = circuit.devices[i]
        have = modes[:, i]
        match device:
            case Junction(_, branch):
                b = circuit.branch_of[branch]
                drop = e.values[:, circuit.emf_of[b]]
                forward = _across(circuit, e.volts, circuit.branches[b].a, circuit.branches[b].b) > drop
                wanted[:, k] = np.where(have, e.currents[:, b] > 0, forward)
            case Limiter(_, branch, _, amps, volts):
                b = circuit.branch_of[branch]
                limit = e.values[:, circuit.parameter_of[amps]]
                kept = e.values[:, circuit.parameter_of[volts]]
                out = _across(circuit, e.volts, circuit.branches[b].b, circuit.branches[b].a)
                wanted[:, k] = np.where(have, out < kept, e.currents[:, b] > limit)
            case Supplied(_, a, other, floor):
                level = e.values[:, circuit.parameter_of[floor]]
                wanted[:, k] = _across(circuit, e.volts, a, other) >= level
            case _:
                raise TypeError(type(device).__name__)
    return wanted


def _wanted_slow(stage: Stage, modes: Bools, e: Electrical, slow: list[int]) -> Bools:
    circuit = stage.circuit
    wanted = np.empty((modes.shape[0], len(slow)), bool)
    for k, i in enumerate(slow):
        device = circuit.devices[i]
        have = modes[:, i]
        match device:
            case Puller(_, a, b, pull_in, drop_out):
                volts = np.abs(_across(circuit, e.volts, a, b))
                pull = e.values[:, circuit.parameter_of[pull_in]]
                drop = e.values[:, circuit.parameter_of[drop_out]]
                wanted[:, k] = np.where(have, volts > drop, volts >= pull)
            case Melter(_, branch, amps):
                through = np.abs(e.currents[:, circuit.branch_of[branch]])
                wanted[:, k] = have | (through > e.values[:, circuit.parameter_of[amps]])
            case Driven(_, output, powered):
                on = released_output(stage, output, modes, e.volts)
                wanted[:, k] = on & modes[:, circuit.device_of[powered]] if powered else on
            case _:
                raise TypeError(type(device).__name__)
    return wanted


def released_output(stage: Stage, output: str, modes: Bools, volts: Floats) -> Bools:
    """``(c,)``: whether any function that drives this output is released."""
    on = np.zeros(volts.shape[0], bool)
    for function in stage.circuit.sheet.functions.values():
        if output in function.drives:
            on |= rule_truth(stage, function.releases, modes, volts)
    return on


def rule_truth(stage: Stage, rule: str, modes: Bools, volts: Floats) -> Bools:
    """``(c,)``: truth of a rule; an empty rule is always true."""
    count = volts.shape[0]
    if not rule:
        return np.ones(count, bool)
    return evaluate(parse_rule(rule), lambda atom: _atom(stage, atom, modes, volts), ARRAYS)


def input_of(circuit: Circuit, name: str) -> Input | None:
    """A controller input by its plain name (without the controller's)."""
    return next((i for k, i in circuit.inputs.items() if k.partition(".")[2] == name), None)


def _atom(stage: Stage, atom: Is, modes: Bools, volts: Floats) -> Bools:
    circuit = stage.circuit
    entry = input_of(circuit, atom.subject)
    if entry is None:
        return np.full(volts.shape[0], stage.setup.position(atom.subject) == atom.meaning)
    level = _across(circuit, volts, entry.node, entry.ground)
    inside = np.zeros(volts.shape[0], bool)
    for band in entry.bands:
        if band.meaning == atom.meaning:
            inside |= (level >= band.low) & (level < band.high)
    return inside & modes[:, circuit.device_of[entry.powered]] if entry.powered else inside

"""Iterate modes, controller logic and circuit until they agree, or say what alternates.

Fast devices (diodes, limiters, supply thresholds) follow the circuit at once. Slow ones
(relays, controller outputs, fuses) move one step at a time from the state before, as they
do in the machine; a circuit that keeps moving *chatters*.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

import numpy as np

from backprobe.circuit.compiled import Bools, Circuit, Floats, Ints
from backprobe.circuit.history import memory_key
from backprobe.sheet.anatomy import (
    FAST,
    Driven,
    Idle,
    Input,
    Junction,
    Limiter,
    Melter,
    Memory,
    Puller,
    Supplied,
    Tripper,
)
from backprobe.sheet.functions import OPEN_LOAD, OVER_CURRENT
from backprobe.sheet.latches import SET
from backprobe.sheet.logic import Algebra, Is, evaluate, parse_rule

ARRAYS: Algebra[Bools] = Algebra(np.logical_not, np.logical_and, np.logical_or)
FAST_ROUNDS = 40
HEAT = 1.3
"""A sound winding may have this much more resistance than nominal and still pull as its volts say [1]."""
TOGETHER_ROUNDS = 6
"""Rounds in which all fast devices may flip together before they flip one at a time."""
LOOK_BACK = 8
"""Last rounds whose flips say which fast devices never come to rest."""


@dataclass(slots=True)
class Electrical:
    """Volts and currents of a batch, as modes are judged by."""

    values: Floats
    volts: Floats
    currents: Floats


class Placed(Protocol):
    """A batch of one circuit, each row in some setup."""

    @property
    def circuit(self) -> Circuit:
        """The circuit."""

    def stands(self, control: str, position: str) -> bool | Bools:
        """Whether a control stands so: in all rows, or ``(c,)`` row by row."""

    def at(self, rows: Ints) -> Placed:
        """The same for some of the rows."""


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


class _Trail:
    """What circuits were like, round by round.

    The next round follows from the state alone. A circuit that returns to a state therefore goes
    round for ever, and what it will be like in any later round is known without solving it again.
    """

    def __init__(self) -> None:
        self.states: list[Bools] = []

    def append(self, state: Bools) -> None:
        """Keep the state ``(rows, d)`` of all circuits at the beginning of a round."""
        self.states.append(state.copy())

    def returned(self, rows: Ints) -> tuple[Ints, Ints]:
        """Which of the rows stand in a state they were in before, and in which round that was."""
        now = self.states[-1][rows]
        first = np.full(rows.size, -1, np.int64)
        for k in range(len(self.states) - 2, -1, -1):
            first[(self.states[k][rows] == now).all(axis=1)] = k
        back = first >= 0
        return rows[back], first[back]

    def at(self, rounds: Ints, rows: Ints) -> Bools:
        """``(rows, d)`` states of circuits, each in a round of its own."""
        result: Bools = np.stack(self.states)[rounds, rows]
        return result


def _repeated(late: int, first: Ints, now: int) -> Ints:
    """The round before `now` that round `late` repeats, in circuits that are as they were in `first`."""
    return first + (late - first) % (now - first)


def fast_and_slow(circuit: Circuit) -> tuple[Ints, Ints]:
    """Numbers of the fast devices, and of the slow ones."""
    is_fast = np.array([isinstance(d, FAST) for d in circuit.devices], bool)
    return np.flatnonzero(is_fast), np.flatnonzero(~is_fast)


def settle(
    stage: Placed, count: int, solver: Solver, modes: Bools | None = None, course: list[Bools] | None = None
) -> Settled:
    """Find consistent modes for `count` circuits.

    Parameters
    ----------
    solver
        Called with modes and row numbers of the circuits still moving.
    modes
        Modes to start from; by default `start_modes`.
    course
        Gains the modes ``(c, d)`` at the end of each round.
    """
    circuit = stage.circuit
    current = start_modes(circuit, count) if modes is None else modes.copy()
    fast, slow = fast_and_slow(circuit)
    moving = np.arange(count)
    alternating = np.zeros_like(current)
    restless = np.zeros_like(current)
    chatters = np.zeros(count, bool)
    rounds = 4 + 2 * len(slow)
    before, moves, unrest = _Trail(), _Trail(), _Trail()
    for now in range(rounds):
        before.append(current)
        again, first = before.returned(moving)
        if again.size:
            current[again] = before.at(_repeated(rounds, first, now), again)
            restless[again] = unrest.at(_repeated(rounds - 1, first, now), again)
            for late in range(rounds - 4, rounds):
                alternating[again] |= moves.at(_repeated(late, first, now), again)
            chatters[again] = True
            moving = np.setdiff1d(moving, again)
        if not moving.size:
            break
        electrical, restless[np.ix_(moving, fast)] = _settle_fast(stage, current, moving, solver, fast)
        unrest.append(restless)
        if course is not None:
            course.append(current.copy())
        if not slow.size:
            moving = moving[:0]
            break
        wanted = wanted_slow(stage.at(moving), current[moving], electrical, slow)
        changed = wanted != current[np.ix_(moving, slow)]
        current[np.ix_(moving, slow)] = wanted
        move = np.zeros_like(current)
        move[np.ix_(moving, slow)] = changed
        moves.append(move)
        moving = moving[changed.any(axis=1)]
    for move in moves.states[-4:]:
        alternating[moving] |= move[moving]
    chatters[moving] = True
    # A sensor that starves as soon as it works never comes to rest, though it is fast.
    return Settled(current, chatters | restless.any(axis=1), alternating | restless)


def _settle_fast(
    stage: Placed, current: Bools, rows: Ints, solver: Solver, fast: Ints
) -> tuple[Electrical, Bools]:
    """Settle fast devices of the given rows in place.

    Returns the electrical state of all rows, and which fast devices ``(rows, fast)`` still flip.
    """
    electrical = solver(current[rows], rows)
    flipping = np.zeros((rows.size, len(fast)), bool)
    if not fast.size:
        return electrical, flipping
    active = np.arange(rows.size)
    trail = _Trail()
    gone_round: list[Ints] = []
    for step in range(FAST_ROUNDS):
        if step >= TOGETHER_ROUNDS:
            trail.append(current[np.ix_(rows, fast)])
            again, first = trail.returned(active)
            if again.size:
                now, end = step - TOGETHER_ROUNDS, FAST_ROUNDS - TOGETHER_ROUNDS
                late = [trail.at(_repeated(end - k, first, now), again) for k in range(LOOK_BACK + 1)]
                current[np.ix_(rows[again], fast)] = late[0]
                for one, other in pairwise(late):
                    flipping[again] |= one != other
                gone_round.append(again)
                active = np.setdiff1d(active, again)
        part = Electrical(electrical.values[active], electrical.volts[active], electrical.currents[active])
        have = current[np.ix_(rows[active], fast)]
        wanted = wanted_fast(stage, current[rows[active]], part, fast)
        wrong = wanted != have
        bad = wrong.any(axis=1)
        flipping[active[~bad]] = False
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
        if step >= FAST_ROUNDS - LOOK_BACK:
            flipping[active] |= wanted != have[bad]
    if gone_round:
        again = np.concatenate(gone_round)
        fresh = solver(current[rows[again]], rows[again])
        electrical.volts[again], electrical.currents[again] = fresh.volts, fresh.currents
    return electrical, flipping


def _across(circuit: Circuit, volts: Floats, a: str, b: str) -> Floats:
    def at(terminal: str) -> Floats:
        node = circuit.node(terminal)
        return volts[:, node] if node >= 0 else np.zeros(volts.shape[0])

    return at(a) - at(b)


def effective_volts(circuit: Circuit, branch: str, volts: Floats, currents: Floats) -> Floats:
    """``(c,)`` volts across a winding, or what its current would need across a sound one if less [V]."""
    b = circuit.branch_of[branch]
    across = np.abs(volts @ circuit.incidence[b])
    needed = np.abs(currents[:, b]) * circuit.nominal[circuit.ohms_of[b]]
    result: Floats = np.minimum(across, needed * HEAT)
    return result


def wanted_fast(stage: Placed, modes: Bools, e: Electrical, fast: Ints) -> Bools:
    """``(c, fast)`` modes that the fast devices should be in, given volts and currents."""
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


def wanted_slow(stage: Placed, modes: Bools, e: Electrical, slow: Ints) -> Bools:
    """``(c, slow)`` modes that the slow devices go to next, given volts and currents."""
    circuit = stage.circuit
    wanted = np.empty((modes.shape[0], len(slow)), bool)
    for k, i in enumerate(slow):
        device = circuit.devices[i]
        have = modes[:, i]
        match device:
            case Puller(_, branch, pull_in, drop_out):
                volts = effective_volts(circuit, branch, e.volts, e.currents)
                pull = e.values[:, circuit.parameter_of[pull_in]]
                drop = e.values[:, circuit.parameter_of[drop_out]]
                wanted[:, k] = np.where(have, volts > drop, volts >= pull)
            case Melter(_, branch, amps) | Tripper(_, branch, amps):
                through = np.abs(e.currents[:, circuit.branch_of[branch]])
                wanted[:, k] = have | (through > e.values[:, circuit.parameter_of[amps]])
            case Idle(_, branch, amps):
                through = np.abs(e.currents[:, circuit.branch_of[branch]])
                wanted[:, k] = through < e.values[:, circuit.parameter_of[amps]]
            case Driven(_, output, powered):
                on = released_output(stage, output, modes, e.volts)
                wanted[:, k] = on & modes[:, circuit.device_of[powered]] if powered else on
            case Memory(_, latch, powered):
                rules = circuit.sheet.latches[latch]
                kept = have | rule_truth(stage, rules.sets, modes, e.volts)
                kept &= ~rule_truth(stage, rules.clears, modes, e.volts)
                wanted[:, k] = kept & modes[:, circuit.device_of[powered]] if powered else kept
            case _:
                raise TypeError(type(device).__name__)
    swift = np.array([isinstance(circuit.devices[i], Tripper) for i in slow], bool)
    if swift.any():
        # A driver shuts down in microseconds: nothing melts in the step in which one does.
        tripping = np.any((wanted & ~modes[:, slow])[:, swift], axis=1, keepdims=True)
        melting = np.array([isinstance(circuit.devices[i], Melter) for i in slow], bool)
        wanted = np.where(tripping & melting, modes[:, slow], wanted)
    return wanted


def released_output(stage: Placed, output: str, modes: Bools, volts: Floats) -> Bools:
    """``(c,)``: whether any function that drives this output is released."""
    on = np.zeros(volts.shape[0], bool)
    for function in stage.circuit.sheet.functions.values():
        if output in function.drives:
            on |= rule_truth(stage, function.releases, modes, volts)
    return on


def rule_truth(stage: Placed, rule: str, modes: Bools, volts: Floats) -> Bools:
    """``(c,)``: truth of a rule; an empty rule is always true."""
    count = volts.shape[0]
    if not rule:
        return np.ones(count, bool)
    return evaluate(parse_rule(rule), lambda atom: _atom(stage, atom, modes, volts), ARRAYS)


def input_of(circuit: Circuit, name: str) -> Input | None:
    """A controller input by its plain name (without the controller's)."""
    return next((i for k, i in circuit.inputs.items() if k.partition(".")[2] == name), None)


def _atom(stage: Placed, atom: Is, modes: Bools, volts: Floats) -> Bools:
    circuit = stage.circuit
    entry = input_of(circuit, atom.subject)
    if entry is None:
        memory = circuit.device_of.get(memory_key(atom.subject))
        if memory is not None:
            result: Bools = modes[:, memory] == (atom.meaning == SET)
            return result
        return np.full(volts.shape[0], stage.stands(atom.subject, atom.meaning))
    # An input reads nothing below its own ground: a grounded one is at zero, also on a lifted ground.
    level = np.maximum(_across(circuit, volts, entry.node, entry.ground), 0.0)
    inside = np.zeros(volts.shape[0], bool)
    for band in entry.bands:
        if band.meaning == atom.meaning:
            inside |= (level >= band.low) & (level < band.high)
    return heard(circuit, entry, atom.meaning, modes, inside)


def heard(circuit: Circuit, entry: Input, meaning: str, modes: Bools, inside: Bools) -> Bools:
    """``(c,)`` whether a controller takes an input for this, given that its volts are `inside` the band.

    Nothing is heard without power. While an output drives it is not its volts that tell, but whether
    it was shut down or misses its load.
    """

    def at(device: str) -> Bools:
        result: Bools = modes[:, circuit.device_of[device]] if device else np.zeros(len(modes), bool)
        return result

    known = inside
    if entry.quiet:
        tripped = at(entry.tripped)
        told = {OVER_CURRENT: tripped, OPEN_LOAD: at(entry.idle) & ~tripped}
        known = np.where(at(entry.quiet), told.get(meaning, np.zeros(len(modes), bool)), inside)
    return known & at(entry.powered) if entry.powered else known

"""Solve batches of circuits: in full, or as low-rank changes of one factorised setup."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Bools, Floats, Ints
from backprobe.circuit.course import Course, course_of
from backprobe.circuit.eliminate import Factors
from backprobe.circuit.lowrank import Base, factorise, update
from backprobe.circuit.settle import Electrical, settle
from backprobe.circuit.stage import Stage
from backprobe.circuit.transfer import Transfer, transfers_at_once


@dataclass(slots=True, eq=False)
class Solution:
    """Solved circuits of one setup.

    Parameters
    ----------
    values
        ``(c, p)`` parameter values.
    volts
        ``(c, n)`` node volts to the battery's negative post [V].
    siemens, driven, currents
        ``(c, b)`` conductances [S], driving currents and branch currents [A].
    modes, chatters, alternating
        ``(c, d)``, ``(c,)`` and ``(c, d)``: device modes, and what did not come to rest.
    """

    stage: Stage
    values: Floats
    volts: Floats
    siemens: Floats
    driven: Floats
    currents: Floats
    modes: Bools
    chatters: Bools
    alternating: Bools
    transfer: Callable[[Floats], Floats]
    """Maps a selector ``(n,)`` to ``(c, n)``: each circuit's inverse matrix times it [ohm]."""
    course: Course | None = None
    """How the circuits came to rest, where that was from nothing and is kept."""

    @property
    def count(self) -> int:
        """Number of circuits."""
        return int(self.volts.shape[0])

    @property
    def padded(self) -> Floats:
        """``(c, n + 1)`` node volts, the datum last [V]."""
        return np.concatenate([self.volts, np.zeros((self.count, 1))], axis=1)

    def across(self, a: str, b: str) -> Floats:
        """``(c,)`` volts from terminal `a` to terminal `b` [V]."""
        circuit = self.stage.circuit
        result: Floats = self.volts @ circuit.pair(circuit.node(a), circuit.node(b))
        return result

    def ports(self, red: Ints, black: Ints) -> tuple[Floats, Floats]:
        """What pairs of leads see: ``(c, k)`` open-circuit volts [V] and resistance [ohm].

        Parameters
        ----------
        red, black
            ``(k,)`` nodes; -1 for the datum.
        """
        padded = self.padded
        volts = padded[:, red] - padded[:, black]
        if isinstance(self.transfer, Transfer):
            return volts, self.transfer.between(red, black)
        own = [self.stage.circuit.pair(r, b) for r, b in zip(red.tolist(), black.tolist(), strict=True)]
        return volts, np.stack([self.transfer(s) @ s for s in own], axis=1)

    def through(self, branch: str) -> Floats:
        """``(c,)`` current through a branch [A]."""
        result: Floats = self.currents[:, self.stage.circuit.branch_of[branch]]
        return result


def transfers_of(asked: Sequence[tuple[Solution, Floats]]) -> list[Floats]:
    """For each solution its circuits' inverse matrices times selectors ``(k, n)``: ``(k, c, n)`` [ohm]."""
    found: list[Floats] = [np.zeros(0)] * len(asked)
    full: list[int] = []
    for i, (solution, selectors) in enumerate(asked):
        if isinstance(solution.transfer, Transfer):
            full.append(i)
        else:
            found[i] = np.stack([solution.transfer(s) for s in selectors])
    together = [(s.transfer, each) for s, each in asked if isinstance(s.transfer, Transfer)]
    for i, each in zip(full, transfers_at_once(together), strict=True):
        found[i] = each
    return found


@dataclass(slots=True, eq=False)
class Changes:
    """Circuits that differ from the nominal one in a few parameters.

    Parameters
    ----------
    index, value
        ``(c, k)``: parameter indices (-1 pads) and their values.
    """

    index: Ints
    value: Floats

    @property
    def count(self) -> int:
        """Number of circuits."""
        return int(self.index.shape[0])

    def values(self, nominal: Floats) -> Floats:
        """``(c, p)`` full parameter values."""
        full = np.repeat(nominal[None], self.count, axis=0)
        for k in range(self.index.shape[1]):
            rows = np.flatnonzero(self.index[:, k] >= 0)
            full[rows, self.index[rows, k]] = self.value[rows, k]
        return full


def no_changes(count: int = 1) -> Changes:
    """`count` nominal circuits."""
    return Changes(np.full((count, 1), -1, np.int64), np.zeros((count, 1)))


def solve_changes(stage: Stage, changes: Changes, nominal: Floats | None = None) -> Solution:
    """Solve circuits that differ from one nominal circuit by a few conductances or sources.

    Woodbury's identity: with ``A = A0 + U D U'`` and ``M = U' A0^-1 U``,
    ``A^-1 = A0^-1 - A0^-1 U (I + D M)^-1 D U' A0^-1``. Where ``|det(I + D M)|`` falls
    below `SINGULAR` (a conductance that alone held a node is taken away) the circuit is solved in full.
    """
    batch = _Batch(stage, changes, stage.circuit.nominal if nominal is None else nominal)
    start = None if stage.before is None else solve_changes(stage.before, changes, nominal).modes
    rounds: list[Bools] = []
    settled = settle(stage, changes.count, batch.solve, start, rounds)
    unsettled = np.flatnonzero(settled.chatters)
    if unsettled.size:
        batch.solve(settled.modes[unsettled], unsettled)
    patterns, group = patterns_of(settled.modes)
    siemens, driven = stage.held(batch.closed, stage.conducting(patterns)[group])
    # The solution keeps the batch for its factors; its branches are in the solution already.
    del batch.closed
    return Solution(
        stage,
        batch.values,
        batch.volts,
        siemens,
        driven,
        stage.currents(batch.volts, siemens, driven),
        settled.modes,
        settled.chatters,
        settled.alternating,
        batch.transfer,
        course_of(settled, rounds) if start is None else None,
    )


class _Batch:
    """Circuits solved as changes of one nominal circuit, which is factorised once for each set of modes."""

    def __init__(self, stage: Stage, changes: Changes, nominal: Floats) -> None:
        self.stage = stage
        self.nominal = nominal
        self.values = changes.values(nominal)
        self.closed = stage.closed(self.values)
        self.touched = touched_branches(stage, changes)
        # Most faults touch one branch; they need no room for the others'.
        self.narrow = (self.touched < stage.branch_count).sum(axis=1) <= 1
        count, width = self.touched.shape
        self.volts = np.zeros((count, stage.circuit.size))
        self.factors = np.zeros((count, width, width))
        self.bases: list[Base] = []
        self.on: list[Bools] = []
        """For each base, the branches that conduct in its modes."""
        self.number_of: dict[bytes, int] = {}
        self.base_of = np.zeros(count, np.int64)
        """Number of each circuit's base, or -1 - the number of the factors among those below."""
        self.lost: list[Factors] = []
        self.place_of = np.zeros(count, np.int64)

    def solve(self, modes: Bools, rows: Ints) -> Electrical:
        """Solve the circuits of these rows with modes ``(rows, d)``."""
        patterns, group = patterns_of(modes)
        numbers = [self._number(pattern) for pattern in patterns]
        on = np.array([self.on[number] for number in numbers])[group]
        siemens, driven = self.stage.held(self.closed.at(rows), on)
        for g, number in enumerate(numbers):
            for narrow in (True, False):
                inside = np.flatnonzero((group == g) & (self.narrow[rows] == narrow))
                if inside.size:
                    width = 1 if narrow else self.touched.shape[1]
                    self._update(number, rows[inside], width, siemens[inside], driven[inside])
        volts = self.volts[rows]
        return Electrical(self.values[rows], volts, self.stage.currents(volts, siemens, driven))

    def _number(self, pattern: Bools) -> int:
        """Number of the base for a set of modes, factorised when it is first met."""
        number = self.number_of.setdefault(pattern.tobytes(), len(self.bases))
        if number == len(self.bases):
            self.bases.append(factorise(self.stage, self.nominal, pattern))
            self.on.append(self.stage.conducting(pattern[None])[0])
        return number

    def _update(self, number: int, rows: Ints, width: int, siemens: Floats, driven: Floats) -> None:
        base, touched = self.bases[number], self.touched[rows, :width]
        volts, self.factors[rows, :width, :width], poor = update(self.stage, base, touched, siemens, driven)
        self.base_of[rows] = number
        lost = np.flatnonzero(poor)
        if lost.size:
            factors = self.stage.plan.factor(siemens[lost])
            volts[lost] = self.stage.eliminated(factors, siemens[lost], driven[lost]).T
            self.base_of[rows[lost]] = -1 - len(self.lost)
            self.place_of[rows[lost]] = np.arange(lost.size)
            self.lost.append(factors)
        self.volts[rows] = volts

    def transfer(self, selector: Floats) -> Floats:
        """``(c, n)``: each circuit's inverse matrix times a selector ``(n,)`` [ohm]."""
        out = np.empty(self.volts.shape)
        for number in np.unique(self.base_of).tolist():
            rows = np.flatnonzero(self.base_of == number)
            if number < 0:
                factors = self.lost[-1 - number]
                out[rows] = factors.solve(factors.each(selector)).T[self.place_of[rows]]
                continue
            base = self.bases[number]
            columns = base.columns[self.touched[rows]]
            weight = np.einsum("cij,cj->ci", self.factors[rows], columns @ selector)
            out[rows] = base.inverse @ selector - np.einsum("ci,cin->cn", weight, columns)
        return out


def touched_branches(stage: Stage, changes: Changes) -> Ints:
    """``(c, k)`` branches whose conductance or source a circuit changes; past the last one for none."""
    kept = stage.cache.get(b"touched")
    if isinstance(kept, tuple) and kept[0] is changes:
        known: Ints = kept[1]
        return known
    circuit = stage.circuit
    none = stage.branch_count
    users: list[list[int]] = [[] for _ in range(len(circuit.parameters) + 1)]
    for links in (circuit.ohms_of, circuit.emf_of, circuit.amps_of):
        for branch, parameter in enumerate(links.tolist()):
            if parameter >= 0:
                users[parameter].append(branch)
    most = max(map(len, users)) or 1
    # The last row, for index -1, stays without branches.
    table = np.array([u + [none] * (most - len(u)) for u in users], np.int64)
    rows = np.sort(table[changes.index].reshape(changes.count, -1), axis=1)
    again = np.zeros(rows.shape, bool)
    again[:, 1:] = rows[:, 1:] == rows[:, :-1]
    rows = np.sort(np.where(again, none, rows), axis=1)
    width = int((rows < none).sum(axis=1).max(initial=1)) or 1
    stage.cache[b"touched"] = (changes, rows[:, :width])
    return rows[:, :width]


def patterns_of(modes: Bools) -> tuple[Bools, Ints]:
    """The different rows of ``(c, d)`` modes, and which of them each circuit has."""
    packed = np.packbits(modes, axis=1)
    # Eight bytes are one number, which is quicker to sort than a row.
    words = np.zeros((len(packed), max(1, -(-packed.shape[1] // 8))), np.uint64)
    words.view(np.uint8)[:, : packed.shape[1]] = packed
    if words.shape[1] == 1:
        _, first, group = np.unique(words[:, 0], return_index=True, return_inverse=True)
    else:
        _, first, group = np.unique(words, axis=0, return_index=True, return_inverse=True)
    return modes[first], group.reshape(-1)

"""Solve batches of circuits in full, each by its own elimination, in one setup or in several at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from backprobe.circuit.compiled import Bools, Circuit, Floats, Ints
from backprobe.circuit.course import Course, join_courses, settle_again
from backprobe.circuit.eliminate import Factors, stitch
from backprobe.circuit.settle import Electrical, Placed, Settled, settle
from backprobe.circuit.solve import Solution, patterns_of
from backprobe.circuit.stage import Stage
from backprobe.circuit.transfer import Transfer

FEW = 6
"""Circuits up to which a full matrix is quicker than eliminating nodes."""
TOGETHER = 400
"""Circuits solved at once over several setups: more of them no longer fit a processor's cache."""


def solve_full(stage: Stage, values: Floats) -> Solution:
    """Solve every circuit of a batch with its own factorisation.

    Parameters
    ----------
    values
        ``(c, p)`` parameter values, own units.
    """
    # What was done before leaves its mark: a latch that was set, a relay that holds itself, a blown fuse.
    start = None if stage.before is None else solve_full(stage.before, values).modes
    batch = _Full(stage, values)
    return batch.solutions([stage], batch.settle(stage, start))[0]


def solve_together(
    stages: Sequence[Stage], values: Floats, courses: Sequence[Course] | None = None
) -> list[Solution]:
    """Solve every circuit of a batch in several setups of one drawing, as `solve_full` does in each.

    Parameters
    ----------
    values
        ``(c, p)`` parameter values, own units.
    courses
        How the same circuits came to rest before, for each of the stages; they learn how they do now.
    """
    count = values.shape[0]
    course_of = {} if courses is None else {id(s): c for s, c in zip(stages, courses, strict=True)}
    alike = [s for s in stages if s.before is None and not s.extra_siemens.size]
    found: dict[int, Solution] = {}
    most = max(1, TOGETHER // max(count, 1))
    for begin in range(0, len(alike), most):
        some = alike[begin : begin + most]
        if not count or (len(some) == 1 and courses is None):
            continue
        bare = replace(some[0], open_always=np.zeros_like(some[0].open_always), cache={})
        opened = np.repeat(np.array([s.open_always for s in some]), count, axis=0)
        batch = _Full(bare, np.tile(values, (len(some), 1)), opened)
        placed = _Several(some, np.repeat(np.arange(len(some)), count))
        course = join_courses([course_of[id(s)] for s in some]) if course_of else None
        settled = batch.settle(placed, None, course)
        for k, (stage, solution) in enumerate(zip(some, batch.solutions(some, settled), strict=True)):
            if course is not None:
                mine = np.arange(k * count, (k + 1) * count)
                course_of[id(stage)].put(np.arange(count), course.at(mine))
            found[id(stage)] = solution
    return [found[id(s)] if id(s) in found else solve_full(s, values) for s in stages]


@dataclass(slots=True, eq=False)
class _Several:
    """Circuits of one drawing, each row of a batch in one of several setups."""

    stages: Sequence[Stage]
    of: Ints

    @property
    def circuit(self) -> Circuit:
        """The circuit that all of them are."""
        return self.stages[0].circuit

    def stands(self, control: str, position: str) -> Bools:
        """``(c,)`` whether a control stands so."""
        return np.array([s.stands(control, position) for s in self.stages], bool)[self.of]

    def at(self, rows: Ints) -> _Several:
        """The same for some of the rows."""
        return _Several(self.stages, self.of[rows])


class _Full:
    """Circuits solved each on its own; of some rows further branches may be held open, ``(c, b)``."""

    def __init__(self, stage: Stage, values: Floats, opened: Bools | None = None) -> None:
        count = values.shape[0]
        self.stage = stage
        self.opened = opened
        self.values = values
        self.closed = stage.closed(values)
        self.volts = np.zeros((count, stage.circuit.size))
        self.made: list[Factors] = []
        """Factors of every solve; each circuit's last is number `which`, column `place`, or has none: -1."""
        self.which = np.full(count, -1, np.int64)
        self.place = np.zeros(count, np.int64)

    def solve(self, modes: Bools, rows: Ints) -> Electrical:
        """Solve the circuits of these rows with modes ``(rows, d)``.

        Not refined yet: what a stiff source loses to rounding is far below what any device is judged by.
        """
        whole = np.array_equal(rows, np.arange(self.values.shape[0]))
        closed = self.closed if whole else self.closed.at(rows)
        siemens, driven = self.stage.held(closed, self._on(modes, rows))
        if rows.size <= FEW:
            volts = self.stage.solve_few(siemens, driven)
            self.which[rows] = -1
        else:
            factors = self.stage.plan.factor(siemens)
            volts = np.ascontiguousarray(factors.solve(self.stage.pushed(driven)).T)
            self.which[rows], self.place[rows] = len(self.made), np.arange(rows.size)
            self.made.append(factors)
        self.volts[rows] = volts
        return Electrical(
            self.values if whole else self.values[rows], volts, self.stage.currents(volts, siemens, driven)
        )

    def _on(self, modes: Bools, rows: Ints | slice) -> Bools:
        patterns, group = patterns_of(modes)
        on: Bools = self.stage.conducting(patterns)[group]
        return on if self.opened is None else on & ~self.opened[rows]

    def settle(self, placed: Placed, start: Bools | None, course: Course | None = None) -> Settled:
        """Find the modes of all circuits, and their volts with these."""
        if course is None:
            settled = settle(placed, self.values.shape[0], self.solve, start)
        else:
            settled, known, volts = settle_again(placed, self.solve, start, course)
            self.volts[known] = volts
        unsettled = np.flatnonzero(settled.chatters)
        if unsettled.size:
            self.solve(settled.modes[unsettled], unsettled)
        return settled

    def solutions(self, stages: Sequence[Stage], settled: Settled) -> list[Solution]:
        """The circuits, as many in the setup of each stage, in this order."""
        siemens, driven = self.stage.held(self.closed, self._on(settled.modes, slice(None)))
        left = np.flatnonzero(self.which < 0)
        if left.size or not self.made:
            self.which[left], self.place[left] = len(self.made), np.arange(left.size)
            self.made.append(self.stage.plan.factor(siemens[left]))
        factors = stitch(self.made, self.which, self.place)
        self.made = []
        volts = np.ascontiguousarray(self.stage.refined(self.volts.T, factors, siemens, driven).T)
        currents = self.stage.currents(volts, siemens, driven)
        each = self.values.shape[0] // len(stages)
        found: list[Solution] = []
        for k, stage in enumerate(stages):
            some = slice(k * each, (k + 1) * each)
            found.append(
                Solution(
                    stage,
                    self.values[some],
                    volts[some],
                    siemens[some],
                    driven[some],
                    currents[some],
                    settled.modes[some],
                    settled.chatters[some],
                    settled.alternating[some],
                    Transfer(factors, some),
                )
            )
        return found

"""The course of modes that a circuit took to rest, tried again when its values have moved a little.

From one step of a fit to the next a circuit nearly always comes to rest by the same rounds: relays pull
in the same order, the same sensors starve on the way. All rounds of all circuits are then solved
together and checked against the rules of `settle`; only circuits that go another way now are settled anew.
Nothing is taken on trust, so the outcome is the one that settling anew would have.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Bools, Floats, Ints
from backprobe.circuit.settle import Placed, Settled, Solver, fast_and_slow, settle, wanted_fast, wanted_slow


@dataclass(slots=True, eq=False)
class Course:
    """What the circuits of a batch went through.

    Parameters
    ----------
    rounds
        ``(r, c, d)`` modes at the end of each round, fast devices at rest.
    last
        ``(c,)`` round in which each came to rest; -1 where nothing is known, or it never did.
    """

    rounds: Bools
    last: Ints

    @classmethod
    def unknown(cls, count: int, devices: int) -> Course:
        """Of circuits that were never settled."""
        return cls(np.zeros((1, count, devices), bool), np.full(count, -1, np.int64))

    def at(self, rows: Ints) -> Course:
        """Of some of the circuits."""
        return Course(self.rounds[:, rows], self.last[rows])

    def put(self, rows: Ints, other: Course) -> None:
        """Take over what some of the circuits went through."""
        self.rounds, theirs = _as_long([self.rounds, other.rounds])
        self.rounds[:, rows] = theirs
        self.last[rows] = other.last


def join_courses(courses: Sequence[Course]) -> Course:
    """Of several batches, one after the other."""
    rounds = np.concatenate(_as_long([c.rounds for c in courses]), axis=1)
    return Course(rounds, np.concatenate([c.last for c in courses]))


def course_of(settled: Settled, rounds: Sequence[Bools]) -> Course:
    """What `settle` wrote down, as a course."""
    went = np.stack(rounds)
    # At rest since the round after the last that ends in another way.
    other = (went != settled.modes).any(axis=2)
    last = np.where(other.any(axis=0), went.shape[0] - np.argmax(other[::-1], axis=0), 0)
    return Course(went, np.where(settled.chatters, -1, last))


def _as_long(several: Sequence[Bools]) -> list[Bools]:
    """Rounds of modes, all as many as the most: the last is repeated."""
    most = max(r.shape[0] for r in several)
    return [np.concatenate([r, np.repeat(r[-1:], most - r.shape[0], axis=0)]) for r in several]


def settle_again(
    placed: Placed, solver: Solver, start: Bools | None, course: Course
) -> tuple[Settled, Ints, Floats]:
    """Settle circuits, by the course that they took before where it still holds; `course` learns the new.

    Parameters
    ----------
    solver, start
        As for `settle`.

    Returns
    -------
    settled, rows, volts
        All circuits; and of those that went the way they knew, ``(k,)`` their rows and ``(k, n)`` volts [V].
    """
    count = course.last.size
    modes = np.zeros(course.rounds.shape[1:], bool)
    settled = Settled(modes, np.zeros(count, bool), np.zeros_like(modes))
    rows, volts = _as_before(placed, solver, course)
    modes[rows] = course.rounds[course.last[rows], rows]
    left = np.setdiff1d(np.arange(count), rows)
    if left.size:
        rounds: list[Bools] = []
        begin = None if start is None else start[left]
        new = settle(placed.at(left), left.size, lambda m, some: solver(m, left[some]), begin, rounds)
        modes[left], settled.chatters[left] = new.modes, new.chatters
        settled.alternating[left] = new.alternating
        course.put(left, course_of(new, rounds))
    return settled, rows, volts


def _as_before(placed: Placed, solver: Solver, course: Course) -> tuple[Ints, Floats]:
    """Circuits whose rounds follow from each other as they did, and their volts in the last one."""
    number = np.arange(course.rounds.shape[0])
    rows, round_of = np.nonzero(number[None] <= course.last[:, None])
    if not rows.size:
        return rows, np.zeros((0, placed.circuit.size))
    modes = course.rounds[round_of, rows]
    electrical, here = solver(modes, rows), placed.at(rows)
    fast, slow = fast_and_slow(placed.circuit)
    ends = course.last[rows]
    follows = course.rounds[np.minimum(round_of + 1, ends), rows]
    holds = (wanted_fast(here, modes, electrical, fast) == modes[:, fast]).all(axis=1)
    holds &= (wanted_slow(here, modes, electrical, slow) == follows[:, slow]).all(axis=1)
    known = course.last >= 0
    known[rows[~holds]] = False
    final = (round_of == ends) & known[rows]
    return rows[final], electrical.volts[final]

"""Which repair would make the machine work again: the cause, asked as a what-if.

A state can hold several worn things while one of them stops the function. So nothing is
called a cause because it is present; each explanation is repaired, fault by fault, and
solved again in the setup of the complaint.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import Setup
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.explain import Explanations
from backprobe.diagnosis.given import Readings
from backprobe.diagnosis.predict import function_works, predict_number
from backprobe.readings.model import Reading

NEGLIGIBLE = 1e-4
"""Explanations below this share of the belief are not repaired in trial."""
LEADS_BY = 0.5
"""Without a complaint, a fault counts as a cause when its effect is at least this share of the largest."""
CURES = 0.5
LEAST_DEAD = 0.03
"""Chance of being dead that an explanation of a dead function is credited with at least [1]: of the rest the
complaint itself may have been a slip."""


@dataclass(frozen=True, slots=True)
class Credit:
    """What repairing some faults of one explanation would do.

    Parameters
    ----------
    explanation
        Its number.
    rows
        Catalogue rows repaired together; one row for a single repair.
    restores
        Probability that the complaint is then gone [1].
    """

    explanation: int
    rows: tuple[int, ...]
    restores: float


def causes(engine: Engine, readings: Readings, found: Explanations, share: Floats) -> list[Credit]:
    """Credit the repairs of every explanation that carries belief.

    Parameters
    ----------
    share
        ``(e,)`` normalised weights.
    """
    dead = complaints(readings)
    alive = [int(e) for e in np.flatnonzero(share > NEGLIGIBLE) if found.rows[e]]
    if dead:
        return _by_function(engine, readings, found, alive)
    return _by_effect(engine, readings, found, alive)


def complaints(readings: Readings) -> list[Reading]:
    """What was said to be dead."""
    return [r for r in readings.others if r.kind == "works" and r.seen == "dead"]


def _repaired(engine: Engine, found: Explanations, e: int, rows: Sequence[int]) -> Floats:
    """Parameter values of an explanation with some of its faults repaired."""
    values: Floats = found.values[e].copy()
    for row in rows:
        keys = engine.catalogue.changes.index[row]
        keys = keys[keys >= 0]
        values[keys] = engine.circuit.nominal[keys]
    return values


def _by_function(engine: Engine, readings: Readings, found: Explanations, alive: list[int]) -> list[Credit]:
    dead = complaints(readings)
    trials: list[tuple[int, tuple[int, ...]]] = []
    for e in alive:
        trials.append((e, ()))
        trials += [(e, (row,)) for row in found.rows[e]]
    works = _works(engine, found, trials, dead)
    # Where a fuse was seen to blow nothing works, whatever it carries on paper.
    blown = all(r.setup in readings.blown for r in dead)
    before = {e: 0.0 if blown else works[i] for i, (e, rows) in enumerate(trials) if not rows}
    credits: list[Credit] = []
    cured: set[int] = set()
    for (e, rows), chance in zip(trials, works, strict=True):
        if rows:
            restores = _restored(before[e], chance)
            credits.append(Credit(e, rows, restores))
            if restores > CURES:
                cured.add(e)
    together: list[tuple[int, tuple[int, ...]]] = []
    for e in alive:
        if e not in cured and before[e] < CURES and len(found.rows[e]) > 1:
            together += [(e, pair) for pair in combinations(found.rows[e], 2)]
            if len(found.rows[e]) > 2:
                together.append((e, found.rows[e]))
    for (e, rows), chance in zip(together, _works(engine, found, together, dead), strict=True):
        restores = _restored(before[e], chance)
        if restores > CURES and not (len(rows) > 2 and e in cured):
            cured.add(e)
            credits.append(Credit(e, rows, restores))
    return credits


def _restored(before: float, after: float) -> float:
    """Probability that a repair makes a function work that is dead [1].

    A relay that gets just the volts from which it pulls in may click or not: since it does not, its
    own threshold lies above them, and more volts are worth more than their difference in chance.
    """
    return max(0.0, after - before) / max(1 - before, LEAST_DEAD)


def _works(
    engine: Engine, found: Explanations, trials: list[tuple[int, tuple[int, ...]]], dead: list[Reading]
) -> list[float]:
    if not trials:
        return []
    # Where no reading moved a value yet, what is left of a single fault is a row of the catalogue.
    unmoved = (found.values == found.start).all(axis=1)
    left = [tuple(r for r in found.rows[e] if r not in rows) for e, rows in trials]
    plain = [i for i, (e, _) in enumerate(trials) if unmoved[e] and len(left[i]) < 2]
    row = np.array([left[i][0] if left[i] else 0 for i in plain], np.int64)
    rest = np.setdiff1d(np.arange(len(trials)), plain).tolist()
    values = np.array([_repaired(engine, found, *trials[i]) for i in rest])
    chance = np.ones(len(trials))
    by_setup: dict[Setup, set[str]] = {}
    for reading in dead:
        by_setup.setdefault(reading.setup, set()).add(reading.subject)
    for setup, names in by_setup.items():
        solution = solve_full(engine.stage(setup), values) if rest else None
        for name in names:
            if solution is not None:
                chance[rest] = np.minimum(chance[rest], function_works(solution, name))
            chance[plain] = np.minimum(chance[plain], engine.single_works(setup, name)[row])
    return [float(c) for c in chance]


def _by_effect(engine: Engine, readings: Readings, found: Explanations, alive: list[int]) -> list[Credit]:
    several = [e for e in alive if len(found.rows[e]) > 1]
    credits = [Credit(e, found.rows[e], 1.0) for e in alive if len(found.rows[e]) == 1]
    trials = [(e, row) for e in several for row in found.rows[e]]
    if not trials or not readings.numbers:
        return credits + [Credit(e, (row,), 1.0) for e, row in trials]
    values = np.array([_repaired(engine, found, e, (row,)) for e, row in trials])
    effect = np.zeros(len(trials))
    spread = np.sqrt(np.diag(readings.noise))
    numbered = [e for e, _ in trials]
    for setup in dict.fromkeys(r.setup for r in readings.numbers):
        solution = solve_full(engine.stage(setup), values)
        for i, reading in enumerate(readings.numbers):
            if reading.setup == setup:
                shift = np.abs(predict_number(solution, reading).mean - found.predicted[numbered, i])
                effect = np.maximum(effect, shift / spread[i])
    largest = {e: max(x for (k, _), x in zip(trials, effect, strict=True) if k == e) for e in several}
    for (e, row), size in zip(trials, effect, strict=True):
        credits.append(Credit(e, (row,), 1.0 if size >= LEADS_BY * largest[e] else 0.0))
    return credits

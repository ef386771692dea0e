"""Minimal diagnoses: the smallest sets of faults with which the circuit does what was seen.

Ranking weighs explanations; this lists them without any prior: every set of faults that
explains all readings while none of its subsets does. Each set is solved, so that what a fault
cannot do (a broken wire that carries, a dead battery that lights a lamp) is never proposed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations
from math import comb

import numpy as np

from backprobe.circuit.compiled import Bools, Floats
from backprobe.circuit.full import solve_full
from backprobe.circuit.solve import Solution
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.given import Readings, sort_readings
from backprobe.diagnosis.predict import chance_of, predict_number
from backprobe.errors import Problem, ReadingError
from backprobe.readings.lines import parse_readings
from backprobe.readings.model import Reading
from backprobe.sheet.model import Sheet

SEEN = 0.5
"""Chance from which what was seen counts as explained."""
FITS = 3.0
"""Standard deviations within which a number counts as explained."""
BATCH = 400
MOST_SETS = 50_000
"""Sets solved before the search is refused as too wide."""


def minimal_diagnoses(
    sheet: Sheet | Engine, readings: str | Sequence[Reading], *, most: int = 2
) -> tuple[tuple[str, ...], ...]:
    """Every smallest set of faults that explains all readings.

    Parameters
    ----------
    sheet
        A sheet, or an `Engine` whose faults are taken (``Engine(sheet, only=...)`` for some of them).
    readings
        Readings, or their typed lines.
    most
        Most faults in one set.

    Returns
    -------
    tuple
        Sets of ``part: mode``, fewest faults first; an empty set when the sound circuit explains all.

    Raises
    ------
    ReadingError
        When typed lines cannot be understood, or there would be too many sets to solve.

    Notes
    -----
    Each fault is taken at its severest: fully open, or a dead short.
    """
    engine = sheet if isinstance(sheet, Engine) else Engine(sheet)
    listed = parse_readings(readings, engine.sheet) if isinstance(readings, str) else list(readings)
    sorted_readings = sort_readings(engine, listed)
    catalogue = engine.catalogue
    if _explained(engine, sorted_readings, [()])[0]:
        return ((),)
    names = [m.name for m in catalogue.modes]
    wide = sum(comb(len(names), size) for size in range(1, most + 1))
    if wide > MOST_SETS:
        raise ReadingError(
            Problem(
                "most",
                str(most),
                f"would take up to {wide} circuits to solve",
                "Ask for fewer faults at once, or name the faults: Engine(sheet, only=...).",
            )
        )
    found: list[frozenset[int]] = []
    for size in range(1, most + 1):
        candidates = [
            modes
            for modes in combinations(range(len(names)), size)
            if len({catalogue.modes[m].part for m in modes}) == size
            and not any(f <= set(modes) for f in found)
        ]
        for start in range(0, len(candidates), BATCH):
            batch = candidates[start : start + BATCH]
            good = _explained(engine, sorted_readings, batch)
            found += [frozenset(modes) for modes, fits in zip(batch, good, strict=True) if fits]
    return tuple(tuple(names[m] for m in sorted(modes)) for modes in found)


def hitting_sets(sets: Iterable[Iterable[str]]) -> tuple[tuple[str, ...], ...]:
    """Every smallest set that shares a member with each of the given sets.

    From minimal conflicts (parts that cannot all be sound) to minimal diagnoses and back: each
    follows from the other this way (R. Reiter, Artificial Intelligence 32, 1987) [mem].

    Returns
    -------
    tuple
        Fewest members first, names in order.
    """
    found: list[frozenset[str]] = [frozenset()]
    for each in sets:
        members = frozenset(each)
        grown = [f for f in found if f & members]
        grown += [f | {m} for f in found if not f & members for m in sorted(members)]
        smallest: list[frozenset[str]] = []
        for candidate in sorted(set(grown), key=len):
            if not any(s <= candidate for s in smallest):
                smallest.append(candidate)
        found = smallest
    return tuple(sorted((tuple(sorted(f)) for f in found), key=lambda f: (len(f), f)))


def _explained(engine: Engine, readings: Readings, sets: Sequence[tuple[int, ...]]) -> Bools:
    """``(c,)`` whether each set of modes explains all readings."""
    values = np.repeat(engine.circuit.nominal[None], len(sets), axis=0)
    for row, modes in enumerate(sets):
        for mode in modes:
            for key, ohms in _severest(engine, mode):
                values[row, key] = ohms
    good = np.ones(len(sets), bool)
    for setup in readings.setups:
        solution = solve_full(engine.stage(setup), values)
        for i, reading in enumerate(readings.numbers):
            if reading.setup == setup:
                good &= _fits(engine, solution, reading, readings.measured[i], readings.noise[i, i])
        for reading in readings.others:
            if reading.setup == setup and not reading.unsteady:
                good &= chance_of(solution, reading) >= SEEN
    return good


def _fits(engine: Engine, solution: Solution, reading: Reading, measured: float, noise: float) -> Bools:
    p = predict_number(solution, reading)
    variance: Floats = ((p.loading * engine.circuit.spread) ** 2).sum(axis=1) + p.extra + noise
    result: Bools = np.abs(measured - p.mean) <= FITS * np.sqrt(variance)
    return result


def _severest(engine: Engine, mode: int) -> list[tuple[int, float]]:
    """The changes of a mode at the severity furthest from a sound circuit."""
    circuit = engine.circuit
    keys = [circuit.parameter_of[k] for k in engine.catalogue.modes[mode].changes]
    grids = list(engine.catalogue.modes[mode].changes.values())
    first = np.array(grids[0])
    far = np.abs(np.log(first) - np.log(circuit.nominal[keys[0]])) if (first > 0).all() else np.abs(first)
    level = int(np.argmax(far))
    return [(key, grid[level]) for key, grid in zip(keys, grids, strict=True)]

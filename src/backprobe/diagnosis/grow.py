"""Larger sets of faults where single ones leave something over: wear all at once, then fault by fault."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np

from backprobe.circuit.compiled import Bools, Floats
from backprobe.circuit.full import solve_together
from backprobe.circuit.scan import scan_changes
from backprobe.circuit.setup import AMMETER_OHMS, Setup
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.evidence import evidence_of, heaviest
from backprobe.diagnosis.explain import SLIPPED, Explanations, join
from backprobe.diagnosis.fault_sets import (
    FaultSet,
    coarse_weight,
    distinct,
    explained,
    fault_set,
    fits,
    heads,
    modes_of,
    weigh_rows,
)
from backprobe.diagnosis.given import Readings
from backprobe.diagnosis.predict import ohms_shown, selector_of
from backprobe.diagnosis.wear import alike_joints
from backprobe.diagnosis.wear_beside import wear_beside
from backprobe.readings.model import Reading

_Modes = Mapping[Setup, Mapping[int, Bools]]
"""For each setup, explanations and their device modes ``(d,)``."""
PARENTS = 6
"""Explanations given a further fault in one round: the best as read, half as many of the best with a
slip, and as many of the best for blurred readings."""
CHILDREN = 10
DEPTH = 5
WORTH = 1.0
PATIENCE = 2
"""Rounds that may fail to raise the best log weight by `WORTH` before the search stops."""
BEND = 0.15
"""Error of a linearised cell, as a share of what its spread moves a reading by [1]."""


def larger(engine: Engine, readings: Readings, everything: Explanations) -> Explanations:
    """The explanations, and larger sets of faults that explain what they leave over."""
    if readings.numbers:
        worn = _with_wear(engine, readings, everything)
        everything = everything if worn is None else distinct(engine, join([everything, worn]))
    idle = 0
    grown: set[FaultSet] = set()
    for turn in range(DEPTH - 1):
        # Wear adds many at once: what a single further fault would explain is looked at in any case.
        if turn and explained(everything):
            break
        # Where all fits but for one slip, what may do without it is near or not there.
        patience = 1 if fits(everything) else PATIENCE
        children = _grow(engine, readings, everything, grown)
        if children is None:
            break
        before = _best(everything)
        everything = distinct(engine, join([everything, children]))
        better = any(now > was + WORTH for now, was in zip(_best(everything), before, strict=True))
        idle = 0 if better else idle + 1
        if idle >= patience:
            break
    return everything


def _best(found: Explanations) -> tuple[float, float]:
    """Log weights of the best explanation, and of the best that takes every reading as read."""
    as_read = found.log_weight[found.slip < 0].max(initial=-np.inf)
    return float(found.log_weight.max()), float(as_read)


def _with_wear(engine: Engine, readings: Readings, found: Explanations) -> Explanations | None:
    """The best explanations, as read and for blurred readings, each with all wear that it needs beside it."""
    as_read = np.where(found.slip < 0, found.log_weight, -np.inf)
    few = [
        e
        for w in (as_read, coarse_weight(engine, readings, found))
        for e in heads(engine, found, w)[:PARENTS]
    ]
    sets: dict[tuple[tuple[int, ...], int], None] = {}
    alike = alike_joints(engine, readings)
    for e in dict.fromkeys(few):
        worn = wear_beside(engine, readings, alike, found, e)
        # Some of the joints may be there only because another is too many.
        for some in (worn, *combinations(worn, len(worn) - 1)) if worn else ():
            if some:
                # A set that needs a slip so far may do without one once wear is added, or not.
                rows = tuple(sorted((*found.rows[e], *some)))
                sets |= dict.fromkeys(((rows, -1), (rows, int(found.slip[e]))))
    if not sets:
        return None
    first = weigh_rows(engine, readings, [r for r, _ in sets], [s for _, s in sets])
    # A linear look may be a cell off: from where the fit came to rest each joint has a nearer one.
    again = dict.fromkeys(
        (tuple(sorted(_nearest_cell(engine, r, first.values[e]) for r in rows)), int(first.slip[e]))
        for e, rows in enumerate(first.rows)
    )
    left = [s for s in again if s not in sets]
    if not left:
        return first
    return join([first, weigh_rows(engine, readings, [r for r, _ in left], [s for _, s in left])])


def _nearest_cell(engine: Engine, row: int, values: Floats) -> int:
    """The row of the same mode whose severity is nearest to what a resistance was fitted to."""
    changes = engine.catalogue.changes
    key = int(changes.index[row, 0])
    if (changes.index[row] >= 0).sum() != 1 or not engine.circuit.logarithmic[key]:
        return row
    cells = engine.rows_of_mode[int(engine.catalogue.mode_of[row])]
    return int(cells[int(np.argmin(np.abs(np.log(changes.value[cells, 0] / values[key]))))])


def _grow(
    engine: Engine, readings: Readings, found: Explanations, grown: set[FaultSet]
) -> Explanations | None:
    """Explanations with one fault more than the best ones that are not in `grown` yet; which are then."""
    # The same faults met from another side may sit in other cells: both are worth a fit.
    known = {(rows, int(slip)) for rows, slip in zip(found.rows, found.slip, strict=True)}
    coarse = coarse_weight(engine, readings, found)
    as_read = found.slip < 0
    chosen: dict[int, None] = {}
    for weight, most in (
        (np.where(as_read, found.log_weight, -np.inf), PARENTS),
        (np.where(as_read, -np.inf, found.log_weight), PARENTS // 2),
        (coarse, PARENTS // 2),
    ):
        few = [e for e in heads(engine, found, weight) if fault_set(engine, found, e) not in grown]
        # Every single fault has been weighed: to add one to nothing would count it twice.
        chosen |= dict.fromkeys([e for e in few if found.rows[e]][:most])
    grown |= {fault_set(engine, found, e) for e in chosen}
    sets: dict[tuple[tuple[int, ...], int], None] = {}
    parents = list(chosen)
    settled = _settled(engine, readings, found, parents)
    for e in parents:
        for row in _extensions(engine, readings, found, e, settled):
            rows = tuple(sorted((*found.rows[e], row)))
            modes = modes_of(engine, rows)
            # A set that needs a slip so far may do without one once a further fault is added, or not.
            for slip in {-1, int(found.slip[e])}:
                if len(set(modes)) == len(modes) and (rows, slip) not in known:
                    known.add((rows, slip))
                    sets[rows, slip] = None
    if not sets:
        return None
    return weigh_rows(engine, readings, [r for r, _ in sets], [s for _, s in sets])


def _settled(engine: Engine, readings: Readings, found: Explanations, some: Sequence[int]) -> _Modes:
    """The modes in which some explanations are, setup by setup."""
    setups = list(dict.fromkeys(r.setup for r in readings.numbers))
    solved = solve_together([engine.stage(s) for s in setups], found.values[list(some)])
    return {
        setup: dict(zip(some, solution.modes, strict=True))
        for setup, solution in zip(setups, solved, strict=True)
    }


def _extensions(engine: Engine, readings: Readings, found: Explanations, e: int, modes: _Modes) -> list[int]:
    """Catalogue rows that would explain best what explanation `e` leaves over, modes held."""
    catalogue = engine.catalogue
    numbers = len(readings.numbers)
    count = catalogue.count
    score = catalogue.log_extra.copy()
    if numbers:
        base = found.values[e]
        predicted = np.empty((count, numbers))
        for setup in dict.fromkeys(r.setup for r in readings.numbers):
            here = [i for i, r in enumerate(readings.numbers) if r.setup == setup]
            selectors = np.array([selector_of(engine.circuit, readings.numbers[i]) for i in here])
            volts, ohms = scan_changes(
                engine.stage(setup), catalogue.changes, base, selectors, modes[setup][e]
            )
            for k, i in enumerate(here):
                predicted[:, i] = _as_read(readings.numbers[i], volts[:, k], ohms[:, k])
        moved = predicted - predicted[0]
        # Measured from the prior's centre: what the tolerances were stretched to explain is open again.
        coordinates = engine.circuit.coordinates
        stretched = found.loading[e] @ (coordinates(base) - coordinates(found.start[e]))
        left = (found.residual[e] + stretched)[None] - moved
        scaled = found.loading[e] * found.spread[e]
        noise = scaled @ scaled.T + readings.noise
        if found.slip[e] >= 0:
            noise[found.slip[e], found.slip[e]] += SLIPPED
        covariance = np.repeat(noise[None], count, axis=0)
        # The cell's own spread lets a severity between two grid values fit as well.
        own = moved * catalogue.spread_of[:, None]
        mine = own[:, :, None] * own[:, None]
        for k in range(catalogue.changes.index.shape[1]):
            column = catalogue.changes.index[:, k]
            rows = np.flatnonzero((column >= 0) & (catalogue.spread_of > 0))
            before = scaled[:, column[rows]].T
            covariance[rows] += mine[rows] - before[:, :, None] * before[:, None]
        each = np.arange(numbers)
        covariance[:, each, each] += (BEND * moved) ** 2
        score += evidence_of(left, covariance)[0].whole
    score[0] = -np.inf
    taken = {int(catalogue.mode_of[r]) for r in found.rows[e]}
    picked: list[int] = []
    for row in heaviest(score):
        mode = int(catalogue.mode_of[row])
        if mode in taken or not np.isfinite(score[row]):
            continue
        taken.add(mode)
        picked.append(int(row))
        if len(picked) == CHILDREN:
            break
    return picked


def _as_read(reading: Reading, volts: Floats, ohms: Floats) -> Floats:
    """Port values in the scale of a reading's prediction."""
    if reading.kind == "ohms":
        result: Floats = np.log(np.abs(ohms_shown(reading, volts, ohms)[0]))
        return result
    return volts / AMMETER_OHMS if reading.kind == "amps" else volts

"""Find the explanations that matter: every single fault, then sets where singles explain badly."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from backprobe.circuit.compiled import Bools, Floats, Ints
from backprobe.circuit.scan import scan_changes
from backprobe.circuit.setup import AMMETER_OHMS, Setup
from backprobe.circuit.solve import solve_together
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.evidence import evidence_of, heaviest
from backprobe.diagnosis.explain import SLIPPED, Explanations, join, prior_state, weigh
from backprobe.diagnosis.given import Readings
from backprobe.diagnosis.predict import SLIP, ohms_shown, selector_of
from backprobe.diagnosis.seen import chance_of_rows, soften
from backprobe.diagnosis.wear import alike_joints
from backprobe.diagnosis.wear_beside import wear_beside
from backprobe.readings.model import Reading

_Set = tuple[tuple[int, ...], int]

_Modes = Mapping[Setup, Mapping[int, Bools]]
"""For each setup, explanations and their device modes ``(d,)``."""

KEEP = 80
"""Explanations polished at once."""
KEEP_WORDS = 200
"""The same while there is no number yet: nothing has to be fitted, and much is possible."""
WINDOW = 16.0
"""Natural-log distance from the best beyond which a single fault is not polished."""
BEND = 0.15
"""Error of a linearised cell, as a share of what its spread moves a reading by [1]."""
BLUR = 0.02
"""Blur of volts, as a share of the system's [1]: about what a worn joint or two may take."""
BLUR_LOG = 0.2
LEAST = 12
"""Explanations polished however far from the best."""
CELLS = 2
"""Severity cells of one mode polished: neighbours converge to the same state."""
APART = 3.0
"""Severities of two cells of one mode that are both worth polishing lie this far apart [ln]."""
MET = 2.0
"""Severities that lie within this of each other are one state [ln]."""
FITS = 2.0
"""Standard deviations within which a reading counts as explained."""
EXPECTED = 0.3
"""Chance from which something seen counts as expected."""
PARENTS = 6
"""Explanations given a further fault in one round: the best as read, half as many of the best with a
slip, and as many of the best for blurred readings."""
CHILDREN = 10
DEPTH = 5
WORTH = 1.0
PATIENCE = 2
"""Rounds that may fail to raise the best log weight by `WORTH` before the search stops."""


def blur_of(engine: Engine, readings: Readings) -> Floats:
    """``(r,)`` variance that makes readings coarse: what a little wear elsewhere may shift them by."""
    coarse = {"volts": BLUR * engine.sheet.system_volts, "ohms": BLUR_LOG, "amps": BLUR_LOG}
    return np.array([coarse[r.kind] ** 2 for r in readings.numbers])


def single_weights(engine: Engine, readings: Readings, *, coarse: bool = False) -> tuple[Floats, Floats]:
    """Weights of all single faults from their kept circuits, linearised at each cell's centre.

    Parameters
    ----------
    coarse
        Take the readings as blurred, so that a fault with a little wear beside it is not lost among
        those that a precise meter rules out just as surely.

    Returns
    -------
    plain, slipped
        ``(c,)`` log weight without a slip and ``(c, r)`` with each numeric reading taken as one.
    """
    catalogue = engine.catalogue
    count, numbers = catalogue.count, len(readings.numbers)
    predictions = [engine.single_number(r) for r in readings.numbers]
    residual = readings.measured - _columns([p.mean for p in predictions], count)
    extra = _columns([p.extra for p in predictions], count)
    # A straight line through a cell's centre is off towards its edges by a share of what the cell spans.
    extra += BEND**2 * _columns([engine.single_span(r) for r in readings.numbers], count)
    if coarse:
        extra += blur_of(engine, readings)
    covariance = engine.single_covariance(readings.numbers) + readings.noise
    covariance[:, np.arange(numbers), np.arange(numbers)] += extra
    found, _ = evidence_of(residual, covariance)
    rows: list[tuple[int, ...]] = [() if m < 0 else (r,) for r, m in enumerate(catalogue.mode_of)]
    log_weight = catalogue.log_prior + found.whole + numbers * np.log1p(-SLIP)
    for reading in readings.others:
        plain = np.ones(count)
        if reading.kind not in {"swapped", "looked"} and not reading.unsteady:
            plain = engine.single_chance(reading)
        log_weight = log_weight + np.log(soften(chance_of_rows(engine, reading, rows, plain, readings.blown)))
    for setup in readings.setups:
        log_weight = log_weight + engine.single_burns(setup)
    slipped = log_weight[:, None] - found.alone + readings.slip_log[None] + np.log(SLIP / (1 - SLIP))
    return log_weight, slipped


def _columns(parts: Sequence[Floats], count: int) -> Floats:
    return np.stack(parts, axis=1) if parts else np.zeros((count, 0))


def search(engine: Engine, readings: Readings) -> Explanations:
    """All explanations worth showing, polished, best first."""
    plain, slipped = single_weights(engine, readings)
    catalogue = engine.catalogue
    stack = np.concatenate([plain[:, None], slipped], axis=1)
    most, keep = (CELLS, KEEP) if readings.numbers else (1, KEEP_WORDS)
    taken = _choose(engine, stack, most, keep)
    rows = [() if catalogue.mode_of[r] < 0 else (r,) for r, _ in taken]
    current = _weigh_rows(engine, readings, rows, [s for _, s in taken], _left_out(engine, stack, taken))
    everything = current
    if readings.numbers and not _explained(current):
        plain, slipped = single_weights(engine, readings, coarse=True)
        coarse = np.concatenate([plain[:, None], slipped], axis=1)
        counted = {(int(catalogue.mode_of[row]), slip) for row, slip in taken}
        more = [
            (row, slip)
            for row, slip in _choose(engine, coarse, 1, keep // 2)
            if (int(catalogue.mode_of[row]), slip) not in counted
        ]
        if more:
            rows = [() if catalogue.mode_of[r] < 0 else (r,) for r, _ in more]
            added = _weigh_rows(engine, readings, rows, [s for _, s in more])
            everything = distinct(engine, join([current, added]))
    if not _explained(everything):
        everything = _larger(engine, readings, everything)
    return everything


def _larger(engine: Engine, readings: Readings, everything: Explanations) -> Explanations:
    """The explanations, and larger sets of faults that explain what they leave over."""
    if readings.numbers:
        worn = _with_wear(engine, readings, everything)
        everything = everything if worn is None else distinct(engine, join([everything, worn]))
    idle = 0
    grown: set[_Set] = set()
    for turn in range(DEPTH - 1):
        # Wear adds many at once: what a single further fault would explain is looked at in any case.
        if turn and _explained(everything):
            break
        # Where all fits but for one slip, what may do without it is near or not there.
        patience = 1 if _fits(everything) else PATIENCE
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


def _explained(found: Explanations) -> bool:
    """Whether the best explanation leaves nothing over: no reading stands out, nothing seen surprises."""
    return _fits(found) and bool(found.slip[int(np.argmax(found.log_weight))] < 0)


def _fits(found: Explanations) -> bool:
    """The same, where one reading may be a slip."""
    e = int(np.argmax(found.log_weight))
    fits = found.misfit.shape[1] == 0 or float(np.abs(found.misfit[e]).max()) < FITS
    return bool(fits and (found.chance[e] > EXPECTED).all())


def _choose(engine: Engine, stack: Floats, most: int, keep: int) -> list[tuple[int, int]]:
    """Rows to polish, each with the reading it takes for a slip (-1 for none).

    Explanations that take every reading as read are kept in their own right, however much better
    a slip would do: several faults together may explain what one fault and a slip explain.
    """
    plain = _leading(engine, stack[:, :1], stack[:, 0].max(), most, keep)
    slipped = _leading(engine, stack[:, 1:], stack.max(), 1, keep // 2) if stack.shape[1] > 1 else []
    return [(row, -1) for row, _ in plain] + slipped


def _leading(engine: Engine, weights: Floats, best: float, most: int, keep: int) -> list[tuple[int, int]]:
    """The heaviest ``(row, column)`` within the window: the best cell of every mode before second cells."""
    mode_of = engine.catalogue.mode_of
    width = weights.shape[1]
    flat = weights.ravel()
    # Cells nearer to each other than this converge to one state: no second one of those.
    severity = np.log(np.maximum(engine.catalogue.changes.value[:, 0], 1e-6))
    taken: dict[tuple[int, int], list[int]] = {}
    ranked: list[tuple[int, int, int, int]] = []
    for place, k in enumerate(heaviest(flat)):
        if place >= LEAST and flat[k] < best - WINDOW:
            break
        row, column = k // width, k % width
        mine = taken.setdefault((int(mode_of[row]), column), [])
        if len(mine) < most and all(abs(severity[row] - severity[m]) > APART for m in mine):
            mine.append(row)
            ranked.append((len(mine), place, row, column))
    return [(row, column) for _, _, row, column in sorted(ranked)][:keep]


def _left_out(engine: Engine, stack: Floats, taken: Sequence[tuple[int, int]]) -> Floats:
    """Log factor that gives each chosen row the weight of its mode's cells that were not chosen.

    Where readings do not tell severities apart (a complaint alone, a slip) every cell counts.
    """
    mode_of = engine.catalogue.mode_of
    bonus = np.zeros(len(taken))
    together: dict[tuple[int, int], list[int]] = {}
    for row, slip in taken:
        together.setdefault((int(mode_of[row]), slip), []).append(row)
    for t, (row, slip) in enumerate(taken):
        cells = _cells(engine, int(mode_of[row]))
        mine = together[int(mode_of[row]), slip]
        whole = np.logaddexp.reduce(stack[cells, slip + 1])
        bonus[t] = np.clip(whole - np.logaddexp.reduce(stack[mine, slip + 1]), 0.0, np.log(len(cells)))
    return bonus


def _cells(engine: Engine, mode: int) -> Ints:
    """Rows of a mode; the circuit as built is a row of its own."""
    return engine.rows_of_mode[mode] if mode >= 0 else engine.catalogue.rows_of(mode)


def distinct(engine: Engine, found: Explanations) -> Explanations:
    """Best first; cells of one set of faults with one slip that met in one state are counted together."""
    kept: dict[tuple[tuple[int, ...], int], list[int]] = {}
    total = found.log_weight.copy()
    for e in heaviest(found.log_weight):
        alike = kept.setdefault((_modes(engine, found.rows[e]), int(found.slip[e])), [])
        severity = _severities(engine, found, e)
        met = [k for k in alike if np.abs(severity - _severities(engine, found, k)).max(initial=0) < MET]
        if met:
            total[met[0]] = np.logaddexp(total[met[0]], found.log_weight[e])
        else:
            alike.append(int(e))
    first = [e for e in heaviest(total) if any(e in alike for alike in kept.values())]
    chosen = found.take(first)
    chosen.log_weight = total[first]
    return chosen


def _set(engine: Engine, found: Explanations, e: int) -> _Set:
    """The faults of an explanation, whatever their severity, and its slip."""
    return _modes(engine, found.rows[e]), int(found.slip[e])


def _severities(engine: Engine, found: Explanations, e: int) -> Floats:
    """``(k,)`` logarithms of what the faults of an explanation change, resistances only."""
    rows = found.rows[e]
    changed = sorted({int(k) for r in rows for k in engine.catalogue.changes.index[r] if k >= 0})
    logs: Floats = np.log(found.values[e, [k for k in changed if engine.circuit.logarithmic[k]]])
    return logs


def _weigh_rows(
    engine: Engine,
    readings: Readings,
    rows: Sequence[tuple[int, ...]],
    slips: Sequence[int],
    bonus: Floats | float = 0.0,
) -> Explanations:
    priors = prior_state(engine, rows)
    priors = replace(priors, log_prior=priors.log_prior + bonus)
    found = weigh(engine, readings, priors, np.array(slips, np.int64))
    return distinct(engine, found)


def _with_wear(engine: Engine, readings: Readings, found: Explanations) -> Explanations | None:
    """The best explanations, as read and for blurred readings, each with all wear that it needs beside it."""
    as_read = np.where(found.slip < 0, found.log_weight, -np.inf)
    heads = [
        e
        for w in (as_read, _coarse_weight(engine, readings, found))
        for e in _heads(engine, found, w)[:PARENTS]
    ]
    sets: dict[tuple[tuple[int, ...], int], None] = {}
    alike = alike_joints(engine, readings)
    for e in dict.fromkeys(heads):
        worn = wear_beside(engine, readings, alike, found, e)
        # Some of the joints may be there only because another is too many.
        for some in (worn, *combinations(worn, len(worn) - 1)) if worn else ():
            if some:
                # A set that needs a slip so far may do without one once wear is added, or not.
                rows = tuple(sorted((*found.rows[e], *some)))
                sets |= dict.fromkeys(((rows, -1), (rows, int(found.slip[e]))))
    if not sets:
        return None
    first = _weigh_rows(engine, readings, [r for r, _ in sets], [s for _, s in sets])
    # A linear look may be a cell off: from where the fit came to rest each joint has a nearer one.
    again = dict.fromkeys(
        (tuple(sorted(_nearest_cell(engine, r, first.values[e]) for r in rows)), int(first.slip[e]))
        for e, rows in enumerate(first.rows)
    )
    left = [s for s in again if s not in sets]
    if not left:
        return first
    return join([first, _weigh_rows(engine, readings, [r for r, _ in left], [s for _, s in left])])


def _nearest_cell(engine: Engine, row: int, values: Floats) -> int:
    """The row of the same mode whose severity is nearest to what a resistance was fitted to."""
    changes = engine.catalogue.changes
    key = int(changes.index[row, 0])
    if (changes.index[row] >= 0).sum() != 1 or not engine.circuit.logarithmic[key]:
        return row
    cells = engine.rows_of_mode[int(engine.catalogue.mode_of[row])]
    return int(cells[int(np.argmin(np.abs(np.log(changes.value[cells, 0] / values[key]))))])


def _grow(engine: Engine, readings: Readings, found: Explanations, grown: set[_Set]) -> Explanations | None:
    """Explanations with one fault more than the best ones that are not in `grown` yet; which are then."""
    # The same faults met from another side may sit in other cells: both are worth a fit.
    known = {(rows, int(slip)) for rows, slip in zip(found.rows, found.slip, strict=True)}
    coarse = _coarse_weight(engine, readings, found)
    as_read = found.slip < 0
    chosen: dict[int, None] = {}
    for weight, most in (
        (np.where(as_read, found.log_weight, -np.inf), PARENTS),
        (np.where(as_read, -np.inf, found.log_weight), PARENTS // 2),
        (coarse, PARENTS // 2),
    ):
        heads = [e for e in _heads(engine, found, weight) if _set(engine, found, e) not in grown]
        # Every single fault has been weighed: to add one to nothing would count it twice.
        chosen |= dict.fromkeys([e for e in heads if found.rows[e]][:most])
    grown |= {_set(engine, found, e) for e in chosen}
    sets: dict[tuple[tuple[int, ...], int], None] = {}
    parents = list(chosen)
    settled = _settled(engine, readings, found, parents)
    for e in parents:
        for row in _extensions(engine, readings, found, e, settled):
            rows = tuple(sorted((*found.rows[e], row)))
            modes = _modes(engine, rows)
            # A set that needs a slip so far may do without one once a further fault is added, or not.
            for slip in {-1, int(found.slip[e])}:
                if len(set(modes)) == len(modes) and (rows, slip) not in known:
                    known.add((rows, slip))
                    sets[rows, slip] = None
    if not sets:
        return None
    return _weigh_rows(engine, readings, [r for r, _ in sets], [s for _, s in sets])


def _settled(engine: Engine, readings: Readings, found: Explanations, some: Sequence[int]) -> _Modes:
    """The modes in which some explanations are, setup by setup."""
    setups = list(dict.fromkeys(r.setup for r in readings.numbers))
    solved = solve_together([engine.stage(s) for s in setups], found.values[list(some)])
    return {
        setup: dict(zip(some, solution.modes, strict=True))
        for setup, solution in zip(setups, solved, strict=True)
    }


def _heads(engine: Engine, found: Explanations, weight: Floats) -> list[int]:
    """The heaviest explanation of each set of faults, heaviest first."""
    heads: dict[tuple[int, ...], int] = {}
    for e in heaviest(weight):
        if not np.isfinite(weight[e]):
            break
        heads.setdefault(_modes(engine, found.rows[e]), int(e))
    return list(heads.values())


def _coarse_weight(engine: Engine, readings: Readings, found: Explanations) -> Floats:
    """``(e,)`` log weight with blurred readings: what explains the gross of them, whatever is left over."""
    variance = np.diag(readings.noise) + blur_of(engine, readings)
    misfit = found.residual**2 / variance
    slipped = np.flatnonzero(found.slip >= 0)
    misfit[slipped, found.slip[slipped]] = -2 * np.log(SLIP)
    result: Floats = found.log_prior + np.log(found.chance).sum(axis=1) - 0.5 * misfit.sum(axis=1)
    return result


def _modes(engine: Engine, rows: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(sorted(int(engine.catalogue.mode_of[r]) for r in rows))


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

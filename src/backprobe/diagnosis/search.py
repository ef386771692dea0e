"""Find the explanations that matter: every single fault, then sets where singles explain badly."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.scan import scan_changes
from backprobe.circuit.setup import AMMETER_OHMS
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.evidence import gaussian_evidence
from backprobe.diagnosis.explain import (
    Explanations,
    Readings,
    chance_of_rows,
    join,
    prior_state,
    soften,
    weigh,
)
from backprobe.diagnosis.predict import LEADS, SLIP, selector_of
from backprobe.readings.model import Reading

KEEP = 48
"""Explanations polished at once."""
WINDOW = 16.0
"""Natural-log distance from the best beyond which a single fault is not polished."""
PARENTS = 6
CHILDREN = 10
DEPTH = 5
WORTH = 1.0
PATIENCE = 1
"""Rounds that may fail to raise the best log weight by `WORTH` before the search stops."""


def single_weights(engine: Engine, readings: Readings) -> tuple[Floats, Floats]:
    """Weights of all single faults from their kept circuits, linearised at each cell's centre.

    Returns
    -------
    plain, slipped
        ``(c,)`` log weight without a slip and ``(c, r)`` with each numeric reading taken as one.
    """
    catalogue = engine.catalogue
    count, numbers = catalogue.count, len(readings.numbers)
    columns = engine.columns
    residual = np.empty((count, numbers))
    loading = np.empty((count, numbers, columns.size))
    extra = np.zeros((count, numbers))
    for i, reading in enumerate(readings.numbers):
        p = engine.single_number(reading)
        residual[:, i] = readings.measured[i] - p.mean
        loading[:, i] = p.loading[:, columns]
        extra[:, i] = p.extra
    noise = readings.noise[None] + np.einsum("cr,rs->crs", extra, np.eye(numbers))
    found = gaussian_evidence(residual, loading, engine.single_spread[:, columns], noise)
    rows: list[tuple[int, ...]] = [() if m < 0 else (r,) for r, m in enumerate(catalogue.mode_of)]
    log_weight = catalogue.log_prior + found.whole + numbers * np.log1p(-SLIP)
    for reading in readings.others:
        plain = np.ones(count)
        if reading.kind not in {"swapped", "looked"} and not reading.unsteady:
            plain = engine.single_chance(reading)
        log_weight = log_weight + np.log(soften(chance_of_rows(engine, reading, rows, plain)))
    for setup in readings.setups:
        log_weight = log_weight + engine.single_burns(setup)
    slipped = log_weight[:, None] - found.alone + readings.slip_log[None] + np.log(SLIP / (1 - SLIP))
    return log_weight, slipped


def search(engine: Engine, readings: Readings) -> Explanations:
    """All explanations worth showing, polished, best first."""
    plain, slipped = single_weights(engine, readings)
    catalogue = engine.catalogue
    stack = np.concatenate([plain[:, None], slipped], axis=1)
    best_slip = stack.argmax(axis=1) - 1
    top = stack.max(axis=1)
    order = np.argsort(-top, kind="stable")
    # Two cells at most of one mode: neighbours converge to the same state.
    taken: list[tuple[int, int]] = []
    cells: dict[int, int] = {}
    for row in order:
        mode = int(catalogue.mode_of[row])
        if cells.get(mode, 0) >= 2 or top[row] < top[order[0]] - WINDOW and len(taken) >= 12:
            continue
        cells[mode] = cells.get(mode, 0) + 1
        taken.append((int(row), -1))
        if best_slip[row] >= 0:
            taken.append((int(row), int(best_slip[row])))
        if len(taken) >= KEEP:
            break
    rows = [() if catalogue.mode_of[r] < 0 else (r,) for r, _ in taken]
    current = _weigh_rows(engine, readings, rows, [s for _, s in taken])
    everything = current
    idle = 0
    for _ in range(DEPTH - 1):
        grown = _grow(engine, readings, everything)
        if grown is None:
            break
        before = float(everything.log_weight.max())
        everything = distinct(engine, join([everything, grown]))
        idle = 0 if float(everything.log_weight.max()) > before + WORTH else idle + 1
        if idle == PATIENCE:
            break
    return everything


def distinct(engine: Engine, found: Explanations) -> Explanations:
    """Best first, the same set of faults with the same slip only once."""
    mode_of = engine.catalogue.mode_of
    seen: set[tuple[tuple[int, ...], int]] = set()
    kept: list[int] = []
    for e in np.argsort(-found.log_weight, kind="stable"):
        key = (tuple(sorted(int(mode_of[r]) for r in found.rows[e])), int(found.slip[e]))
        if key not in seen:
            seen.add(key)
            kept.append(int(e))
    return found.take(kept)


def _weigh_rows(
    engine: Engine, readings: Readings, rows: Sequence[tuple[int, ...]], slips: Sequence[int]
) -> Explanations:
    start, spread, log_prior = prior_state(engine, rows)
    found = weigh(engine, readings, rows, np.array(slips, np.int64), log_prior, start, spread)
    return distinct(engine, found)


def _grow(engine: Engine, readings: Readings, found: Explanations) -> Explanations | None:
    """Explanations with one fault more than the best ones so far."""
    mode_of = engine.catalogue.mode_of
    sets: dict[tuple[tuple[int, ...], int], None] = {}
    known = {(tuple(sorted(int(mode_of[r]) for r in rows))) for rows in found.rows}
    parents = [e for e in np.argsort(-found.log_weight, kind="stable") if found.slip[e] < 0][:PARENTS]
    for e in parents:
        for row in _extensions(engine, readings, found, int(e)):
            rows = tuple(sorted((*found.rows[e], row)))
            key = tuple(sorted(int(mode_of[r]) for r in rows))
            if len(set(key)) == len(key) and key not in known:
                known.add(key)
                sets[(rows, -1)] = None
    if not sets:
        return None
    return _weigh_rows(engine, readings, [r for r, _ in sets], [s for _, s in sets])


def _extensions(engine: Engine, readings: Readings, found: Explanations, e: int) -> list[int]:
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
            volts, ohms = scan_changes(engine.stage(setup), catalogue.changes, base, selectors)
            for k, i in enumerate(here):
                predicted[:, i] = _as_read(readings.numbers[i], volts[:, k], ohms[:, k])
        moved = predicted - predicted[0]
        left = found.residual[e][None] - moved
        loading = np.repeat(found.loading[e][None], count, axis=0)
        spread = np.repeat(found.spread[e][None], count, axis=0)
        # The cell's own spread lets a severity between two grid values fit as well.
        for k in range(catalogue.changes.index.shape[1]):
            column = catalogue.changes.index[:, k]
            rows = np.flatnonzero((column >= 0) & (catalogue.spread_of > 0))
            spread[rows, column[rows]] = catalogue.spread_of[rows]
            loading[rows, :, column[rows]] = moved[rows]
        score += gaussian_evidence(left, loading, spread, readings.noise).whole
    score[0] = -np.inf
    mine = {int(catalogue.mode_of[r]) for r in found.rows[e]}
    picked: list[int] = []
    modes: set[int] = set(mine)
    for row in np.argsort(-score, kind="stable"):
        mode = int(catalogue.mode_of[row])
        if mode in modes:
            continue
        modes.add(mode)
        picked.append(int(row))
        if len(picked) == CHILDREN:
            break
    return picked


def _as_read(reading: Reading, volts: Floats, ohms: Floats) -> Floats:
    """Port values in the scale of a reading's prediction."""
    if reading.kind == "ohms":
        result: Floats = np.log(np.clip(ohms + LEADS, 1e-3, 1e9))
        return result
    return volts / AMMETER_OHMS if reading.kind == "amps" else volts

"""Find the explanations that matter: every single fault, then sets where singles explain badly."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.evidence import evidence_of, heaviest
from backprobe.diagnosis.explain import Explanations, join
from backprobe.diagnosis.fault_sets import blur_of, distinct, explained, weigh_rows
from backprobe.diagnosis.given import Readings
from backprobe.diagnosis.grow import BEND, larger
from backprobe.diagnosis.predict import SLIP
from backprobe.diagnosis.seen import chance_of_rows, soften

KEEP = 80
"""Explanations polished at once."""
KEEP_WORDS = 200
"""The same while there is no number yet: nothing has to be fitted, and much is possible."""
WINDOW = 16.0
"""Natural-log distance from the best beyond which a single fault is not polished."""
LEAST = 12
"""Explanations polished however far from the best."""
CELLS = 2
"""Severity cells of one mode polished: neighbours converge to the same state."""
APART = 3.0
"""Severities of two cells of one mode that are both worth polishing lie this far apart [ln]."""


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
    found, _ = evidence_of(*single_misses(engine, readings, coarse=coarse))
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


def single_misses(engine: Engine, readings: Readings, *, coarse: bool = False) -> tuple[Floats, Floats]:
    """``(c, r)`` what single faults leave over of the numbers, and the ``(c, r, r)`` covariance of that."""
    count, numbers = engine.catalogue.count, len(readings.numbers)
    predictions = [engine.single_number(r) for r in readings.numbers]
    residual = readings.measured - _columns([p.mean for p in predictions], count)
    extra = _columns([p.extra for p in predictions], count)
    # A straight line through a cell's centre is off towards its edges by a share of what the cell spans.
    extra += BEND**2 * _columns([engine.single_span(r) for r in readings.numbers], count)
    if coarse:
        extra += blur_of(engine, readings)
    covariance = engine.single_covariance(readings.numbers) + readings.noise
    covariance[:, np.arange(numbers), np.arange(numbers)] += extra
    return residual, covariance


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
    current = weigh_rows(engine, readings, rows, [s for _, s in taken], _left_out(engine, stack, taken))
    everything = current
    if readings.numbers and not explained(current):
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
            added = weigh_rows(engine, readings, rows, [s for _, s in more])
            everything = distinct(engine, join([current, added]))
    if not explained(everything):
        everything = larger(engine, readings, everything)
    return everything


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
    bonus = np.zeros(len(taken))
    whole = engine.by_mode(stack)
    together: dict[tuple[int, int], list[int]] = {}
    for t, (row, slip) in enumerate(taken):
        # The circuit as built is a row of its own.
        if (mode := int(engine.catalogue.mode_of[row])) >= 0:
            together.setdefault((mode, slip), []).append(t)
    for (mode, slip), mine in together.items():
        chosen = np.logaddexp.reduce([stack[taken[t][0], slip + 1] for t in mine])
        most = np.log(len(engine.rows_of_mode[mode]))
        bonus[mine] = min(max(whole[mode, slip + 1] - chosen, 0.0), most)
    return bonus

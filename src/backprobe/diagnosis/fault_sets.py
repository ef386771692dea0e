"""Explanations as sets of faults: which are one, which are the heaviest, whether nothing is left over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.evidence import heaviest
from backprobe.diagnosis.explain import Explanations, prior_state, weigh
from backprobe.diagnosis.given import Readings
from backprobe.diagnosis.predict import SLIP

FaultSet = tuple[tuple[int, ...], int]
MET = 2.0
"""Severities that lie within this of each other are one state [ln]."""
FITS = 2.0
"""Standard deviations within which a reading counts as explained."""
EXPECTED = 0.3
"""Chance from which something seen counts as expected."""
BLUR = 0.02
"""Blur of volts, as a share of the system's [1]: about what a worn joint or two may take."""
BLUR_LOG = 0.2


def blur_of(engine: Engine, readings: Readings) -> Floats:
    """``(r,)`` variance that makes readings coarse: what a little wear elsewhere may shift them by."""
    coarse = {"volts": BLUR * engine.sheet.system_volts, "ohms": BLUR_LOG, "amps": BLUR_LOG}
    return np.array([coarse[r.kind] ** 2 for r in readings.numbers])


def explained(found: Explanations) -> bool:
    """Whether the best explanation leaves nothing over: no reading stands out, nothing seen surprises."""
    return fits(found) and bool(found.slip[int(np.argmax(found.log_weight))] < 0)


def fits(found: Explanations) -> bool:
    """The same, where one reading may be a slip."""
    e = int(np.argmax(found.log_weight))
    fits = found.misfit.shape[1] == 0 or float(np.abs(found.misfit[e]).max()) < FITS
    return bool(fits and (found.chance[e] > EXPECTED).all())


def distinct(engine: Engine, found: Explanations) -> Explanations:
    """Best first; cells of one set of faults with one slip that met in one state are counted together."""
    kept: dict[tuple[tuple[int, ...], int], list[int]] = {}
    total = found.log_weight.copy()
    for e in heaviest(found.log_weight):
        alike = kept.setdefault((modes_of(engine, found.rows[e]), int(found.slip[e])), [])
        met = [k for k in alike if _apart(engine, found, e, k) < MET]
        if met:
            total[met[0]] = np.logaddexp(total[met[0]], found.log_weight[e])
        else:
            alike.append(int(e))
    heads = {e for alike in kept.values() for e in alike}
    first = [e for e in heaviest(total) if e in heads]
    chosen = found.take(first)
    chosen.log_weight = total[first]
    return chosen


def _apart(engine: Engine, found: Explanations, one: int, other: int) -> float:
    """How far the severities of two explanations of the same faults lie apart [ln]."""
    return float(np.abs(severities(engine, found, one) - severities(engine, found, other)).max(initial=0.0))


def fault_set(engine: Engine, found: Explanations, e: int) -> FaultSet:
    """The faults of an explanation, whatever their severity, and its slip."""
    return modes_of(engine, found.rows[e]), int(found.slip[e])


def severities(engine: Engine, found: Explanations, e: int) -> Floats:
    """``(k,)`` logarithms of what the faults of an explanation change, resistances only."""
    rows = found.rows[e]
    changed = sorted({int(k) for r in rows for k in engine.catalogue.changes.index[r] if k >= 0})
    logs: Floats = np.log(found.values[e, [k for k in changed if engine.circuit.logarithmic[k]]])
    return logs


def weigh_rows(
    engine: Engine,
    readings: Readings,
    rows: Sequence[tuple[int, ...]],
    slips: Sequence[int],
    bonus: Floats | float = 0.0,
) -> Explanations:
    """Weigh sets of catalogue rows, each with a reading as a slip or -1; like states counted together."""
    priors = prior_state(engine, rows)
    priors = replace(priors, log_prior=priors.log_prior + bonus)
    found = weigh(engine, readings, priors, np.array(slips, np.int64))
    return distinct(engine, found)


def heads(engine: Engine, found: Explanations, weight: Floats) -> list[int]:
    """The heaviest explanation of each set of faults, heaviest first."""
    heads: dict[tuple[int, ...], int] = {}
    for e in heaviest(weight):
        if not np.isfinite(weight[e]):
            break
        heads.setdefault(modes_of(engine, found.rows[e]), int(e))
    return list(heads.values())


def coarse_weight(engine: Engine, readings: Readings, found: Explanations) -> Floats:
    """``(e,)`` log weight with blurred readings: what explains the gross of them, whatever is left over."""
    variance = np.diag(readings.noise) + blur_of(engine, readings)
    misfit = found.residual**2 / variance
    slipped = np.flatnonzero(found.slip >= 0)
    misfit[slipped, found.slip[slipped]] = -2 * np.log(SLIP)
    result: Floats = found.log_prior + np.log(found.chance).sum(axis=1) - 0.5 * misfit.sum(axis=1)
    return result


def modes_of(engine: Engine, rows: tuple[int, ...]) -> tuple[int, ...]:
    """The faults of catalogue rows, whatever their severity."""
    return tuple(sorted(int(engine.catalogue.mode_of[r]) for r in rows))

"""Explanations: sets of faults with a state each, weighed against the readings.

An explanation is a set of faults, each at a severity cell, on an otherwise sound circuit
whose values keep their tolerances. Its state (every resistance, volt and amp) is the most
probable one given the readings, found by Gauss-Newton steps from the cell's centre; its
weight is its prior times the evidence at that state (Laplace's method).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from backprobe.circuit.compiled import Floats, Ints
from backprobe.circuit.solve import Changes
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.evidence import LOG_2PI, Evidence
from backprobe.diagnosis.fit import STEPS, Fit
from backprobe.diagnosis.given import Priors, Readings
from backprobe.diagnosis.predict import SLIP

SLIPPED = 1e8
"""Variance that takes a slipped reading out of the fit [V2, A2 or 1]."""


@dataclass(slots=True, eq=False)
class Explanations:
    """A batch of explanations.

    Parameters
    ----------
    rows
        For each explanation the catalogue rows of its faults, ascending; empty for as built.
    slip
        ``(e,)`` index of the reading taken to be a slip, -1 for none.
    log_prior, log_weight
        ``(e,)`` natural logarithms; the weight is not normalised.
    values
        ``(e, p)`` most probable parameter values.
    start, spread
        ``(e, p)`` prior centre and prior standard deviation of the parameters.
    predicted, residual
        ``(e, r)`` of the numeric readings at the most probable state.
    misfit
        ``(e, r)`` residual of each reading given all the others, in standard deviations.
    chance
        ``(e, q)`` probability of each reading that is not a number.
    evidence, loading
        Of the last step: what the posterior covariance follows from.
    """

    rows: tuple[tuple[int, ...], ...]
    slip: Ints
    log_prior: Floats
    log_weight: Floats
    values: Floats
    start: Floats
    spread: Floats
    predicted: Floats
    residual: Floats
    misfit: Floats
    chance: Floats
    loading: Floats
    evidence: Evidence | None

    @property
    def count(self) -> int:
        """Number of explanations."""
        return len(self.rows)

    def take(self, chosen: Sequence[int] | Ints) -> Explanations:
        """Some of the explanations, in the given order."""
        i = np.asarray(chosen, np.int64)
        ev = self.evidence
        return Explanations(
            tuple(self.rows[k] for k in i),
            self.slip[i],
            self.log_prior[i],
            self.log_weight[i],
            self.values[i],
            self.start[i],
            self.spread[i],
            self.predicted[i],
            self.residual[i],
            self.misfit[i],
            self.chance[i],
            self.loading[i],
            None if ev is None else Evidence(ev.whole[i], ev.alone[i], ev.gain[i], ev.weighted[i]),
        )


def join(batches: Sequence[Explanations]) -> Explanations:
    """Several batches as one."""
    evs = [b.evidence for b in batches]

    def cat(get: Callable[[Explanations], Floats]) -> Floats:
        return np.concatenate([get(b) for b in batches])

    return Explanations(
        tuple(r for b in batches for r in b.rows),
        np.concatenate([b.slip for b in batches]),
        cat(lambda b: b.log_prior),
        cat(lambda b: b.log_weight),
        cat(lambda b: b.values),
        cat(lambda b: b.start),
        cat(lambda b: b.spread),
        cat(lambda b: b.predicted),
        cat(lambda b: b.residual),
        cat(lambda b: b.misfit),
        cat(lambda b: b.chance),
        cat(lambda b: b.loading),
        Evidence(
            np.concatenate([e.whole for e in evs if e]),
            np.concatenate([e.alone for e in evs if e]),
            np.concatenate([e.gain for e in evs if e]),
            np.concatenate([e.weighted for e in evs if e]),
        ),
    )


def weigh(
    engine: Engine, readings: Readings, priors: Priors, slip: Ints, *, steps: int = STEPS
) -> Explanations:
    """Find the most probable state of each explanation and its weight.

    Parameters
    ----------
    slip
        ``(e,)`` index of the numeric reading taken to be a slip, -1 for none.
    steps
        Gauss-Newton steps.
    """
    rows, start, spread = priors.rows, priors.start, priors.spread
    circuit = engine.circuit
    numbers = len(readings.numbers)
    noise = np.repeat(readings.noise[None], len(rows), axis=0)
    slipped = np.flatnonzero(slip >= 0)
    noise[slipped, slip[slipped], slip[slipped]] += SLIPPED
    work = Fit(engine, readings, priors, slip, noise)
    work.climb(steps)
    everything = np.arange(len(rows))
    evidence, offset = work.linear(everything)
    residual = readings.measured - work.predicted
    moved = circuit.coordinates(work.at) - circuit.coordinates(start)
    total = work.noise(everything)
    evidence = replace(evidence, whole=_laplace(residual, moved, spread, total, work.loading))
    log_prior = priors.log_prior + work.burnt
    log_weight = log_prior + evidence.whole + np.log(work.chance).sum(axis=1) + numbers * np.log1p(-SLIP)
    if slipped.size:
        taken = slip[slipped]
        log_weight[slipped] += (
            np.log(SLIP) - np.log1p(-SLIP) + readings.slip_log[taken] - evidence.alone[slipped, taken]
        )
    return Explanations(
        rows,
        slip,
        log_prior,
        log_weight,
        work.at,
        start,
        spread,
        work.predicted,
        residual,
        _misfit(evidence, offset, work.loading, spread, total),
        work.chance,
        work.loading,
        evidence,
    )


def _laplace(residual: Floats, moved: Floats, spread: Floats, noise: Floats, loading: Floats) -> Floats:
    """``(e,)`` log evidence at the state reached (Laplace's method, MacKay 2003, ch. 27).

    For a linear circuit this equals the joint Gaussian density; where the steps have not arrived it
    is what the state at hand deserves, not what the straight line through it promises.
    """
    count, numbers = residual.shape
    if numbers == 0:
        return np.zeros(count)
    fixed = spread <= 0
    penalty = np.where(fixed, 0.0, moved / np.where(fixed, 1.0, spread))
    fit = np.einsum("er,ers,es->e", residual, np.linalg.inv(noise), residual)
    scaled = loading * spread[:, None, :]
    _, log_det = np.linalg.slogdet(scaled @ scaled.transpose(0, 2, 1) + noise)
    result: Floats = -0.5 * (fit + (penalty**2).sum(axis=1) + log_det + numbers * LOG_2PI)
    return result


def _misfit(evidence: Evidence, residual: Floats, loading: Floats, spread: Floats, noise: Floats) -> Floats:
    if residual.shape[1] == 0:
        return residual
    scaled = loading * spread[:, None, :]
    inverse = np.linalg.inv(scaled @ scaled.transpose(0, 2, 1) + noise)
    result: Floats = evidence.weighted / np.sqrt(np.einsum("crr->cr", inverse))
    return result


def prior_state(engine: Engine, rows: Sequence[tuple[int, ...]]) -> Priors:
    """Prior centre, spread and log prior of explanations made of catalogue rows.

    The likeliest fault of a set pays its own prior; each further one pays what it costs
    *beside* another (`Catalogue.log_extra`).
    """
    catalogue, circuit = engine.catalogue, engine.circuit
    changes: Changes = catalogue.changes
    # Row 0 is the circuit as built.
    first = np.array([row[0] if row else 0 for row in rows], np.int64)
    start, log_prior = engine.single_values[first], catalogue.log_prior[first]
    fixed = engine.single_changed[first] & ~circuit.logarithmic
    spread = np.where(fixed, 0.0, engine.single_spread[first])
    for e, row in enumerate(rows):
        if len(row) < 2:
            continue
        for r in row[1:]:
            keys = changes.index[r]
            keys = keys[keys >= 0]
            start[e, keys] = changes.value[r, : keys.size]
            spread[e, keys] = np.where(circuit.logarithmic[keys], catalogue.spread_of[r], 0.0)
        own = catalogue.log_prior[list(row)] - catalogue.log_extra[list(row)]
        log_prior[e] = catalogue.log_extra[list(row)].sum() + own.max()
    return Priors(tuple(tuple(r) for r in rows), start, spread, log_prior)

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
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Changes, solve_together
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.evidence import LOG_2PI, Evidence, gaussian_evidence
from backprobe.diagnosis.predict import SLIP, burns, chance_of, noise_of, predict_number
from backprobe.diagnosis.seen import chance_of_rows, soften
from backprobe.readings.model import Reading

STEPS = 7
"""Most Gauss-Newton steps; the last solve only evaluates."""

ARRIVED = 0.1
"""Step that moves no reading by more than this share of its meter's spread: the state has arrived [1]."""

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


def slip_density(engine: Engine, readings: Sequence[Reading]) -> Floats:
    """``(r,)`` log density of a slipped number: anywhere between the rails, or over ln of ohms."""
    volts = 1.5 * engine.sheet.system_volts
    flat = {"volts": -np.log(volts), "ohms": -np.log(18.0), "amps": -np.log(30.0)}
    return np.array([flat[r.kind] for r in readings])


@dataclass(slots=True, eq=False)
class Readings:
    """The readings of a job, sorted into numbers and the rest, grouped by setup."""

    all: tuple[Reading, ...]
    numbers: tuple[Reading, ...]
    others: tuple[Reading, ...]
    measured: Floats
    noise: Floats
    slip_log: Floats

    @property
    def blown(self) -> frozenset[Setup]:
        """Setups in which a fuse was seen to blow."""
        return frozenset(r.setup for r in self.others if r.kind == "fuse" and r.seen == "blows")

    @property
    def setups(self) -> tuple[Setup, ...]:
        """Distinct setups that any reading needs solved."""
        needed = [r.setup for r in (*self.numbers, *self.others) if r.kind not in {"swapped", "looked"}]
        return tuple(dict.fromkeys(needed))


def sort_readings(engine: Engine, readings: Sequence[Reading]) -> Readings:
    """Sort readings; their order does not matter to anything that follows."""
    ordered = tuple(readings)
    numbers = tuple(r for r in ordered if r.numeric and not r.over_range)
    others = tuple(r for r in ordered if not (r.numeric and not r.over_range) and r.kind != "leads")
    measured, noise = noise_of(list(numbers))
    return Readings(ordered, numbers, others, measured, noise, slip_density(engine, numbers))


@dataclass(frozen=True, slots=True, eq=False)
class Priors:
    """Explanations before any reading: ``(e, p)`` centre and spread of the parameters, log prior ``(e,)``."""

    rows: tuple[tuple[int, ...], ...]
    start: Floats
    spread: Floats
    log_prior: Floats


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
    work = _Work(engine, readings, priors)
    noise = np.repeat(readings.noise[None], len(rows), axis=0)
    slipped = np.flatnonzero(slip >= 0)
    noise[slipped, slip[slipped], slip[slipped]] += SLIPPED
    active = np.arange(len(rows))
    work.take_singles()
    for step in range(steps + 1):
        if step or not work.all_single:
            work.evaluate(active)
        if step == steps or numbers == 0:
            break
        found, offset = work.linear(active, noise)
        change = np.einsum("cpr,cr->cp", found.gain, offset)
        change = np.clip(change, -4 * spread[active], 4 * spread[active])
        factor = np.exp(np.where(circuit.logarithmic, change, 0.0))
        wanted = np.where(circuit.logarithmic, start[active] * factor, start[active] + change)
        moves = circuit.coordinates(wanted) - circuit.coordinates(work.at[active])
        shown = np.abs(np.einsum("crp,cp->cr", work.loading[active], moves))
        meter = np.sqrt(np.einsum("crr->cr", noise[active]))
        far = (shown > ARRIVED * meter).any(axis=1) | (np.abs(moves) > spread[active]).any(axis=1)
        active = active[far]
        if not active.size:
            break
        work.at[active] = wanted[far]
    everything = np.arange(len(rows))
    evidence, offset = work.linear(everything, noise)
    residual = readings.measured - work.predicted
    moved = circuit.coordinates(work.at) - circuit.coordinates(start)
    total = work.noise(everything, noise)
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


class _Work:
    """What is known of a batch of explanations at the states they have reached."""

    def __init__(self, engine: Engine, readings: Readings, priors: Priors) -> None:
        self.engine, self.readings, self.priors = engine, readings, priors
        count, numbers = len(priors.rows), len(readings.numbers)
        self.at = priors.start.copy()
        self.predicted = np.zeros((count, numbers))
        self.loading = np.zeros((count, numbers, len(engine.circuit.parameters)))
        self.extra = np.zeros((count, numbers))
        self.chance = np.ones((count, len(readings.others)))
        self.burnt = np.zeros(count)
        self.all_single = all(len(r) <= 1 for r in priors.rows)

    def take_singles(self) -> None:
        """Single faults begin where the engine has them solved already."""
        if not self.all_single:
            return
        engine, readings = self.engine, self.readings
        row = np.array([r[0] if r else 0 for r in self.priors.rows])
        for i, reading in enumerate(readings.numbers):
            p = engine.single_number(reading)
            self.predicted[:, i], self.loading[:, i] = p.mean[row], p.loading[row]
            self.extra[:, i] = p.extra[row]
        for j, reading in enumerate(readings.others):
            plain = np.ones(len(row))
            if reading.setup in readings.setups:
                plain = engine.single_chance(reading)[row]
            self.chance[:, j] = soften(
                chance_of_rows(engine, reading, self.priors.rows, plain, readings.blown)
            )
        self.burnt[:] = sum((engine.single_burns(s)[row] for s in readings.setups), np.zeros(len(row)))

    def evaluate(self, active: Ints) -> None:
        """Solve the given explanations where they stand now."""
        engine, readings = self.engine, self.readings
        rows = [self.priors.rows[k] for k in active]
        plain = np.ones((len(active), len(readings.others)))
        self.burnt[active] = 0.0
        stages = [engine.stage(setup) for setup in readings.setups]
        for setup, solution in zip(readings.setups, solve_together(stages, self.at[active]), strict=True):
            self.burnt[active] += burns(solution, engine.limits(setup))
            for i, reading in enumerate(readings.numbers):
                if reading.setup == setup:
                    p = predict_number(solution, reading)
                    self.predicted[active, i], self.loading[active, i] = p.mean, p.loading
                    self.extra[active, i] = p.extra
            for j, reading in enumerate(readings.others):
                if reading.setup == setup:
                    plain[:, j] = chance_of(solution, reading)
        for j, reading in enumerate(readings.others):
            self.chance[active, j] = soften(
                chance_of_rows(engine, reading, rows, plain[:, j], readings.blown)
            )

    def noise(self, active: Ints, meter: Floats) -> Floats:
        """``(k, r, r)`` covariance of the meter's errors and of what does not come to rest."""
        result: Floats = meter[active] + np.einsum("cr,rs->crs", self.extra[active], np.eye(meter.shape[1]))
        return result

    def linear(self, active: Ints, meter: Floats) -> tuple[Evidence, Floats]:
        """Evidence of the circuits linearised where they stand, and the residual at the prior centre."""
        coordinates = self.engine.circuit.coordinates
        moved = coordinates(self.at[active]) - coordinates(self.priors.start[active])
        loading = self.loading[active]
        offset = self.readings.measured - self.predicted[active] + np.einsum("crp,cp->cr", loading, moved)
        found = gaussian_evidence(offset, loading, self.priors.spread[active], self.noise(active, meter))
        return found, offset


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
    start = np.repeat(circuit.nominal[None], len(rows), axis=0)
    spread = np.repeat(circuit.spread[None], len(rows), axis=0)
    log_prior = np.empty(len(rows))
    changes: Changes = catalogue.changes
    for e, row in enumerate(rows):
        if not row:
            log_prior[e] = catalogue.log_prior[0]
            continue
        for r in row:
            keys = changes.index[r]
            keys = keys[keys >= 0]
            start[e, keys] = changes.value[r, : keys.size]
            spread[e, keys] = np.where(circuit.logarithmic[keys], catalogue.spread_of[r], 0.0)
        own = catalogue.log_prior[list(row)] - catalogue.log_extra[list(row)]
        log_prior[e] = catalogue.log_extra[list(row)].sum() + own.max()
    return Priors(tuple(tuple(r) for r in rows), start, spread, log_prior)

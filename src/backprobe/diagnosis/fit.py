"""Bring a batch of explanations to their most probable states, all of them side by side.

The log density of a state is that of the readings given it and of the state itself before them. It is
climbed by Gauss-Newton steps. Where a mode changes on the way (a feed that begins to limit, a sensor that
starves) the slope breaks, and a step may jump over the ridge: the best state met so far is kept, and a
step that leads lower is halved.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from backprobe.circuit.compiled import Bools, Floats, Ints
from backprobe.circuit.course import Course
from backprobe.circuit.full import solve_together
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Solution
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.evidence import Evidence, gaussian_evidence
from backprobe.diagnosis.given import Priors, Readings
from backprobe.diagnosis.patience import breathe
from backprobe.diagnosis.predict import (
    CHATTER_SPREAD,
    burns,
    chance_of,
    predict_number,
    predict_together,
)
from backprobe.diagnosis.seen import chance_of_rows, soften

STEPS = 7
"""Most steps; the last solve only evaluates."""

ARRIVED = 0.05
"""Step that may change the log density by no more than about this: the state has arrived [nat]."""

PATIENCE = 2
"""Steps that may lead lower, one after the other, before the best state so far is taken."""

HOPELESS = 40.0
"""Log density behind the best that another explanation has reached from which one is given up [nat]."""

FLAT = 0.02
"""Log density by which a further step must be better to go on [nat]."""


class Fit:
    """A batch of explanations on the way to their most probable states.

    Parameters
    ----------
    slip
        ``(e,)`` index of the numeric reading taken to be a slip, -1 for none.
    meter
        ``(e, r, r)`` covariance of the meter's errors; huge where a reading is taken for a slip.
    """

    def __init__(self, engine: Engine, readings: Readings, priors: Priors, slip: Ints, meter: Floats) -> None:
        self.engine, self.readings, self.priors, self.meter = engine, readings, priors, meter
        self.slip = slip
        count, numbers = len(priors.rows), len(readings.numbers)
        self.at = priors.start.copy()
        self.predicted = np.zeros((count, numbers))
        self.loading = np.zeros((count, numbers, len(engine.circuit.parameters)))
        self.extra = np.zeros((count, numbers))
        self.chance = np.ones((count, len(readings.others)))
        self.burnt = np.zeros(count)
        self.all_single = all(len(r) <= 1 for r in priors.rows)
        devices = len(engine.circuit.devices)
        self.courses = [Course.unknown(count, devices) for _ in readings.setups]
        """How the circuits came to rest in each setup, step by step."""

    def climb(self, steps: int) -> None:
        """Go to the most probable states; what is known is then of these."""
        count = len(self.priors.rows)
        active = np.arange(count)
        best, idle = _Best(self), np.zeros(count, np.int64)
        if self.all_single:
            self._take_singles()
        for step in range(steps + 1):
            if step or not self.all_single:
                self.evaluate(active)
            if not self.readings.numbers:
                return
            gain = best.keep(active)
            if step == steps:
                break
            idle[active] = np.where(gain > FLAT, 0, idle[active] + 1)
            wanted, far, promise = self._step(active)
            # From where it went lower: halfway back to the best.
            back = gain <= 0
            wanted[back] = self._between(best.at[active[back]], self.at[active[back]])
            going = (far | back) & (idle[active] < PATIENCE)
            if step:
                # What chatters still after a step has no slope to climb.
                going &= (self.extra[active] < CHATTER_SPREAD**2).all(axis=1)
                # Where the slope still bends a promise says little: another step like the last counts too.
                hope = np.maximum(promise, best.value[active] + np.maximum(gain, 0.0))
                going &= self._hopeful(active, hope, best.value)
            active = active[going]
            if not active.size:
                break
            self.at[active] = wanted[going]
        best.restore()

    def _step(self, active: Ints) -> tuple[Floats, Bools, Floats]:
        """Where a Gauss-Newton step leads, whether that is far enough to be taken, and what it promises."""
        circuit, spread = self.engine.circuit, self.priors.spread[active]
        start = self.priors.start[active]
        found, offset = self.linear(active)
        change = np.clip(np.einsum("cpr,cr->cp", found.gain, offset), -4 * spread, 4 * spread)
        factor = np.exp(np.where(circuit.logarithmic, change, 0.0))
        wanted = np.where(circuit.logarithmic, start * factor, start + change)
        moves = circuit.coordinates(wanted) - circuit.coordinates(self.at[active])
        shown = np.einsum("crp,cp->cr", self.loading[active], moves)
        felt = np.divide(moves, spread, out=np.zeros_like(moves), where=spread > 0)
        # Readings share the meter's gain: their differences tell more than each of them.
        told = (shown * np.linalg.solve(self.noise(active), shown[..., None])[..., 0]).sum(axis=1)
        return wanted, 0.5 * (told + (felt**2).sum(axis=1)) > ARRIVED, self._promise(active, found, offset)

    def _promise(self, active: Ints, found: Evidence, offset: Floats) -> Floats:
        """``(k,)`` log density that a Gauss-Newton step would reach in linear circuits, as in `density`."""
        _, log_det = np.linalg.slogdet(self.noise(active))
        seen = np.log(self.chance[active]).sum(axis=1) + self.burnt[active]
        result: Floats = seen - 0.5 * ((found.weighted * offset).sum(axis=1) + log_det)
        return result

    def _hopeful(self, active: Ints, hope: Floats, reached: Floats) -> Bools:
        """``(k,)`` whether the log density hoped for comes near the best that others have reached already.

        Those that take every reading as read are compared among themselves, and so are the others.
        """
        reached = reached + self.priors.log_prior
        slipped = self.slip >= 0
        best = [reached[some].max(initial=-np.inf) for some in (~slipped, slipped)]
        wanted = np.where(slipped[active], best[1], best[0]) - HOPELESS
        result: Bools = hope + self.priors.log_prior[active] > wanted
        return result

    def _between(self, one: Floats, other: Floats) -> Floats:
        """Halfway between states, along logarithms where these count."""
        log = self.engine.circuit.logarithmic
        result: Floats = np.where(log, np.sqrt(np.abs(one * other)), 0.5 * (one + other))
        return result

    def density(self, active: Ints) -> Floats:
        """``(k,)`` log density of the states, but for what is the same at all of them [nat]."""
        spread = self.priors.spread[active]
        coordinates = self.engine.circuit.coordinates
        moved = coordinates(self.at[active]) - coordinates(self.priors.start[active])
        penalty = np.divide(moved, spread, out=np.zeros_like(moved), where=spread > 0)
        noise = self.noise(active)
        residual = self.readings.measured - self.predicted[active]
        fit = (residual * np.linalg.solve(noise, residual[..., None])[..., 0]).sum(axis=1)
        _, log_det = np.linalg.slogdet(noise)
        seen = np.log(self.chance[active]).sum(axis=1) + self.burnt[active]
        result: Floats = seen - 0.5 * (fit + (penalty**2).sum(axis=1) + log_det)
        return result

    def _take_singles(self) -> None:
        """Single faults begin where the engine has them solved already."""
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
        self.courses = [engine.course(s).at(row) for s in readings.setups]
        self.burnt[:] = sum((engine.single_burns(s)[row] for s in readings.setups), np.zeros(len(row)))

    def evaluate(self, active: Ints) -> None:
        """Solve the given explanations where they stand now."""
        breathe()
        engine, readings = self.engine, self.readings
        rows = [self.priors.rows[k] for k in active]
        plain = np.ones((len(active), len(readings.others)))
        self.burnt[active] = 0.0
        stages = [engine.stage(setup) for setup in readings.setups]
        courses = [course.at(active) for course in self.courses]
        solutions = solve_together(stages, self.at[active], courses)
        for whole, course in zip(self.courses, courses, strict=True):
            whole.put(active, course)
        self._take_numbers(dict(zip(readings.setups, solutions, strict=True)), active)
        for setup, solution in zip(readings.setups, solutions, strict=True):
            self.burnt[active] += burns(solution, engine.limits(setup))
            for j, reading in enumerate(readings.others):
                if reading.setup == setup:
                    plain[:, j] = chance_of(solution, reading)
        for j, reading in enumerate(readings.others):
            self.chance[active, j] = soften(
                chance_of_rows(engine, reading, rows, plain[:, j], readings.blown)
            )

    def _take_numbers(self, solved: Mapping[Setup, Solution], active: Ints) -> None:
        """Take what the solved explanations show for the numeric readings."""
        alike: dict[tuple[Setup, str], list[int]] = {}
        for i, reading in enumerate(self.readings.numbers):
            if reading.kind == "amps":
                p = predict_number(solved[reading.setup], reading)
                self.predicted[active, i], self.loading[active, i] = p.mean, p.loading
                self.extra[active, i] = p.extra
            else:
                alike.setdefault((reading.setup, reading.kind), []).append(i)
        asked = [
            (solved[setup], [self.readings.numbers[i] for i in some]) for (setup, _), some in alike.items()
        ]
        for some, p in zip(alike.values(), predict_together(asked), strict=True):
            for k, i in enumerate(some):
                self.predicted[active, i], self.loading[active, i] = p.mean[k], p.loading[k]
                self.extra[active, i] = p.extra[k]

    def noise(self, active: Ints) -> Floats:
        """``(k, r, r)`` covariance of the meter's errors and of what does not come to rest."""
        extra = np.einsum("cr,rs->crs", self.extra[active], np.eye(self.meter.shape[1]))
        result: Floats = self.meter[active] + extra
        return result

    def linear(self, active: Ints) -> tuple[Evidence, Floats]:
        """Evidence of the circuits linearised where they stand, and the residual at the prior centre."""
        coordinates = self.engine.circuit.coordinates
        moved = coordinates(self.at[active]) - coordinates(self.priors.start[active])
        loading = self.loading[active]
        offset = self.readings.measured - self.predicted[active] + np.einsum("crp,cp->cr", loading, moved)
        found = gaussian_evidence(offset, loading, self.priors.spread[active], self.noise(active))
        return found, offset


class _Best:
    """The most probable state that each explanation of a fit has met, and what is known of it."""

    def __init__(self, fit: Fit) -> None:
        self.fit = fit
        self.kept = [a.copy() for a in self._arrays()]
        self.value = np.full(len(fit.at), -np.inf)

    def _arrays(self) -> tuple[Floats, ...]:
        f = self.fit
        return f.at, f.predicted, f.loading, f.extra, f.chance, f.burnt

    @property
    def at(self) -> Floats:
        """``(e, p)`` the states."""
        return self.kept[0]

    def keep(self, active: Ints) -> Floats:
        """Take over the states that are better; gives by how much each is ``(k,)`` [nat]."""
        now = self.fit.density(active)
        gain: Floats = now - self.value[active]
        better = active[gain > 0]
        self.value[better] = now[gain > 0]
        for kept, array in zip(self.kept, self._arrays(), strict=True):
            kept[better] = array[better]
        return gain

    def restore(self) -> None:
        """Put the fit back to the best states."""
        for kept, array in zip(self.kept, self._arrays(), strict=True):
            array[:] = kept

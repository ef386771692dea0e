"""Fit every hypothesis about three pins to what was read, and weigh it.

Each hypothesis is three sources behind resistances, its six numbers Gaussian beforehand. The most
probable state is found by damped Gauss-Newton steps, the weight is prior times evidence there by
Laplace's method (D. J. C. MacKay: Information Theory, Inference, and Learning Algorithms, chapter 27
[mem]).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, log

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.setup import VOLTMETER_OHMS
from backprobe.workbench.pinout_families import Hypotheses
from backprobe.workbench.pinout_lines import GROUND, PinReading
from backprobe.workbench.thevenin import HANDHELD

STEPS = 40
NUDGE = 1e-4
OWN_VOLTS, OWN_SHARE = 0.008, 0.006
"""What a reading may be off beside the meter: contact, battery, the known resistor [V, 1]."""
OHMS_SPREAD = (1.5, 0.15, 1.0)
"""How well a pin's ohms with the key off follow its resistance with the key on: feed, ground, signal
[ln ohm]; common practice, no source."""
REST_OHMS = 4e4
"""Feed to ground with the key off [ohm]; from memory."""
LEADS, OVER_RANGE = 0.3, 2e7
"""Resistance of the leads [ohm], and what a handheld still shows [ohm]; common practice, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Every hypothesis in its most probable state.

    Parameters
    ----------
    state
        ``(h, 6)`` as in `Hypotheses.mean`.
    covariance
        ``(h, 6, 6)``.
    log_weight
        ``(h,)`` natural logarithm of prior times evidence.
    """

    state: Floats
    covariance: Floats
    log_weight: Floats


def predicted(
    model: Hypotheses, state: Floats, readings: Sequence[PinReading], pins: Sequence[str]
) -> Floats:
    """``(h, r)`` what every hypothesis says the meter shows [V or ln ohm].

    Parameters
    ----------
    state
        ``(h, 6)`` volts and ln ohms of feed, ground and signal.
    """
    places = np.array(model.places)
    count = len(places)
    order = np.argsort(places, axis=1)
    """Role of each pin."""
    volts = state[:, :3].copy()
    volts[:, 2] *= np.where(model.of_feed, volts[:, 0], 1.0)
    siemens = np.exp(-state[:, 3:])
    of_pin = np.take_along_axis(siemens, order, axis=1)
    driven = np.take_along_axis(volts * siemens, order, axis=1)
    ohms = np.take_along_axis(state[:, 3:], order, axis=1)
    result = np.empty((count, len(readings)))
    for k, reading in enumerate(readings):
        red = pins.index(reading.red)
        if reading.unit == "ohm":
            own = np.where(order[:, red] == 0, log(REST_OHMS), ohms[:, red])
            result[:, k] = np.log(np.minimum(np.exp(own) + LEADS, OVER_RANGE))
            continue
        matrix = np.zeros((count, 3, 3))
        matrix[:, np.arange(3), np.arange(3)] = of_pin
        for other, load in ((reading.far, reading.load), (reading.black, VOLTMETER_OHMS)):
            if isfinite(load):
                _join(matrix, red, None if other == GROUND else pins.index(other), 1 / load)
        found = np.linalg.solve(matrix, driven[:, :, None])[:, :, 0]
        black = 0.0 if reading.black == GROUND else found[:, pins.index(reading.black)]
        result[:, k] = found[:, red] - black
    return result


def _join(matrix: Floats, one: int, other: int | None, siemens: float) -> None:
    matrix[:, one, one] += siemens
    if other is not None:
        matrix[:, other, other] += siemens
        matrix[:, one, other] -= siemens
        matrix[:, other, one] -= siemens


def measured(readings: Sequence[PinReading]) -> Floats:
    """``(r,)`` what was read, in the scale it is compared in [V or ln ohm]."""
    return np.array(
        [r.value if r.unit == "V" else log(min(max(r.value, 0.05), OVER_RANGE)) for r in readings]
    )


def noise(model: Hypotheses, readings: Sequence[PinReading], pins: Sequence[str]) -> Floats:
    """``(h, r)`` standard deviation of each reading beside what the hypothesis leaves open."""
    order = np.argsort(np.array(model.places), axis=1)
    columns = []
    for r in readings:
        if r.unit == "ohm":
            columns.append(np.array(OHMS_SPREAD)[order[:, pins.index(r.red)]])
        else:
            own = (HANDHELD.spread(r.value, r.digit) ** 2 + OWN_VOLTS**2 + (OWN_SHARE * r.value) ** 2) ** 0.5
            columns.append(np.full(len(order), own))
    return np.stack(columns, 1) if columns else np.zeros((len(order), 0))


def slopes(model: Hypotheses, state: Floats, readings: Sequence[PinReading], pins: Sequence[str]) -> Floats:
    """``(h, r, 6)`` derivatives of what is predicted, by central differences."""
    found = []
    for k in range(6):
        step = np.zeros(6)
        step[k] = NUDGE
        ahead = predicted(model, state + step, readings, pins)
        found.append((ahead - predicted(model, state - step, readings, pins)) / (2 * NUDGE))
    result: Floats = np.stack(found, 2)
    return result


def fit(model: Hypotheses, readings: Sequence[PinReading], pins: Sequence[str]) -> Fit:
    """All hypotheses, fitted to all readings."""
    precision = 1 / model.spread**2
    prior = np.einsum("hi,ij->hij", precision, np.eye(6))
    if not readings:
        return Fit(model.mean.copy(), np.linalg.inv(prior), model.log_prior.copy())
    y = measured(readings)
    weight = 1 / noise(model, readings, pins) ** 2

    def cost(at: Floats) -> Floats:
        left = y - predicted(model, at, readings, pins)
        result: Floats = (left**2 * weight).sum(1) + ((at - model.mean) ** 2 * precision).sum(1)
        return result

    state, damping = model.mean.copy(), np.full(len(model.mean), 1.0)
    now = cost(state)
    for _ in range(STEPS):
        slope = slopes(model, state, readings, pins)
        left = y - predicted(model, state, readings, pins)
        matrix = prior + np.einsum("hri,hr,hrj->hij", slope, weight, slope)
        pull = np.einsum("hri,hr,hr->hi", slope, weight, left) - (state - model.mean) * precision
        matrix[:, np.arange(6), np.arange(6)] *= 1 + damping[:, None]
        step = np.clip(np.linalg.solve(matrix, pull[:, :, None])[:, :, 0], -2.5, 2.5)
        there = cost(state + step)
        better = there <= now
        state = np.where(better[:, None], state + step, state)
        gain = np.where(better, now - there, 0.0)
        now = np.where(better, there, now)
        damping = np.where(better, damping * 0.2, np.minimum(damping * 6, 1e8))
        if (gain < 1e-6).all() and (better | (damping > 1e4)).all():
            break
    slope = slopes(model, state, readings, pins)
    matrix = prior + np.einsum("hri,hr,hrj->hij", slope, weight, slope)
    log_evidence = -0.5 * now - 0.5 * np.linalg.slogdet(matrix)[1] - np.log(model.spread).sum(1)
    log_evidence += 0.5 * np.log(weight / (2 * np.pi)).sum(1)
    return Fit(state, np.linalg.inv(matrix), model.log_prior + log_evidence)

"""Gaussian evidence of readings, one batch of explanations at a time, with and without a slip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Floats

LOG_2PI = float(np.log(2 * np.pi))

SAME = 8
"""Decimals to which weights are compared: what differs by rounding alone keeps its own order."""


def heaviest(weights: Floats) -> list[int]:
    """Places by falling weight, of like ones the earlier first."""
    return [int(k) for k in np.argsort(-np.round(weights, SAME), kind="stable")]


@dataclass(frozen=True, slots=True)
class Evidence:
    """Log evidence of numeric readings.

    Parameters
    ----------
    whole
        ``(c,)`` natural logarithm of the joint density of all readings.
    alone
        ``(c, r)`` logarithm of each reading's density given all the others.
    gain
        ``(c, p, r)``: the update of the parameters per unit of residual.
    weighted
        ``(c, r)``: inverse covariance times residual.
    """

    whole: Floats
    alone: Floats
    gain: Floats
    weighted: Floats


def gaussian_evidence(residual: Floats, loading: Floats, spread: Floats, noise: Floats) -> Evidence:
    """Evidence of linearised predictions with shared causes.

    The readings are jointly Gaussian with covariance ``L diag(s^2) L' + noise``; each reading's
    density given the others follows from the inverse covariance (Sundararajan and Keerthi 2001,
    leave-one-out formulas of Gaussian models).

    Parameters
    ----------
    residual
        ``(c, r)`` measured minus predicted at the prior mean.
    loading
        ``(c, r, p)`` derivatives.
    spread
        ``(c, p)`` prior standard deviations.
    noise
        ``(c, r, r)`` or ``(r, r)`` covariance of the meter's errors.
    """
    count, readings = residual.shape
    if readings == 0:
        empty = np.zeros((count, 0))
        return Evidence(np.zeros(count), empty, np.zeros((count, spread.shape[1], 0)), empty)
    scaled = loading * spread[:, None, :]
    found, inverse = evidence_of(residual, scaled @ scaled.transpose(0, 2, 1) + noise)
    gain = (scaled * spread[:, None, :]).transpose(0, 2, 1) @ inverse
    return Evidence(found.whole, found.alone, gain, found.weighted)


@dataclass(frozen=True, slots=True)
class Density:
    """What `Evidence` holds, without the parameters."""

    whole: Floats
    alone: Floats
    weighted: Floats


def evidence_of(residual: Floats, covariance: Floats) -> tuple[Density, Floats]:
    """Evidence of jointly Gaussian readings, and the inverse ``(c, r, r)`` of their covariance.

    Parameters
    ----------
    residual
        ``(c, r)`` measured minus predicted at the prior mean.
    covariance
        ``(c, r, r)`` of all that moves the readings.
    """
    readings = residual.shape[1]
    inverse = np.asarray(np.linalg.inv(covariance), np.float64)
    weighted = (inverse @ residual[:, :, None])[:, :, 0]
    distance = (residual * weighted).sum(axis=1)
    _, log_det = np.linalg.slogdet(covariance)
    whole = -0.5 * (distance + log_det + readings * LOG_2PI)
    precision = np.diagonal(inverse, axis1=1, axis2=2)
    alone = -0.5 * (weighted**2 / precision - np.log(precision) + LOG_2PI)
    return Density(whole, alone, weighted), inverse

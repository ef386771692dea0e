"""Inference worked by hand, and the arithmetic it rests on."""

from __future__ import annotations

from math import exp, pi, sqrt

import numpy as np
import pytest

import backprobe as bp
from backprobe.diagnosis.evidence import gaussian_evidence
from backprobe.diagnosis.predict import SLIP
from backprobe.faults.catalogue import AS_BUILT, NONE_OF_THESE

SHEET = """
sheet: A battery and one resistor
system: 12 V
runs:
  only: [battery+, resistor R1 1 kohm, battery-]
parts:
  battery: {kind: battery, volts: 12.0..13.0 V, resistance: 19..21 mohm}
"""


def density(x: float, mean: float, sd: float) -> float:
    """Normal density."""
    return exp(-0.5 * ((x - mean) / sd) ** 2) / (sd * sqrt(2 * pi))


def test_two_suspects_worked_by_hand() -> None:
    """One reading, 11.9 V, between *low charge* and *as built*; every number below is arithmetic.

    Reading: digits leave +-0.05 V and the meter one digit +-0.1 V, both rectangular, so
    sqrt(0.05^2 + 0.1^2) / sqrt(3) = 0.0645 V; gain +-1 % of 11.9 V, rectangular: 0.0687 V;
    a floor of 0.001 V. Together 0.0943 V.
    As built: the battery is 12.5 V, +-0.5 V rectangular: 0.2887 V.
    Low charge: one of 11.3, 10.5, 9.5, 8.0, 6.0 V, each equally likely, without a width.
    """
    engine = bp.Engine(bp.parse_sheet(SHEET), only=["battery: low charge"])
    answer = bp.rank(engine, "battery+ to battery-: 11.9 V")

    meter = sqrt((0.05**2 + 0.1**2) / 3 + (0.01 * 11.9) ** 2 / 3 + 0.001**2)
    sound = density(11.9, 12.5, sqrt(meter**2 + (0.5 / sqrt(3)) ** 2))
    low = sum(density(11.9, v, meter) for v in (11.3, 10.5, 9.5, 8.0, 6.0)) / 5
    flat = 1 / 18  # a slip shows anything between the rails, 1.5 times 12 V
    rest = 1 - AS_BUILT - NONE_OF_THESE
    as_built = AS_BUILT * ((1 - SLIP) * sound + SLIP * flat)
    low_charge = rest * ((1 - SLIP) * low + SLIP * flat)
    none = NONE_OF_THESE * flat
    total = as_built + low_charge + none

    # The hand figures themselves, so that a slip in the formulas above is seen.
    assert meter == pytest.approx(0.0943, abs=2e-4)
    assert sound == pytest.approx(0.1867, abs=2e-3)
    assert answer.as_built == pytest.approx(as_built / total, abs=0.02)
    assert answer.suspects[0].name == "battery: low charge"

    assert answer.suspects[0].present == pytest.approx(low_charge / total, abs=0.02)


def test_clear_reading_settles_two_suspects() -> None:
    """11.30 V is 12 meter spreads below as built with its 0.29 V: low charge by more than 50 to 1."""
    engine = bp.Engine(bp.parse_sheet(SHEET), only=["battery: low charge"])
    answer = bp.rank(engine, "battery+ to battery-: 11.30 V")
    assert answer.suspects[0].name == "battery: low charge"
    assert answer.suspects[0].present > 0.95
    assert answer.as_built < 0.02


def test_evidence_of_correlated_readings_against_scipy() -> None:
    """Joint and leave-one-out densities against scipy.stats.multivariate_normal."""
    stats = pytest.importorskip("scipy.stats")
    rng = np.random.default_rng(5)
    loading = rng.normal(size=(3, 4, 6))
    spread = rng.uniform(0.1, 1.0, size=(3, 6))
    noise = np.diag(rng.uniform(0.05, 0.3, size=4))
    residual = rng.normal(size=(3, 4))
    found = gaussian_evidence(residual, loading, spread, noise)
    for c in range(3):
        covariance = (loading[c] * spread[c] ** 2) @ loading[c].T + noise
        joint = stats.multivariate_normal(np.zeros(4), covariance).logpdf(residual[c])
        assert found.whole[c] == pytest.approx(joint, abs=1e-10)
        for r in range(4):
            keep = [k for k in range(4) if k != r]
            others = stats.multivariate_normal(np.zeros(3), covariance[np.ix_(keep, keep)]).logpdf(
                residual[c, keep]
            )
            assert found.alone[c, r] == pytest.approx(joint - others, abs=1e-10)

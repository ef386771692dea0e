"""The engine against brute force: draw circuits from the prior, solve each, weigh them."""

from __future__ import annotations

import numpy as np
import pytest

import backprobe as bp
from backprobe.circuit.full import solve_full
from backprobe.diagnosis.given import sort_readings
from backprobe.diagnosis.predict import BURNT, SLIP, burns, chance_of, predict_number

SHEET = """
sheet: Two switches before a coil
system: 12 V
controls: {key: [off, on], seat: [empty, seated]}
runs:
  valve: [battery+, fuse F1 5 A, key switch, seat switch, coil Y1 14..18 ohm, frame]
"""
FAULTS = (
    "key switch: contact worn or dirty",
    "seat switch: contact worn or dirty",
    "seat switch: does not close",
    "coil Y1: turns shorted",
    "coil Y1: winding open",
    "ground lug of coil Y1: bad joint to metal (high resistance)",
)
READINGS = """
state: key on, seat seated
coil Y1 dead
before key switch to battery-: about 12.2 V
before coil Y1 to battery-: about 4 V
"""
DRAWS = 60_000


def brute_force(engine: bp.Engine, readings: list[bp.Reading]) -> dict[str, float]:
    """Posterior of each single fault by importance sampling from the prior."""
    rng = np.random.default_rng(20)
    catalogue, circuit = engine.catalogue, engine.circuit
    prior = np.exp(catalogue.log_prior)
    row = rng.choice(catalogue.count, size=DRAWS, p=prior / prior.sum())
    values = np.repeat(circuit.nominal[None], DRAWS, axis=0)
    spread = np.repeat(circuit.spread[None], DRAWS, axis=0)
    for k in range(catalogue.changes.index.shape[1]):
        keys = catalogue.changes.index[row, k]
        hit = np.flatnonzero(keys >= 0)
        values[hit, keys[hit]] = catalogue.changes.value[row[hit], k]
        spread[hit, keys[hit]] = catalogue.spread_of[row[hit]]
    noise = rng.normal(size=values.shape) * spread
    values = np.where(
        circuit.logarithmic, values * np.exp(np.where(circuit.logarithmic, noise, 0)), values + noise
    )
    ordered = sort_readings(engine, readings)
    log_weight = np.zeros(DRAWS)
    for setup in ordered.setups:
        for part in np.array_split(np.arange(DRAWS), 30):
            solution = solve_full(engine.stage(setup), values[part])
            mean = np.stack([predict_number(solution, r).mean for r in ordered.numbers], axis=1)
            residual = ordered.measured - mean
            inverse = np.linalg.inv(ordered.noise)
            density = -0.5 * np.einsum("cr,rs,cs->c", residual, inverse, residual)
            density -= 0.5 * np.linalg.slogdet(2 * np.pi * ordered.noise)[1]
            log_weight[part] += np.logaddexp(
                density + len(ordered.numbers) * np.log1p(-SLIP), ordered.slip_log.sum() + 2 * np.log(SLIP)
            )
            for reading in ordered.others:
                log_weight[part] += np.log((1 - SLIP) * chance_of(solution, reading) + SLIP * 0.5)
            log_weight[part] += burns(solution, engine.limits(setup))
    assert BURNT < 0
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    assert 1 / (weight**2).sum() > 300, "too few effective draws for a comparison"
    found: dict[str, float] = {}
    for m, mode in enumerate(catalogue.modes):
        found[mode.name] = float(weight[catalogue.mode_of[row] == m].sum())
    found["as built"] = float(weight[catalogue.mode_of[row] < 0].sum())
    return found


def test_agrees_with_brute_force() -> None:
    """Sixty thousand prior draws of a five-part circuit, six faults: within four hundredths."""
    sheet = bp.parse_sheet(SHEET)
    engine = bp.Engine(sheet, only=FAULTS)
    readings = bp.parse_readings(READINGS, sheet)
    expected = brute_force(engine, readings)
    answer = bp.rank(engine, readings)
    single = {name: 0.0 for name in expected}
    total = 0.0
    for share, rows, slip in zip(
        answer.share, answer.explanations.rows, answer.explanations.slip, strict=True
    ):
        if len(rows) <= 1 and slip < 0:
            name = engine.catalogue.modes[engine.catalogue.mode_of[rows[0]]].name if rows else "as built"
            single[name] += float(share)
            total += float(share)
    for name, chance in expected.items():
        assert single[name] / total == pytest.approx(chance, abs=0.04), name

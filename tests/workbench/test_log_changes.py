"""The chart of changes: what it finds, when, how surely, and how seldom it is wrong."""

from __future__ import annotations

import numpy as np
import pytest

from backprobe.workbench.change_points import cusum_arl, find_changes


def noise(n: int, seed: int, spread: float = 0.02) -> np.ndarray:
    """Independent noise."""
    found: np.ndarray = spread * np.random.default_rng(seed).standard_normal(n)
    return found


def test_false_alarms_are_no_more_frequent_than_stated() -> None:
    t = np.arange(400.0)
    found = [find_changes(t, 5 + noise(400, seed)) for seed in range(50)]
    alarms = sum(len(f.found) for f in found)
    expected = sum(400 / f.design.run_length for f in found)
    assert expected < 50 * 0.06
    # Poisson: far below its mean is fine, three standard deviations above is not.
    assert alarms <= expected + 3 * np.sqrt(expected)


@pytest.mark.parametrize("seed", range(6))
def test_steps_are_found_within_their_intervals(seed: int) -> None:
    t = np.arange(600.0)
    x = 5 + noise(600, seed) + 0.06 * (t >= 210) - 0.09 * (t >= 400)
    found = find_changes(t, x).found
    assert [c.kind for c in found] == ["step", "step"]
    for change, at, size in zip(found, (210, 400), (0.06, -0.09), strict=True):
        assert change.time.low - 1 <= at <= change.time.high + 1
        # 99.9 % instead of the stated 95 %, since six seeds are looked at.
        half = 1.7 * (change.size.high - change.size.low) / 2
        assert abs(change.size.best - size) < half
        assert change.seen >= change.time.low


def test_the_delay_of_a_step_is_about_the_stated_one() -> None:
    t = np.arange(500.0)
    waits, stated = [], []
    for seed in range(25):
        found = find_changes(t, 5 + noise(500, seed) + 0.04 * (t >= 250))
        waits.append(found.found[0].seen - 249.5)
        stated.append(found.design.delay)
    # Two standard deviations of the noise, as the stated delay is for; the mean of 25 waits.
    assert float(np.mean(waits)) == pytest.approx(float(np.mean(stated)), rel=0.35)


def test_noise_that_lingers_is_averaged_until_it_does_not() -> None:
    random = np.random.default_rng(4)
    x = np.zeros(20_000)
    for i in range(1, len(x)):
        x[i] = 0.8 * x[i - 1] + 0.02 * random.standard_normal()
    t = np.arange(20_000.0) / 10
    found = find_changes(t, 5 + x)
    assert found.design.block > 0.5
    assert found.design.white
    assert len(found.found) == 0
    stepped = find_changes(t, 5 + x + 0.1 * (t >= 900)).found
    assert [c.kind for c in stepped] == ["step"]
    assert stepped[0].time.best == pytest.approx(900, abs=10)


def test_a_drift_is_one_change_and_not_a_flight_of_steps() -> None:
    t = np.arange(0, 300, 0.5)
    found = find_changes(t, 12.4 + noise(len(t), 9) - 0.004 * np.maximum(t - 120, 0)).found
    assert [c.kind for c in found] == ["drift"]
    assert found[0].size.low < -0.004 < found[0].size.high
    assert found[0].time.best == pytest.approx(120, abs=6)
    assert found[0].until == pytest.approx(299.5, abs=1)


def test_rounded_values_make_no_changes() -> None:
    t = np.arange(500.0)
    assert find_changes(t, np.full(500, 5.0)).found == ()
    assert find_changes(t, np.round(5 + noise(500, 3, 0.004), 2)).found == ()


def test_run_lengths_follow_the_shape_of_the_noise() -> None:
    """Simulated with the same residuals: uniform noise, which no table gives."""
    random = np.random.default_rng(6)
    uniform = (np.arange(400) + 0.5) / 400 * np.sqrt(12) - np.sqrt(3)
    expected = cusum_arl(2.5, residuals=uniform)
    runs = []
    z = random.uniform(-np.sqrt(3), np.sqrt(3), (4000, 600)) + 0.2 * random.standard_normal((4000, 600))
    up = down = np.zeros(4000)
    length = np.full(4000, 600.0)
    alive = np.ones(4000, bool)
    for i in range(600):
        up, down = np.maximum(0, up + z[:, i] - 0.5), np.maximum(0, down - z[:, i] - 0.5)
        fired = alive & ((up > 2.5) | (down > 2.5))
        length[fired] = i + 1
        alive &= ~fired
    runs.append(length.mean())
    assert not alive.mean() > 0.001
    assert runs[0] == pytest.approx(expected, rel=0.06)

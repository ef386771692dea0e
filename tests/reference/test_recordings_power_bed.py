"""Faults of a 24 V power test bed, made again with the scatter, labels and effects of its recordings.

The recordings of the 2010 diagnosis competition are not ours to ship: each series here is seeded noise
with their levels and scatter, and the fault as it was labelled. What is checked is that the label is found.
"""

from __future__ import annotations

import numpy as np
import pytest

from backprobe.workbench.dropouts import Dropouts, find_dropouts
from backprobe.workbench.log import LogStudy, study_log
from backprobe.workbench.recording import Channel, Recording
from tests.reference.books import outside

BED = "24 V power test bed, diagnosis competition 2010, measured data; series made again"
SCATTER = {"E281": 0.08, "IT240": 0.022, "IT281": 0.012, "IT267": 0.010}
SECONDS = 240.0


def series(name: str, level: float, rate: float, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Times and a level with the channel's own scatter."""
    t = np.arange(0.0, SECONDS, 1 / rate)
    return t, level + SCATTER[name] * np.random.default_rng(seed).standard_normal(len(t))


def one(t: np.ndarray, x: np.ndarray, unit: str = "A") -> LogStudy:
    """The study of one channel."""
    return study_log(Recording("", t, (Channel("meter", unit, x),)))


def two(slow: tuple[np.ndarray, np.ndarray], fast: tuple[np.ndarray, np.ndarray]) -> LogStudy:
    """The study of two channels; the slow one has no value in between, as recorded."""
    t, upstream = fast
    own = np.full(len(t), np.nan)
    own[np.searchsorted(t, slow[0])] = slow[1]
    return study_log(Recording("", t, (Channel("IT267", "A", own), Channel("IT240", "A", upstream))))


@outside("recordings, offset", BED, "seen + calc", figures=4)
@pytest.mark.parametrize(
    ("name", "level", "offset", "at"), [("IT267", 2.3547, -0.9975, 40.0), ("IT281", 2.2516, 0.1964, 120.0)]
)
def test_an_offset_is_a_step_at_its_time(name: str, level: float, offset: float, at: float) -> None:
    t, x = series(name, level, 2.0, 1)
    study = one(t, x + offset * (t >= at))
    assert not study.own.spans
    (found,) = study.changes[0].found
    assert found.kind == "step"
    assert found.time.low <= at <= found.time.high
    assert found.size.low - 0.002 < offset < found.size.high + 0.002
    assert found.seen - at < 5.0


@outside("recordings, drift", BED, "seen + calc", figures=4)
@pytest.mark.parametrize(
    ("name", "level", "rate", "slope", "at"),
    [("IT267", 2.3560, 2.0, 0.01503, 50.0), ("IT240", 17.195, 10.0, 0.00513, 90.0)],
)
def test_a_drift_is_found_with_its_beginning_and_slope(
    name: str, level: float, rate: float, slope: float, at: float
) -> None:
    t, x = series(name, level, rate, 2)
    study = one(t, x + slope * np.maximum(t - at, 0))
    found = study.changes[0].found
    assert [c.kind for c in found] == ["drift"]
    assert found[0].size.low < slope < found[0].size.high
    assert found[0].time.best == pytest.approx(at, abs=2.0)
    assert not study.own.spans


def bursts(t: np.ndarray, up: float, down: float, start: float, seed: int) -> list[tuple[float, float]]:
    """Labelled bursts with exponential lengths and pauses."""
    random = np.random.default_rng(seed)
    found, at = [], start
    while at < t[-1]:
        end = at + max(random.exponential(down), 0.6)
        found.append((at, min(end, float(t[-1]))))
        at = end + max(random.exponential(up), 0.6)
    return found


def check_bursts(found: Dropouts, labels: list[tuple[float, float]], step: float, spacing: float) -> None:
    """Every labelled burst is found, to one spacing; level, rate and mean lie in the stated intervals."""
    assert len(found.spans) == len(labels)
    for span, (start, end) in zip(found.spans, labels, strict=True):
        assert span.start == pytest.approx(start, abs=spacing)
        assert span.end == pytest.approx(end, abs=spacing)
    assert found.away - found.steady == pytest.approx(step, rel=0.03)
    quiet = SECONDS - sum(e - s for s, e in labels)
    assert found.rate.low < len(labels) / quiet < found.rate.high
    lengths = [e - s for s, e in labels]
    assert found.mean_length is not None
    assert found.mean_length.low < float(np.mean(lengths)) < found.mean_length.high


@outside("recordings, intermittent", BED, "seen + calc", figures=3)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_an_intermittent_voltmeter(seed: int) -> None:
    # +0.931 V, 17.8 s sound and 2.7 s not in the mean, from 35 s on.
    t, x = series("E281", 23.017, 2.0, seed)
    labels = bursts(t, 17.8, 2.7, 35.0, seed)
    inside = np.any([(t >= s) & (t < e) for s, e in labels], axis=0)
    found = find_dropouts(t, x + 0.931 * inside)
    check_bursts(found, labels, 0.931, 0.5)
    # And the rate that made them lies in the stated interval.
    assert found.mean_length is not None
    assert found.mean_length.low < 2.7 < found.mean_length.high


@outside("recordings, intermittent", BED, "seen + calc", figures=3)
@pytest.mark.parametrize("seed", [4, 5, 6])
def test_an_intermittent_ammeter(seed: int) -> None:
    # +7.789 A, 6.27 s sound and 3.09 s not.
    t, x = series("IT240", 17.091, 10.0, seed)
    labels = bursts(t, 6.27, 3.09, 35.0, seed)
    inside = np.any([(t >= s) & (t < e) for s, e in labels], axis=0)
    check_bursts(find_dropouts(t, x + 7.789 * inside, unit="A"), labels, 7.789, 0.1)


@outside("recordings, current balance", BED, "seen + calc", figures=3)
def test_a_meter_that_moves_alone_is_the_meter() -> None:
    # Labelled an offset of the ammeter: -0.9975 A there, +0.017 A upstream.
    slow, fast = series("IT267", 2.3547, 2.0, 7), series("IT240", 17.281, 10.0, 8)
    study = two((slow[0], slow[1] - 0.9975 * (slow[0] >= 40)), (fast[0], fast[1] + 0.017 * (fast[0] >= 40)))
    verdicts = {c.verdict for c in study.companions if c.channel == "IT267"}
    assert verdicts == {"alone"}


@outside("recordings, current balance", BED, "seen + calc", figures=3)
def test_a_load_moves_both_meters() -> None:
    # Labelled a drift of the load's resistance from 30 s on: -0.21 A there and -1.32 A upstream.
    slow, fast = series("IT267", 2.3631, 2.0, 9), series("IT240", 16.993, 10.0, 10)
    share_slow = np.maximum(slow[0] - 30, 0) / (SECONDS - 30)
    share_fast = np.maximum(fast[0] - 30, 0) / (SECONDS - 30)
    study = two((slow[0], slow[1] - 0.21 * share_slow), (fast[0], fast[1] - 1.32 * share_fast))
    verdicts = {c.channel: c.verdict for c in study.companions if c.what == "drift"}
    assert verdicts == {"IT267": "together", "IT240": "together"}

"""When a recorded level moved: a cumulative-sum chart whose false alarms and delay are stated.

The two-sided chart of E. S. Page (Continuous inspection schemes, Biometrika 41, 1954) [mem]:
``S+ = max(0, S+ + z - k)``, ``S- = max(0, S- - z - k)``, an alarm above h. What is fed to it, z, is each
value against the mean of those before it since the last change (the self-starting chart of D. M. Hawkins,
1987) [mem], so that no level has to be known beforehand. The run length between false alarms is that of
the recording's own noise, by the Markov chain of D. Brook, D. A. Evans (Biometrika 59, 1972) [mem].
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, TypeAlias

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.workbench.dropouts import Interval, noise_of

Distribution: TypeAlias = tuple[Callable[[Floats], Floats], Callable[[Floats], Floats]]

K = 0.5
"""Half of the step that the chart is sharpest for [standard deviations]."""
FALSE_ALARMS = 0.05
"""False alarms that a recording without any change may expect [1]."""
MOST_BLOCKS = 20_000
LEAST_BLOCKS = 60
WHITE = -0.35
"""Correlation of neighbouring differences up to which values count as independent [1]; such have -0.5."""
CELLS = 80
"""States of the Markov chain."""
MOST_CHANGES = 300
CHI2_95 = 3.841
"""95 % quantile of chi-square with one degree of freedom."""


@dataclass(frozen=True, slots=True)
class Design:
    """The chart that was used, and what to expect of it.

    Parameters
    ----------
    block
        Time over which values are averaged first, so that neighbours are independent [s].
    noise
        Standard deviation of such an average [unit].
    k, h
        Allowance and limit [noise].
    run_length
        Mean time between false alarms in noise like the recording's [s].
    delay
        Mean time until a step of twice the noise is seen [s].
    white
        Whether neighbouring averages are independent; if not, false alarms come more often than stated.
    """

    block: float
    noise: float
    k: float
    h: float
    run_length: float
    delay: float
    white: bool


@dataclass(frozen=True, slots=True)
class Change:
    """One change of level.

    Parameters
    ----------
    kind
        ``step``, or ``drift`` for one that goes on.
    time
        When it began, with its 95 % interval [s].
    size
        The step [unit], or the slope of a drift [unit/s], with its 95 % interval.
    until
        When it ended [s]; for a step the same as its time.
    seen
        When the chart noticed [s].
    """

    kind: Literal["step", "drift"]
    time: Interval
    size: Interval
    until: float
    seen: float


@dataclass(frozen=True, slots=True)
class Changes:
    """All changes of a channel, and the chart that found them."""

    channel: str
    unit: str
    design: Design
    found: tuple[Change, ...]


def cusum_arl(h: float, k: float = K, *, shift: float = 0.0, residuals: Floats | None = None) -> float:
    """Mean run length of the two-sided chart [values].

    Parameters
    ----------
    h, k
        Limit and allowance [standard deviations].
    shift
        How far the level has moved [same].
    residuals
        Values of the noise, of mean 0 and standard deviation 1; normal when not given.
    """
    return _two_sided(h, k, shift, _distribution(residuals))


def _distribution(residuals: Floats | None) -> Distribution:
    """Distribution function of the noise, upwards and downwards."""
    from scipy.special import ndtr

    if residuals is None:
        return ndtr, ndtr
    # A kernel of a fifth of the spread gives the tails of a short recording a little room.
    x = np.linspace(residuals.min() - 1.2, residuals.max() + 1.2, 300)
    p = ndtr((x[:, None] - residuals[None, :]) / 0.2).mean(axis=1)
    return (
        lambda z: np.interp(z, x, p, left=0.0, right=1.0),
        lambda z: np.interp(z, -x[::-1], 1 - p[::-1], left=0.0, right=1.0),
    )


def _two_sided(h: float, k: float, shift: float, noise: Distribution) -> float:
    up, down = _one_sided(h, k - shift, noise[0]), _one_sided(h, k + shift, noise[1])
    return 1 / (1 / up + 1 / down)


def _one_sided(h: float, k: float, below: Callable[[Floats], Floats]) -> float:
    """Mean run length of one side, its sum cut into `CELLS` states."""
    width = 2 * h / (2 * CELLS - 1)
    ends: Floats = np.asarray((np.arange(-CELLS - 1, CELLS + 1) + 0.5) * width + k, float)
    edge = below(ends)
    move = np.diff(edge)
    edge = edge[1:]
    index = np.arange(CELLS)
    chain = move[index[None, :] - index[:, None] + CELLS]
    chain[:, 0] = edge[CELLS - index]
    # The trifle keeps it regular where no alarm is ever met, and caps the length.
    lengths = np.linalg.solve((1 + 1e-12) * np.eye(CELLS) - chain, np.ones(CELLS))
    length = float(lengths[0])
    return min(length, 1e12) if length > 0 else 1e12


def find_changes(times: Floats, values: Floats, *, name: str = "", unit: str = "V") -> Changes:
    """Find when the level of a channel moved; leave its dropouts out beforehand.

    Parameters
    ----------
    times, values
        ``(n,)`` seconds and values, NaN where there is none.
    """
    seen = np.isfinite(values)
    t, y, block, white = _averaged(times[seen], values[seen])
    sigma = noise_of(y)
    design = _designed(y, sigma, block, white)
    cuts, alarms = _scan(y / sigma, design)
    cuts, alarms = _kept(y, sigma, cuts, alarms)
    found = _described(t, y, sigma, cuts, alarms)
    return Changes(name, unit, design, tuple(found))


def _averaged(t: Floats, y: Floats) -> tuple[Floats, Floats, float, bool]:
    """Means over as many values as make neighbours independent, and whether they are."""
    spacing = float(np.median(np.diff(t))) or float(np.diff(t).mean())
    m = max(1, -(-len(y) // MOST_BLOCKS))
    while True:
        n = len(y) // m
        means = y[: n * m].reshape(n, m).mean(axis=1)
        middles = t[: n * m].reshape(n, m).mean(axis=1)
        white = _is_white(means)
        if white or n // 2 < LEAST_BLOCKS:
            return middles, means, m * spacing, white
        m *= 2


def _is_white(y: Floats) -> bool:
    # A drift makes neighbouring differences alike without making the noise so: its share comes off first.
    parts = np.array_split(np.diff(y), max(1, min(20, len(y) // 20)))
    steps = np.concatenate([p - np.median(p) for p in parts])
    scale = 4 * max(1.4826 * float(np.median(np.abs(steps))), 1e-12)
    d = np.clip(steps, -scale, scale)
    power = float((d * d).sum())
    return power == 0 or len(d) < 8 or float((d[1:] * d[:-1]).sum()) / power < WHITE


def _designed(y: Floats, sigma: float, block: float, white: bool) -> Design:
    """The lowest limit whose false alarms are rare enough in this recording's own noise."""
    width = min(9, len(y))
    around = np.median(np.lib.stride_tricks.sliding_window_view(y, width), axis=1)
    off = y[width // 2 : width // 2 + len(around)] - around
    scale = 1.4826 * float(np.median(np.abs(off))) or sigma
    # Far values are dropouts or steps, no noise; 200 quantiles carry the shape of the rest.
    kept = off[np.abs(off) < 6 * scale] / scale
    shape = np.quantile(kept, (np.arange(200) + 0.5) / 200)
    spread = float(shape.std())
    shape = (shape - shape.mean()) / spread if spread > 1e-6 else np.linspace(-1.7, 1.7, 200)
    wanted = len(y) / FALSE_ALARMS
    h = 4.0
    own = _distribution(shape)
    while (length := _two_sided(h, K, 0.0, own)) < wanted and h < 20:
        h += 0.5
    return Design(block, sigma, K, h, length * block, cusum_arl(h, shift=2.0) * block, white)


def _scan(z: Floats, design: Design) -> tuple[list[int], list[int]]:
    """Where the level changed, and where the chart noticed: indexes."""
    cuts: list[int] = []
    alarms: list[int] = []
    start, n = 0, len(z)
    while n - start > 2 and len(cuts) < MOST_CHANGES:
        own = z[start:]
        before = np.cumsum(own)[:-1] / np.arange(1, len(own))
        fresh = (own[1:] - before) / np.sqrt(1 + 1 / np.arange(1, len(own)))
        first = min((a for a in (_alarm(s * fresh, design) for s in (1.0, -1.0)) if a), default=None)
        if first is None:
            break
        alarm, since = first
        cut = start + 1 + _best_cut(own[: alarm + 2], since)
        cuts.append(cut)
        alarms.append(start + 1 + alarm)
        start = cut
    return cuts, alarms


def _alarm(z: Floats, design: Design) -> tuple[int, int] | None:
    """First alarm of one side, and where its sum last stood at zero."""
    total = np.cumsum(z - design.k)
    floor = np.minimum.accumulate(np.minimum(total, 0.0))
    over = np.flatnonzero(total - floor > design.h)
    if not len(over):
        return None
    at = int(over[0])
    zeros = np.flatnonzero(total[: at + 1] <= floor[: at + 1])
    return at, int(zeros[-1]) + 1 if len(zeros) else 0


def _best_cut(y: Floats, near: int) -> int:
    """Where two levels fit best: how many values after the first belong to the old level; `near` in doubt."""
    n = np.arange(1, len(y))
    left = np.cumsum(y)[:-1]
    gain = left**2 / n + (y.sum() - left) ** 2 / (len(y) - n)
    best = int(np.argmax(gain))
    return best if np.isfinite(gain[best]) else near


def _kept(y: Floats, sigma: float, cuts: list[int], alarms: list[int]) -> tuple[list[int], list[int]]:
    """Changes that stand once both sides are known as far as they go: five standard errors."""
    while cuts:
        ends = [0, *cuts, len(y)]
        sizes = []
        for i in range(len(cuts)):
            one, two = y[ends[i] : ends[i + 1]], y[ends[i + 1] : ends[i + 2]]
            error = sigma * np.sqrt(1 / len(one) + 1 / len(two))
            sizes.append(abs(float(two.mean() - one.mean())) / error)
        least = int(np.argmin(sizes))
        if sizes[least] >= 5.0:
            break
        cuts, alarms = cuts[:least] + cuts[least + 1 :], alarms[:least] + alarms[least + 1 :]
    return cuts, alarms


def _described(t: Floats, y: Floats, sigma: float, cuts: list[int], alarms: list[int]) -> list[Change]:
    """Steps as they are; a flight of steps one way as a drift where a bent line fits better."""
    ends = [0, *cuts, len(y)]
    means = [float(y[a:b].mean()) for a, b in pairwise(ends)]
    signs = np.sign(np.diff(means))
    found: list[Change] = []
    i = 0
    while i < len(cuts):
        j = i
        while j + 1 < len(cuts) and signs[j + 1] == signs[i]:
            j += 1
        drift = _drift(t, y, sigma, ends, (i, j)) if j - i >= 2 else None
        if drift is not None:
            time, size, until = drift
            found.append(Change("drift", time, size, until, float(t[alarms[i]])))
        else:
            found += [_step(t, y, sigma, ends, n, float(t[alarms[n]])) for n in range(i, j + 1)]
        i = j + 1
    return found


def _step(t: Floats, y: Floats, sigma: float, ends: list[int], n: int, seen: float) -> Change:
    a, b = ends[n], ends[n + 2]
    own = y[a:b]
    count = np.arange(1, len(own))
    left = np.cumsum(own)[:-1]
    gain = left**2 / count + (own.sum() - left) ** 2 / (len(own) - count)
    best = int(np.argmax(gain))
    inside = np.flatnonzero(gain[best] - gain <= CHI2_95 * sigma**2)
    edges = (t[a : b - 1] + t[a + 1 : b]) / 2
    half = (float(np.median(np.diff(t[a:b])))) / 2
    time = Interval(float(edges[inside[0]]) - half, float(edges[best]), float(edges[inside[-1]]) + half)
    one, two = own[: best + 1], own[best + 1 :]
    size, error = float(two.mean() - one.mean()), sigma * np.sqrt(1 / len(one) + 1 / len(two))
    return Change("step", time, Interval(size - 1.96 * error, size, size + 1.96 * error), time.best, seen)


def _drift(
    t: Floats, y: Floats, sigma: float, ends: list[int], run: tuple[int, int]
) -> tuple[Interval, Interval, float] | None:
    """A level that begins to drift, against the flight of steps; by the Bayes information criterion."""
    i, j = run
    a, b = ends[i], ends[j + 2]
    lengths = np.diff(ends[i + 1 : j + 2])
    if ends[j + 2] - ends[j + 1] > 3 * lengths.mean():
        b = ends[j + 1]
    x, own = t[a:b], y[a:b]
    stairs = sum(
        float(((y[p:q] - y[p:q].mean()) ** 2).sum())
        for p, q in zip(ends[i : j + 2], [*ends[i + 1 : j + 2], b], strict=True)
        if q > p
    )
    starts = np.unique(np.linspace(0, max(ends[i + 2] - a, 2), 400).astype(int))
    fits = [_hinge(x, own, float(x[s])) for s in starts if s < len(x) - 2]
    errors = np.array([f[0] for f in fits])
    best = int(np.argmin(errors))
    steps = j - i + 1
    if errors[best] / sigma**2 + 3 * np.log(len(own)) > stairs / sigma**2 + (2 * steps + 1) * np.log(
        len(own)
    ):
        return None
    likely = [fits[n] for n in np.flatnonzero(errors - errors[best] <= CHI2_95 * sigma**2)]
    begin = Interval(min(f[1] for f in likely), fits[best][1], max(f[1] for f in likely))
    low = min(f[2] - 1.96 * sigma * f[3] for f in likely)
    high = max(f[2] + 1.96 * sigma * f[3] for f in likely)
    return begin, Interval(low, fits[best][2], high), float(x[-1])


def _hinge(x: Floats, y: Floats, start: float) -> tuple[float, float, float, float]:
    """Level, then a line from `start`: squared error, start, slope, and its standard error per noise."""
    ramp = np.maximum(x - start, 0.0)
    centred = ramp - ramp.mean()
    power = float(centred @ centred)
    slope = float(centred @ y) / power
    rest = y - y.mean() - slope * centred
    return float(rest @ rest), start, slope, power**-0.5

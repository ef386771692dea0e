"""The bands of a controller input from a sweep: every edge with its interval, and the volts to try next.

An edge is estimated by `backprobe.workbench.band_fit.edge_posterior`, since a careful sweep is separated
data. Going up and going down are kept apart as far as the answers say that they differ. The meter's own
error, which a whole sweep shares, is part of every interval.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.errors import Problem, ReadingError
from backprobe.readings.meter import Accuracy
from backprobe.workbench.band_fit import EdgePosterior, edge_posterior
from backprobe.workbench.band_order import Stretch, came_from, find_stretches, sides_of
from backprobe.workbench.sweep import SweepReading, parse_sweep

HANDHELD = Accuracy(1.0, 2.0)
"""A handheld of which nothing is known: 1 % and two counts; common practice, no source."""
HYSTERESIS = 0.3
"""Chance beforehand that an edge lies elsewhere going down [1]; common practice, no source."""
APART = 0.9
"""Chance from which up and down are given apart [1]."""
FINE_ENOUGH = 0.5
"""Share of the meter's error below which an edge need not be known any better [1]."""
MOST_DIGIT = 0.1
"""Coarsest digit of a meter in its volts range [V]; common practice, no source."""
MOST_LEVELS = 80
"""Different volts that an edge is fitted to; more are laid together."""
LEVEL = 0.95
"""Probability of every interval [1]."""


@dataclass(frozen=True, slots=True)
class Edge:
    """Where one edge lies, in one direction.

    Parameters
    ----------
    way
        ``up`` (come to from below), ``down`` (from above) or ``both``.
    low, best, high
        95 % interval and median, the meter's error included [V].
    width
        Standard deviation of the edge itself, by which it is unsharp [V].
    readings
        Answers that were used.
    """

    way: str
    low: float
    best: float
    high: float
    width: float
    readings: int


@dataclass(frozen=True, slots=True)
class Crossing:
    """The edge between two neighbouring bands.

    Parameters
    ----------
    below, above
        What the bands on either side mean.
    edges
        One edge for both ways, or up and down apart.
    apart
        Probability that it lies elsewhere going down; None where only one way was tried.
    meter
        How far the meter may be off there [V].
    """

    below: str
    above: str
    edges: tuple[Edge, ...]
    apart: float | None
    meter: float

    @property
    def low(self) -> float:
        """Least that any of its edges may be [V]."""
        return min(e.low for e in self.edges)

    @property
    def high(self) -> float:
        """Most that any of its edges may be [V]."""
        return max(e.high for e in self.edges)

    def edge(self, way: str) -> Edge:
        """The edge going one way; the one that there is where they are not apart."""
        return next((e for e in self.edges if e.way == way), self.edges[0])


@dataclass(frozen=True, slots=True)
class FoundBand:
    """One band.

    Parameters
    ----------
    tried
        Lowest and highest volts at which it was seen [V].
    low, high
        Its edges; None where it goes on beyond what was tried.
    """

    answer: str
    tried: tuple[float, float]
    low: Crossing | None
    high: Crossing | None

    @property
    def sure(self) -> tuple[float, float] | None:
        """Volts that lie inside with 97.5 % at either end [V]; None where there are none."""
        low = self.low.high if self.low else self.tried[0]
        high = self.high.low if self.high else self.tried[1]
        return (low, high) if low <= high else None

    @property
    def middle(self) -> float | None:
        """Middle of what is sure [V]; None where an end was not found or nothing is sure."""
        if self.low is None or self.high is None or self.sure is None:
            return None
        return sum(self.sure) / 2

    @property
    def margin(self) -> float | None:
        """From the middle to the nearest that an edge may be [V]."""
        if self.middle is None or self.sure is None:
            return None
        return (self.sure[1] - self.sure[0]) / 2


@dataclass(frozen=True, slots=True)
class NextVolts:
    """What to try next.

    Parameters
    ----------
    volts
        Voltage [V].
    way
        ``up`` or ``down``: the side to come from.
    bits
        What the answer is expected to tell [bit]; NaN beyond what was tried.
    why
        The edge that it is for.
    """

    volts: float
    way: str
    bits: float
    why: str


@dataclass(frozen=True, slots=True)
class BandAnswer:
    """What a sweep says.

    Parameters
    ----------
    bands, crossings
        From the lowest volts up.
    next
        None when the meter's error, and no lack of readings, is what limits every edge.
    misfits
        Indexes of readings that do not fit their place: take them again.
    """

    readings: tuple[SweepReading, ...]
    accuracy: Accuracy
    bands: tuple[FoundBand, ...]
    crossings: tuple[Crossing, ...]
    next: NextVolts | None
    misfits: tuple[int, ...]


def band(sweep: str | Sequence[SweepReading], *, accuracy: Accuracy | None = None) -> BandAnswer:
    """Estimate the bands of an input from the answers of a sweep, in the order they were taken.

    Parameters
    ----------
    sweep
        Lines such as ``4.2 V: off``, or readings made by `parse_sweep`.
    accuracy
        The meter's; 1 % + 2 counts where not said.

    Raises
    ------
    ReadingError
        When the lines cannot be read, or there are none.
    """
    readings = parse_sweep(sweep) if isinstance(sweep, str) else tuple(sweep)
    if not readings:
        raise ReadingError(Problem("sweep", "", "holds no answer", "Write such as 4.2 V: off."))
    meter = accuracy or HANDHELD
    stretches = find_stretches(readings)
    sides = sides_of(readings, stretches)
    stretches = tuple(
        _whole(s, [r for r, k in zip(readings, sides, strict=True) if k == i])
        for i, s in enumerate(stretches)
    )
    fits = [_fit(readings, stretches, sides, k, meter) for k in range(len(stretches) - 1)]
    crossings = tuple(f.crossing for f in fits)
    ends: list[Crossing | None] = [None, *crossings, None]
    bands = tuple(
        FoundBand(s.answer, (s.first, s.last), low, high)
        for s, low, high in zip(stretches, ends, ends[1:], strict=False)
    )
    misfits = tuple(i for i, r in enumerate(readings) if _misfit(r, sides[i], bands))
    return BandAnswer(readings, meter, bands, crossings, _next(fits, readings), misfits)


def _whole(stretch: Stretch, own: Sequence[SweepReading]) -> Stretch:
    """A stretch as far as it was seen by any answer of its own, whichever way the volts went."""
    volts = [stretch.first, stretch.last, *(r.volts for r in own)]
    return Stretch(stretch.answer, min(volts), max(volts))


@dataclass(frozen=True, slots=True, eq=False)
class _Fit:
    """A crossing with the posteriors that it was made from, one for each of its edges."""

    crossing: Crossing
    posteriors: tuple[EdgePosterior, ...]


def _fit(
    readings: Sequence[SweepReading],
    stretches: Sequence[Stretch],
    sides: Sequence[int],
    k: int,
    meter: Accuracy,
) -> _Fit:
    """The edge between stretches k and k + 1."""
    below, above = stretches[k], stretches[k + 1]
    gap = max(abs(above.first - below.last), below.last - below.first, above.last - above.first, 0.05) / 2
    span = (
        below.first - gap if below.first == below.last else below.first,
        above.last + gap if above.first == above.last else above.last,
    )
    chosen = [i for i, side in enumerate(sides) if side in {k, k + 1}]
    ways = came_from(readings, sides, k)
    # Who notes 5 V reads a meter that shows tenths: the finest digit of the sweep is the meter's.
    digit = min(MOST_DIGIT, *(r.digit for r in readings))
    posteriors: dict[str, EdgePosterior] = {}
    counts: dict[str, int] = {}
    for way in ("both", "up", "down"):
        used = [i for i in chosen if way in ("both", ways[i])]
        counts[way] = sum(readings[i].count for i in used)
        if used:
            tallied = _tally([(readings[i].volts, sides[i] - k, readings[i].count) for i in used])
            posteriors[way] = edge_posterior(*tallied, span, random=digit / 2)
    apart = _apart(posteriors, span)
    shown = ("up", "down") if apart is not None and apart >= APART else ("both",)
    if apart is None:
        only = next(w for w in ("up", "down") if w in posteriors)
        shown, posteriors[only] = (only,), posteriors["both"]
    edges = tuple(_edge(w, posteriors[w], meter, digit, counts[w]) for w in shown)
    bound = meter.bound(edges[0].best, digit)
    crossing = Crossing(below.answer, above.answer, edges, apart, bound)
    return _Fit(crossing, tuple(posteriors[w] for w in shown))


def _tally(answers: list[tuple[float, int, int]]) -> tuple[Floats, Floats, Floats]:
    """Different volts, how often the upper answer came at each, of how many; a long sweep laid together."""
    volts, at = np.unique([v for v, _, _ in answers], return_inverse=True)
    count = np.array([n for _, _, n in answers], float)
    upper: Floats = np.bincount(at, weights=count * np.array([u for _, u, _ in answers], float)).astype(float)
    trials: Floats = np.bincount(at, weights=count).astype(float)
    if len(volts) <= MOST_LEVELS:
        return volts, upper, trials
    # Fine where the answers mix, coarse where all are alike.
    mixed = np.sort([np.flatnonzero(upper > 0)[0], np.flatnonzero(upper < trials)[-1]])
    low, high = max(int(mixed[0]) - 5, 0), int(mixed[1]) + 6
    index = np.arange(len(volts))
    parts = ((index[:low], 8), (index[low:high], MOST_LEVELS - 16), (index[high:], 8))
    cells = [c for part, n in parts for c in np.array_split(part, n) if len(c)]
    middles = np.array([np.average(volts[c], weights=trials[c]) for c in cells])
    return middles, np.array([upper[c].sum() for c in cells]), np.array([trials[c].sum() for c in cells])


def _edge(way: str, posterior: EdgePosterior, meter: Accuracy, digit: float, count: int) -> Edge:
    bound = meter.bound(posterior.quantile(0.5), digit)
    tail = (1 - LEVEL) / 2
    low, best, high = (posterior.quantile(q, bound) for q in (tail, 0.5, 1 - tail))
    return Edge(way, low, best, high, posterior.width, count)


def _apart(posteriors: dict[str, EdgePosterior], span: tuple[float, float]) -> float | None:
    """Probability of hysteresis: evidence of two edges, the upper one going up, against that of one."""
    if "up" not in posteriors or "down" not in posteriors:
        return None
    up, down = posteriors["up"], posteriors["down"]
    x = np.linspace(*span, 2001)
    share_down = np.interp(x, down.places, np.cumsum(down.weight.sum(axis=1)), left=0.0, right=1.0)
    mass_up = np.diff(np.interp(x, up.places, np.cumsum(up.weight.sum(axis=1)), left=0.0, right=1.0))
    ordered = float((mass_up * (share_down[1:] + share_down[:-1]) / 2).sum())
    # Two places alike likely with the upper one above: twice the density on half the square.
    log_two = up.log_evidence + down.log_evidence + np.log(2 * max(ordered, 1e-300))
    odds = np.log(HYSTERESIS / (1 - HYSTERESIS)) + log_two - posteriors["both"].log_evidence
    return float(1 / (1 + np.exp(-np.clip(odds, -700, 700))))


def _misfit(reading: SweepReading, side: int, bands: Sequence[FoundBand]) -> bool:
    """Whether an answer lies beyond both edges of the band that it speaks for, by more than chance."""
    if side < 0:
        return True
    own = bands[side]
    too_low = own.low is not None and reading.volts < own.low.low - 3 * max(e.width for e in own.low.edges)
    too_high = own.high is not None and reading.volts > own.high.high + 3 * max(
        e.width for e in own.high.edges
    )
    return too_low or too_high


def _next(fits: Sequence[_Fit], readings: Sequence[SweepReading]) -> NextVolts | None:
    """The most telling volts at the edge that is known worst for what the meter can tell."""
    if not fits:
        return _outward(readings)
    asked: list[tuple[float, _Fit, int]] = []
    for fit in fits:
        for i, posterior in enumerate(fit.posteriors):
            own = posterior.quantile(0.975) - posterior.quantile(0.025)
            asked.append((own / (2 * max(fit.crossing.meter, 1e-4)), fit, i))
    need, fit, i = max(asked, key=lambda a: a[0])
    if need < FINE_ENOUGH:
        return None
    posterior, edge, crossing = fit.posteriors[i], fit.crossing.edges[i], fit.crossing
    low, high = posterior.quantile(0.025), posterior.quantile(0.975)
    volts = np.linspace(low, high, 41)
    bits = posterior.information(volts)
    middle = float(np.average(volts, weights=(bits >= bits.max() - 0.01).astype(float)))
    way = edge.way if edge.way in {"up", "down"} else "up"
    return NextVolts(
        _round(middle, high - low), way, float(bits.max()), f"{crossing.below} and {crossing.above}"
    )


def _outward(readings: Sequence[SweepReading]) -> NextVolts:
    """One answer only: go up until the system's volts are near, else down."""
    most, least = max(r.volts for r in readings), min(r.volts for r in readings)
    if least > 1.0:
        return NextVolts(_round(least / 2, least), "up", float("nan"), "no edge yet")
    return NextVolts(_round(most + max(1.0, most / 2), most + 1), "up", float("nan"), "no edge yet")


def _round(volts: float, width: float) -> float:
    """Volts as one would set them: to about a tenth of the width that is asked about [V]."""
    step = next((s for s in (0.5, 0.2, 0.1, 0.05, 0.02, 0.01) if s <= abs(width) / 8), 0.005)
    return round(round(volts / step) * step, 3)

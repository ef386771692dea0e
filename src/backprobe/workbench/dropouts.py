"""Dropouts of a recorded channel: when, how long, how often, and what notes fall together with them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from backprobe.circuit.compiled import Floats
from backprobe.workbench.recording import Note

Flags = npt.NDArray[np.bool_]

FAR = 6.0
"""How far from the usual a value must lie to be looked at, in standard deviations of the noise [1]."""
COARSEST = 0.05
"""Largest share of what is shown that one digit of a meter is [1]; common practice, no source."""
LEAST_STEP = 8.0
"""Least distance of the two levels, in the same measure [1]: noise does not cross half of it."""
RAMP = 0.3
"""Share of values between the levels, to those at the far one, above which it is a drift [1]."""
ENTER, LEAVE = 0.5, 0.3
"""Share of the step at which a dropout begins, and at which it ends [1]."""
GAP = 5.0
"""Spacings of the recording without a value that make a gap [1]."""
BLOCKS = 40
"""Stretches whose medians make the trend that is taken off a drifting channel."""
WITHIN = 3.0
"""How near to its beginning a note belongs to a dropout [s]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Interval:
    """Best value with its 95 % interval; `high` may be infinite."""

    low: float
    best: float
    high: float


@dataclass(frozen=True, slots=True)
class Dropout:
    """One dropout [s]; cut where a gap or an end of the recording hides where it begins or ends."""

    start: float
    end: float
    cut: bool

    @property
    def length(self) -> float:
        """How long it lasted, as far as it was seen [s]."""
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class Dropouts:
    """What one channel does.

    Parameters
    ----------
    steady, away
        The level where it mostly is and the one it goes to [unit]; both alike when it never does.
    noise
        Standard deviation from value to value [unit].
    spacing
        Usual time between values [s]: shorter dropouts may be missed.
    watched
        Time at the steady level, gaps left out [s].
    rate
        Beginnings per second of that time; Poisson, exact interval.
    mean_length
        Mean length [s]; exponential, cut ones reckoned with. None without any.
    gaps
        Number of gaps and their length in all [s].
    """

    channel: str
    unit: str
    steady: float
    away: float
    noise: float
    spacing: float
    watched: float
    spans: tuple[Dropout, ...]
    rate: Interval
    mean_length: Interval | None
    gaps: tuple[int, float]


def find_dropouts(times: Floats, values: Floats, *, name: str = "", unit: str = "V") -> Dropouts:
    """Find the dropouts of a channel, whichever way they go.

    Parameters
    ----------
    times, values
        ``(n,)`` seconds and values, NaN where there is none.
    """
    seen = np.isfinite(values)
    t, x = times[seen], values[seen]
    steps = np.diff(t)
    spacing = float(np.median(steps)) or float(steps.mean())
    breaks = np.flatnonzero(steps > GAP * spacing)
    gap = (len(breaks), float(steps[breaks].sum()))
    noise = noise_of(x)
    flat = x - _trend(x, noise)
    levels = two_levels(flat, noise)
    whole = float(t[-1] - t[0]) - gap[1]
    if levels is not None and _once(_switched(flat, *levels)):
        levels = None
    if levels is None:
        level = float(np.median(x))
        rate = Interval(0.0, 0.0, poisson_high(0) / whole)
        return Dropouts(name, unit, level, level, noise, spacing, whole, (), rate, None, gap)
    away = _switched(flat, *levels)
    spans = _spans(t, away, breaks)
    lost = sum(s.length for s in spans)
    watched = max(whole - lost, spacing)
    begun = sum(1 for s in spans if s.start > t[0])
    whole_ones = sum(1 for s in spans if not s.cut)
    return Dropouts(
        name,
        unit,
        float(np.median(x[~away])),
        float(np.median(x[away])),
        noise,
        spacing,
        watched,
        spans,
        poisson_rate(begun, watched),
        mean_length(whole_ones, lost),
        gap,
    )


def noise_of(values: Floats) -> float:
    """Standard deviation from value to value, not misled by steps [unit].

    It is 1.4826 median |difference| / sqrt 2; where most values are alike, from the mean square of the
    differences of a few digits, and at least that of rounding to the digit.
    """
    steps = np.abs(np.diff(values))
    moved = np.round(steps, 9)
    moved = moved[moved > 0]
    digit = float(moved.min()) if len(moved) else 0.0
    size = float(np.abs(values).max())
    if digit > COARSEST * size:
        # All stand still but for the dropouts themselves: those are no digit of a meter.
        digit = _last_place(values)
    rough = 1.4826 * float(np.median(steps)) / np.sqrt(2)
    if rough < digit:
        near = steps[steps <= 3.5 * digit]
        rough = max(float(np.sqrt((near**2).mean() / 2)), min(digit, 0.001 * size) / np.sqrt(12))
    return float(max(rough, 1e-9))


def _last_place(values: Floats) -> float:
    """The last decimal place in which any of the values is written [unit]."""
    places = next((k for k in range(6) if np.allclose(values, np.round(values, k), rtol=0, atol=1e-9)), 6)
    return float(10.0**-places)


def two_levels(values: Floats, noise: float) -> tuple[float, float] | None:
    """The usual level and the other one; None when there is but one, or a drift between."""
    usual = float(np.median(values))
    for _ in range(2):
        off = values - usual
        above, below = off > FAR * noise, off < -FAR * noise
        side = above if above.sum() >= below.sum() else below
        if not side.any():
            return None
        away = float(np.median(values[side]))
        if abs(away - usual) < LEAST_STEP * noise:
            return None
        share = (values - usual) / (away - usual)
        usual = float(np.median(values[share < ENTER]))
    between = ((share > 0.25) & (share < 0.75)).sum()
    if between > RAMP * (share >= 0.75).sum() + 2:
        return None
    return usual, away


def _trend(values: Floats, noise: float) -> Floats:
    """What a drifting channel does besides: medians of stretches, joined by lines; 0 for one that stays."""
    if len(values) < 5 * BLOCKS or two_levels(values, noise) is not None:
        return np.zeros(1)
    parts = np.array_split(values, BLOCKS)
    middles = np.array([np.median(p) for p in parts])
    if np.ptp(middles) < FAR * noise:
        return np.zeros(1)
    ends = np.cumsum([len(p) for p in parts])
    centres = ends - np.array([len(p) for p in parts]) / 2
    found: Floats = np.interp(np.arange(len(values)), centres, middles) - np.median(middles)
    return found


def _switched(values: Floats, usual: float, away: float) -> Flags:
    """Which values are away, with two thresholds so that noise at one of them makes no dropouts."""
    share = (values - usual) / (away - usual)
    mark = np.where(share >= ENTER, 1, np.where(share <= LEAVE, -1, 0))
    last = np.maximum.accumulate(np.where(mark != 0, np.arange(len(mark)), -1))
    settled: Flags = (last >= 0) & (mark[np.maximum(last, 0)] == 1)
    return settled


def _once(away: Flags) -> bool:
    """Whether it went over once and for good: that is a change of level, no dropout."""
    return bool((away[1:] != away[:-1]).sum() == 1)


def _spans(t: Floats, away: Flags, breaks: npt.NDArray[np.int64]) -> tuple[Dropout, ...]:
    """Runs of values that are away; an edge lies halfway between two values."""
    first = np.concatenate([[0], breaks + 1])
    last = np.concatenate([breaks, [len(t) - 1]])
    changes = away[1:] != away[:-1]
    changes[breaks] = True
    starts = np.concatenate([[0], np.flatnonzero(changes) + 1])
    stops = np.concatenate([starts[1:] - 1, [len(t) - 1]])
    chosen = away[starts]
    starts, stops = starts[chosen], stops[chosen]
    at_first, at_last = np.isin(starts, first), np.isin(stops, last)
    begin = np.where(at_first, t[starts], (t[np.maximum(starts - 1, 0)] + t[starts]) / 2)
    end = np.where(at_last, t[stops], (t[stops] + t[np.minimum(stops + 1, len(t) - 1)]) / 2)
    rows = zip(begin, end, at_first | at_last, strict=True)
    return tuple(Dropout(float(a), float(b), bool(c)) for a, b, c in rows)


def poisson_high(count: int) -> float:
    """Upper 97.5 % limit of an expected count (F. Garwood, Biometrika 28, 1936) [mem]."""
    from scipy.special import gammaincinv

    return float(gammaincinv(count + 1, 0.975))


def poisson_rate(count: int, seconds: float) -> Interval:
    """Rate of a Poisson process with its exact 95 % interval [1/s]."""
    from scipy.special import gammaincinv

    low = float(gammaincinv(count, 0.025)) if count else 0.0
    return Interval(low / seconds, count / seconds, poisson_high(count) / seconds)


def mean_length(whole: int, total: float) -> Interval | None:
    """Mean of exponential lengths with its 95 % interval [s]: 2 S / theta is chi-square, 2 m degrees.

    Parameters
    ----------
    whole
        How many were seen from beginning to end.
    total
        Length of all, those cut short included [s].
    """
    from scipy.special import gammaincinv

    if total <= 0:
        return None
    if not whole:
        return Interval(total / poisson_high(0), total, float("inf"))
    low, high = (float(gammaincinv(whole, p)) for p in (0.975, 0.025))
    return Interval(total / low, total / whole, total / high)


@dataclass(frozen=True, slots=True)
class NoteHits:
    """Notes of one wording against the beginnings of dropouts.

    Parameters
    ----------
    times
        When it was noted [s].
    hits
        How many of them have a dropout beginning within `within`.
    by_chance
        Chance that one note at any time has one [1].
    chance
        Chance of so many hits or more if the notes had nothing to do with it [1].
    within
        How near counts [s].
    """

    text: str
    times: tuple[float, ...]
    hits: int
    by_chance: float
    chance: float
    within: float


def match_notes(
    notes: Sequence[Note], spans: Sequence[Dropout], whole: tuple[float, float], *, within: float = WITHIN
) -> tuple[NoteHits, ...]:
    """Which notes fall together with dropouts, the least likely to be chance first.

    The chance of one note is the share of the recording that lies within `within` of a beginning; of
    several of one wording, the binomial tail. Looking at many wordings makes a low chance easier to meet.

    Parameters
    ----------
    whole
        First and last time of the recording [s].
    """
    from scipy.special import bdtrc

    starts = np.array([s.start for s in spans])
    low, high = np.maximum(starts - within, whole[0]), np.minimum(starts + within, whole[1])
    # Overlapping windows count once: each begins where the last one ended at the earliest.
    reach = np.concatenate([[whole[0]], np.maximum.accumulate(high)[:-1]]) if len(high) else high
    covered = float(np.maximum(high - np.maximum(low, reach), 0.0).sum())
    share = min(1.0, covered / (whole[1] - whole[0]))
    found: list[NoteHits] = []
    for text in dict.fromkeys(n.text for n in notes):
        times = np.array([n.time for n in notes if n.text == text])
        near = (
            np.abs(times[:, None] - starts[None, :]).min(axis=1) <= within if len(starts) else times < -1e99
        )
        hits = int(near.sum())
        chance = float(bdtrc(hits - 1, len(times), share)) if hits else 1.0
        found.append(NoteHits(text, tuple(times.tolist()), hits, share, chance, within))
    return tuple(sorted(found, key=lambda h: h.chance))

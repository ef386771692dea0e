"""Which bands a sweep passed, bottom to top, and on which side of every edge each answer was.

The volts are cut into stretches of one answer each by dynamic programming: every cut costs `CUT`, every
answer that does not fit its stretch costs the more, the further it lies from the next cut, at most
`MISFIT`. So a single answer seen nowhere else makes a band of its own, while off and on in turns within
a tenth of a volt are one unsharp edge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.workbench.sweep import SweepReading

CUT = 1.5
MISFIT = 3.5
"""Costs [nat]: a misfit about twice a cut, so that one odd answer makes a band and noise does not."""
UNSHARP = 0.1
"""Distance from an edge at which another answer is no surprise [V]; common practice, no source."""
MOST_RUNS = 250
"""Stretches of like answers above which the volts are first laid together in cells."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """One band as the answers show it: what it means, and where answers lie inside [V]."""

    answer: str
    first: float
    last: float


def ways_of(readings: Sequence[SweepReading]) -> list[str]:
    """``up`` or ``down`` for each reading: as said, else as the volts moved to it."""
    ways: list[str] = []
    for i, reading in enumerate(readings):
        way = reading.way
        if not way:
            step = reading.volts - readings[i - 1].volts if i else 0.0
            if i == 0 and len(readings) > 1:
                step = readings[1].volts - reading.volts
            way = "up" if step > 0 else "down" if step < 0 else (ways[-1] if ways else "up")
        ways.append(way)
    return ways


def find_stretches(readings: Sequence[SweepReading]) -> tuple[Stretch, ...]:
    """The bands of a sweep from the lowest volts up; up and down apart where both saw several."""
    ways = ways_of(readings)
    each = [
        _cut([r for r, w in zip(readings, ways, strict=True) if w == way])
        for way in ("up", "down")
        if way in ways
    ]
    whole = _cut(readings)
    if len(each) < 2:
        return whole
    short, long = sorted(each, key=len)
    names = [s.answer for s in long]
    part = [s.answer for s in short]
    inside = any(names[i : i + len(part)] == part for i in range(len(names) - len(part) + 1))
    if not inside or len(whole) < len(long):
        return whole
    return long


def _cut(readings: Sequence[SweepReading]) -> tuple[Stretch, ...]:
    volts, counts, names = _levels(readings)
    runs = _runs(counts)
    if len(runs) > MOST_RUNS:
        cells = np.linspace(volts[0], volts[-1], MOST_RUNS)
        at = np.unique(np.searchsorted(cells, volts))
        where = np.searchsorted(cells, volts)
        volts = np.array([volts[where == c].mean() for c in at])
        counts = np.array([counts[where == c].sum(axis=0) for c in at])
        runs = _runs(counts)
    ends = [r[0] for r in runs] + [len(volts)]
    n = len(runs)
    middles = [-np.inf, *((volts[e - 1] + volts[e]) / 2 for e in ends[1:-1]), np.inf]
    best = np.full(n + 1, np.inf)
    best[0] = -CUT
    back: list[tuple[int, int]] = [(0, 0)] * (n + 1)
    last = np.full(n + 1, -1)
    for j in range(1, n + 1):
        for i in range(j):
            inside = slice(ends[i], ends[j])
            d = np.minimum(volts[inside] - middles[i], middles[j] - volts[inside])
            price = np.minimum((d / UNSHARP) ** 2 / 2, MISFIT)
            paid = price @ counts[inside]
            cost = paid.sum() - paid
            cost[counts[inside].sum(axis=0) == 0] = np.inf
            if i:
                cost[last[i]] = np.inf
            k = int(np.argmin(cost))
            if best[i] + cost[k] + CUT < best[j] - 1e-12:
                best[j], back[j], last[j] = best[i] + cost[k] + CUT, (i, k), k
    found: list[Stretch] = []
    j = n
    while j:
        i, k = back[j]
        own = volts[ends[i] : ends[j]][counts[ends[i] : ends[j], k] > 0]
        found.append(Stretch(names[k], float(own[0]), float(own[-1])))
        j = i
    return tuple(reversed(found))


def _levels(readings: Sequence[SweepReading]) -> tuple[Floats, Floats, list[str]]:
    """``(v,)`` different volts ascending, ``(v, a)`` how often each answer came, and the answers."""
    names = list(dict.fromkeys(r.answer for r in readings))
    place = {name: i for i, name in enumerate(names)}
    volts, at = np.unique([r.volts for r in readings], return_inverse=True)
    counts = np.zeros((len(volts), len(names)))
    answers = np.array([place[r.answer] for r in readings])
    np.add.at(counts, (at, answers), np.array([r.count for r in readings], float))
    return volts, counts, names


def _runs(counts: Floats) -> list[tuple[int, int]]:
    """Neighbouring levels with the same single answer go together: (first level, answer)."""
    runs: list[tuple[int, int]] = []
    for i, row in enumerate(counts):
        single = int(np.argmax(row)) if (row > 0).sum() == 1 else -1 - i
        if not runs or runs[-1][1] != single:
            runs.append((i, single))
    return runs


def sides_of(readings: Sequence[SweepReading], stretches: Sequence[Stretch]) -> list[int]:
    """Number of the stretch that each answer speaks for; -1 where none of that answer is there."""
    sides: list[int] = []
    for r in readings:
        own = [(max(s.first - r.volts, r.volts - s.last, 0.0), i) for i, s in enumerate(stretches)]
        own = [(d, i) for d, i in own if stretches[i].answer == r.answer]
        sides.append(min(own)[1] if own else -1)
    return sides


def came_from(readings: Sequence[SweepReading], sides: Sequence[int], edge: int) -> list[str]:
    """From which side of an edge each reading was come to: ``up`` from below, ``down`` from above.

    What a comparator with hysteresis does depends on what it said where the volts last turned, not on
    their last step: from a lower answer on its upper threshold counts, from an upper one the lower.
    """
    ways = ways_of(readings)
    found: list[str] = []
    side = -1
    for i, reading in enumerate(readings):
        if i and ways[i] != ways[i - 1]:
            side = sides[i - 1]
        if reading.way or side < 0:
            found.append(ways[i])
        else:
            found.append("up" if side <= edge else "down")
    return found

"""The other way round: what a sensor may be, so that this input takes it for the wanted thing.

Solved from ``V = (E g + Vu Gu) / (g + Gu + Gd)`` for each end of the band: the current that the input
itself draws at that end, ``i = V Gd - (Vu - V) Gu``, has to come from the sensor.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import inf, isfinite

from backprobe.sheet.anatomy import Value
from backprobe.workbench.standin_input import InputPort

SOURCE_OHMS = (0.0, 1e3, 1e4)
"""Source resistances that are asked for where none is given [ohm]."""


@dataclass(frozen=True, slots=True)
class Accepted:
    """Values of one thing that the input takes for the wanted band.

    Parameters
    ----------
    what
        ``source volts``, ``ohms to ground`` or ``ohms to feed``.
    unit
        ``V`` or ``ohm``.
    source_ohms
        Resistance that the source volts stand behind [ohm]; 0 for the others.
    low, high
        As marked [V or ohm]; both None where no value does. High is infinite where an open one does.
    sure_low, sure_high
        The same at every corner of feed and input; None where no value does for certain.
    """

    what: str
    unit: str
    source_ohms: float
    low: float | None
    high: float | None
    sure_low: float | None
    sure_high: float | None


def accepted(port: InputPort, source_ohms: Sequence[float] = SOURCE_OHMS) -> tuple[Accepted, ...]:
    """What a sensor may be on this input.

    Parameters
    ----------
    source_ohms
        Output resistances of a sensor that gives volts [ohm].
    """
    found = [_range("source volts", "V", port, r) for r in source_ohms]
    if port.pull_up is not None:
        found.append(_range("ohms to ground", "ohm", port, 0.0))
    if port.has_feed and (port.pull_down is not None or port.pull_up_volts is not None):
        found.append(_range("ohms to feed", "ohm", port, 0.0))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Corner:
    feed: float
    down: float
    up: float
    top: float

    def wants(self, volts: float) -> float:
        """Current that the input takes from the sensor at these volts [A]; below 0 it gives."""
        return volts * self.down - (self.top - volts) * self.up


def _range(what: str, unit: str, port: InputPort, ohms: float) -> Accepted:
    solve = {"source volts": _source, "ohms to ground": _to_ground, "ohms to feed": _to_feed}[what]
    corners = list(_corners(port))
    ends = [solve(c, port.band, ohms) for c in corners]
    marked = ends[0]
    low = max(e[0] for e in ends)
    high = min(e[1] for e in ends)
    exists, sure = marked[0] <= marked[1], low <= high
    return Accepted(
        what,
        unit,
        ohms,
        marked[0] if exists else None,
        marked[1] if exists else None,
        low if sure else None,
        high if sure else None,
    )


def _corners(port: InputPort) -> Iterator[_Corner]:
    """The circuit as marked, then every corner of what is uncertain in it."""

    def ends(value: Value | None, side: int) -> float:
        return 0.0 if value is None else (value.low, value.nominal, value.high)[side + 1]

    def at(feed: int, down: int, up: int, top: int) -> _Corner:
        volts = ends(port.pull_up_volts, top) if port.pull_up_volts else ends(port.feed, feed)
        g = [
            1 / x if (x := ends(v, side)) else 0.0 for v, side in ((port.pull_down, down), (port.pull_up, up))
        ]
        return _Corner(ends(port.feed, feed), g[0], g[1], volts)

    yield at(0, 0, 0, 0)
    for sides in product((-1, 1), repeat=4):
        yield at(*sides)


def _source(c: _Corner, band: tuple[float, float], ohms: float) -> tuple[float, float]:
    low, high = (v + ohms * c.wants(v) if isfinite(v) else v for v in band)
    return max(low, 0.0), high


def _to_ground(c: _Corner, band: tuple[float, float], _: float) -> tuple[float, float]:
    """More ohms, more volts: at each end the sensor has to take what the input gives."""

    def ohms(volts: float) -> float:
        given = -c.wants(volts) if isfinite(volts) else -inf
        return volts / given if given > 0 else inf

    low = max(band[0], 0.0)
    first = 0.0 if low <= 0 else ohms(low)
    return first if isfinite(first) else inf, ohms(band[1]) if isfinite(first) else -inf


def _to_feed(c: _Corner, band: tuple[float, float], _: float) -> tuple[float, float]:
    """More ohms, fewer volts."""

    def ohms(volts: float) -> float:
        taken = c.wants(volts)
        return (c.feed - volts) / taken if taken > 0 else inf

    if band[0] >= c.feed:
        return inf, -inf
    least = 0.0 if band[1] >= c.feed else ohms(band[1])
    most = inf if not isfinite(band[0]) or band[0] <= 0 else ohms(band[0])
    return (least, most) if isfinite(least) else (inf, -inf)

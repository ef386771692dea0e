"""A stand-in that can be turned: a potentiometer between end resistors, its wiper behind a protector.

The end resistors keep the signal inside what the controller survives without a code, wherever the
wiper stands; the protector keeps the current small when the wiper touches an end or slips off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import inf, isfinite

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.workbench.standin_input import InputPort
from backprobe.workbench.standin_parts import MOST_AMPS, SHARE_OF_LIMIT, Parts

TRACKS = (1e3, 2e3, 2.5e3, 5e3, 1e4)
"""Common tracks [ohm]; common practice, no source."""
TRACK_BOUND = 0.2
"""A track is what it says to a fifth [1]; common practice, no source."""
PROTECT_AMPS = 2e-3
"""What may flow through the wiper into a damaged or clamped input [A]; common practice, no source."""
PROTECTORS = (10e3, 6.8e3, 4.7e3, 3.3e3, 2.2e3, 1.5e3, 1e3)
"""Protectors that are tried, the highest first [ohm]: it has to leave the input reachable."""
ENDS_UP_TO, MOST_ENDS = 2e4, 60
"""Largest end resistor that is tried [ohm], and how many: a finer series wins nothing beside a track."""


@dataclass(frozen=True, slots=True)
class Adjustable:
    """A stand-in with a wiper.

    Parameters
    ----------
    top, track, bottom, protector
        Resistor to feed, potentiometer, resistor to ground, resistor in the wiper's lead [ohm].
    least, most
        The signal with the wiper at its ends, as marked [V].
    never_below, never_above
        The same at the worst corner [V].
    surely_from, surely_to
        What it reaches for certain [V].
    amps
        Taken from the feed [A].
    wiper_amps
        Most through the wiper, the signal shorted to ground [A].
    open_wiper
        The signal when the wiper lifts [V].
    """

    top: float
    track: float
    bottom: float
    protector: float
    least: float
    most: float
    never_below: float
    never_above: float
    surely_from: float
    surely_to: float
    amps: float
    wiper_amps: float
    open_wiper: float


def adjustable(port: InputPort, parts: Parts, aim: float) -> Adjustable | None:
    """The one that sweeps most of what is safe, around the aim; None where nothing does.

    Parameters
    ----------
    aim
        Volts that it must be able to reach at every corner [V].
    """
    if not port.has_feed:
        return None
    usable = [v for v in parts.values if 100 <= v <= ENDS_UP_TO]
    ends = np.array([0.0, *usable[:: 1 + len(usable) // MOST_ENDS]])
    tops, tracks, bottoms = (x.ravel() for x in np.meshgrid(ends, np.array(TRACKS), ends, indexing="ij"))
    limit = MOST_AMPS if port.feed_limit is None else min(MOST_AMPS, SHARE_OF_LIMIT * port.feed_limit.low)
    light = port.feed.high / (tops + tracks + bottoms) <= limit
    tops, tracks, bottoms = tops[light], tracks[light], bottoms[light]
    low, high = _window(port)
    for protector in _protectors(parts):
        chain = (tops, tracks, bottoms, protector)
        wiper = port.feed.high / (protector * (1 - parts.bound) + _least_source(tops, bottoms))
        bottom, top = ([swept(port, chain, x, parts.bound, side) for side in (-1, 0, 1)] for x in (0.0, 1.0))
        good = (bottom[0] >= low) & (top[2] <= high) & (top[0] >= aim) & (bottom[2] <= aim)
        good &= wiper <= PROTECT_AMPS
        if not good.any():
            continue
        amps = port.feed.nominal / (tops + tracks + bottoms)
        # The widest sweep that is certain; of those that differ by a twentieth the lightest.
        width = np.floor(20 * (top[0] - bottom[2]) / port.feed.nominal)
        k = int(np.lexsort((amps, -np.where(good, width, -inf)))[0])
        return Adjustable(
            float(tops[k]),
            float(tracks[k]),
            float(bottoms[k]),
            protector,
            float(bottom[1][k]),
            float(top[1][k]),
            float(bottom[0][k]),
            float(top[2][k]),
            float(bottom[2][k]),
            float(top[0][k]),
            float(amps[k]),
            float(wiper[k]),
            port.rest,
        )
    return None


def swept(
    port: InputPort, chain: tuple[Floats, Floats, Floats, float], turned: float, bound: float, side: int
) -> Floats:
    """The signal with the wiper turned so far towards the feed [V].

    Parameters
    ----------
    chain
        Top, track, bottom and protector [ohm].
    turned
        0 at the ground end, 1 at the feed end.
    bound
        Bound of the resistors, as a share of them; the track has its own [1].
    side
        -1, 0 or 1: lowest corner, as marked, highest corner.
    """
    top, track, bottom, protector = chain
    feed = port.feed.nominal if side == 0 else port.feed.high if side > 0 else port.feed.low
    wide = bound * abs(side)
    found = []
    # The track and the protector may move the signal either way; the rest only one.
    for way, guard in product((-1, 1), (-1, 1)) if side else ((0, 0),):
        whole = track * (1 + way * TRACK_BOUND)
        above = top * (1 - side * bound) + (1 - turned) * whole + port.feed_ohms.nominal
        below = bottom * (1 + side * bound) + turned * whole
        total = above + below
        siemens = 1 / (above * below / total + protector * (1 + guard * wide))
        found.append(port.loaded(feed * below / total * siemens, siemens, side))
    result: Floats = np.min(found, axis=0) if side < 0 else np.max(found, axis=0)
    return result


def _window(port: InputPort) -> tuple[float, float]:
    """What the signal may never leave: the codes where they are known, else the wanted band itself [V]."""
    low, high = port.safe
    low = low if isfinite(low) else port.band[0]
    return max(low, 0.0), high if isfinite(high) else port.band[1]


def _least_source(tops: Floats, bottoms: Floats) -> Floats:
    """Source resistance of the chain with the wiper at its feed end, track taken as short [ohm]."""
    result: Floats = np.where(tops + bottoms > 0, tops * bottoms / np.maximum(tops + bottoms, 1e-9), 0.0)
    return result


def _protectors(parts: Parts) -> Sequence[float]:
    """The highest first, from the parts at hand."""
    if parts.name != "drawer":
        return PROTECTORS
    return sorted((v for v in parts.values if 1e3 <= v <= 1.2e4), reverse=True)

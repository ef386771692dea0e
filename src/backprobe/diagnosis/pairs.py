"""Pairs of points as arrays: what every look at a setup needs, and no reading changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Bools, Circuit, Floats, Ints
from backprobe.diagnosis.checks import pair_minutes, point_pairs
from backprobe.readings.points import Point


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """Every pair of some points.

    Parameters
    ----------
    points
        Red and black of each pair.
    red, black
        ``(k,)`` their nodes; -1 for the datum.
    minutes
        ``(k,)`` to place both leads [min].
    split
        ``(k,)`` whether a lead is on one side of an open plug.
    """

    points: tuple[tuple[Point, Point], ...]
    red: Ints
    black: Ints
    minutes: Floats
    split: Bools

    def take(self, chosen: Ints) -> Pairs:
        """Some of the pairs."""
        some = tuple(self.points[k] for k in chosen)
        return Pairs(some, self.red[chosen], self.black[chosen], self.minutes[chosen], self.split[chosen])


def make_pairs(circuit: Circuit, points: Sequence[Point]) -> Pairs:
    """Pair the points; the one nearer the supply or the negative post is black."""
    pairs = tuple(point_pairs(points))
    node = {p.terminal: circuit.node(p.terminal) for p in points}
    return Pairs(
        pairs,
        np.array([node[r.terminal] for r, _ in pairs], np.int64),
        np.array([node[b.terminal] for _, b in pairs], np.int64),
        np.array([pair_minutes(r, b) for r, b in pairs], float),
        np.array([bool(r.side or b.side) for r, b in pairs], bool),
    )

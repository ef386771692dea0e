"""Pairs of points as arrays: what every look at a setup needs, and no reading changes."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

import numpy as np

from backprobe.circuit.compiled import Bools, Circuit, Floats, Ints
from backprobe.diagnosis.checks import BLACK_MINUTES, lead_minutes
from backprobe.readings.points import Point

ALIKE = 5e-3
"""Points within this of each other, whatever is at fault, are one to a meter of two decimals [V]."""

BLACKS = {"battery-": 0, "frame": 1}
"""Points that are black beside any other."""


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """Every pair of some points, the quickest first.

    Parameters
    ----------
    points
        The points.
    one, other
        ``(k,)`` numbers of each pair's red and black point.
    red, black
        ``(k,)`` their nodes; -1 for the datum.
    minutes
        ``(k,)`` to place both leads [min].
    split
        ``(k,)`` whether a lead is on one side of an open plug.
    """

    points: tuple[Point, ...]
    one: Ints
    other: Ints
    red: Ints
    black: Ints
    minutes: Floats
    split: Bools
    _from: dict[str, Floats] = field(default_factory=dict)

    def ends(self, k: int) -> tuple[Point, Point]:
        """Red and black of a pair."""
        return self.points[self.one[k]], self.points[self.other[k]]

    def minutes_from(self, black: str) -> Floats:
        """``(k,)`` to place both leads while the black one is at a terminal; empty for nowhere [min]."""
        if not black:
            return self.minutes
        if black not in self._from:
            stays = np.array([p.terminal == black for p in self.points], bool)
            self._from[black] = self.minutes + BLACK_MINUTES * ~stays[self.other]
        return self._from[black]

    def quickest(self, volts: Floats, minutes: Floats, without: Collection[tuple[str, str]]) -> Ints:
        """The quickest pair for each two groups of points that no suspect tells apart by volts.

        Parameters
        ----------
        volts
            ``(c, n + 1)`` node volts under each suspect, the datum last [V].
        minutes
            ``(k,)`` to place both leads [min].
        without
            Terminals of the pairs that were read already.

        Returns
        -------
        chosen
            ``(k,)`` numbers of pairs whose two points are not of one group.
        """
        columns = np.round(volts.T / ALIKE).astype(np.int64)
        # One number for each column: two that differ have the same one as good as never.
        mixed = np.random.default_rng(len(volts)).integers(1, 2**62, len(volts)) @ columns.T
        known, group = np.unique(mixed, return_inverse=True)
        one, other = group[self.red], group[self.black]
        kept = np.flatnonzero((one != other) & self._without(without))
        kept = kept[np.argsort(minutes[kept], kind="stable")]
        code = np.minimum(one, other) * len(known) + np.maximum(one, other)
        # The first of each kind is the quickest.
        chosen: Ints = kept[np.unique(code[kept], return_index=True)[1]]
        return chosen

    def dead(self, volts: Floats, most: float, without: Collection[tuple[str, str]]) -> Ints:
        """Pairs at an open plug without volts of their own under any suspect, where ohms may be read.

        Parameters
        ----------
        volts, without
            As for `quickest`.
        most
            Volts that still count as none [V].
        """
        at = np.flatnonzero(self.split & self._without(without))
        own = np.abs(volts[:, self.red[at]] - volts[:, self.black[at]]).max(axis=0, initial=0.0)
        chosen: Ints = at[own < most]
        return chosen

    def _without(self, pairs: Collection[tuple[str, str]]) -> Bools:
        """``(k,)`` whether a pair is none of these."""
        left = np.ones(self.one.size, bool)
        number = {p.terminal: k for k, p in enumerate(self.points)}
        for red, black in pairs:
            left &= (self.one != number.get(red, -1)) | (self.other != number.get(black, -1))
        return left


def make_pairs(circuit: Circuit, points: Sequence[Point]) -> Pairs:
    """Pair the points; the one nearer the supply or the negative post is black."""
    ordered = tuple(sorted(points, key=lambda p: -BLACKS[p.name] if p.name in BLACKS else -9))
    one, other = np.triu_indices(len(ordered), 1)
    terminals = [p.terminal for p in ordered]
    number = np.array([terminals.index(t) for t in terminals], np.int64)
    apart = number[one] != number[other]
    reach = np.array([p.minutes for p in ordered], float)
    sides = np.array([bool(p.side) for p in ordered], bool)
    nodes = np.array([circuit.node(t) for t in terminals], np.int64)
    minutes = lead_minutes(np.maximum(reach[one], reach[other]), np.minimum(reach[one], reach[other]))
    quick = np.flatnonzero(apart)[np.argsort(minutes[apart], kind="stable")]
    one, other = one[quick], other[quick]
    return Pairs(ordered, one, other, nodes[one], nodes[other], minutes[quick], sides[one] | sides[other])

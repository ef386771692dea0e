"""What a pin of a machine can be: kinds of feed, ground and signal, each a source behind a resistance.

Centres and widths are common practice, no source: they are broad, and a few readings overrule them.
Resistances are told by their natural logarithm.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations, product
from math import log

import numpy as np

from backprobe.circuit.compiled import Bools, Floats

ROLES = ("feed", "ground", "signal")


@dataclass(frozen=True, slots=True)
class Family:
    """One kind of pin.

    Parameters
    ----------
    volts, ohms
        Centre and standard deviation of the open volts [V], and of the natural logarithm of the
        resistance [ln ohm].
    share
        How often it is met among its role [1].
    of_feed
        Its volts are counted in those of the feed [1].
    """

    name: str
    volts: tuple[float, float]
    ohms: tuple[float, float]
    share: float
    of_feed: bool = False


def _about(ohms: float, spread: float) -> tuple[float, float]:
    return log(ohms), spread


NOTHING = (0.0, 0.02)
"""Volts of what is at ground: shifts of some hundredths are common [V]."""


def families(system_volts: float) -> dict[str, tuple[Family, ...]]:
    """Role to its kinds, on a machine of these volts."""
    battery = (12.6 / 12 * system_volts, 0.05 * system_volts)
    return {
        "feed": (
            Family("regulated feed", (7.2, 2.2), _about(1.0, 1.0), 0.72),
            Family("battery feed", battery, _about(0.3, 1.0), 0.2),
            Family("dead feed", NOTHING, _about(4e4, 1.2), 0.08),
        ),
        "ground": (
            Family("ground", NOTHING, _about(0.3, 1.2), 0.93),
            Family("open ground", NOTHING, _about(1e7, 1.5), 0.07),
        ),
        "signal": (
            Family("pull-up to the feed", (1.0, 0.02), _about(5e3, 1.3), 0.25, of_feed=True),
            Family("pull-up to another supply", (5.2, 1.2), _about(5e3, 1.3), 0.12),
            Family("pull-down", NOTHING, _about(4e4, 1.2), 0.33),
            Family("held in the middle", (0.5, 0.12), _about(1e4, 1.2), 0.08, of_feed=True),
            Family("two-wire input, 8.2 V behind 1 kohm", (8.2, 0.2), _about(1e3, 0.05), 0.04),
            Family("driver that is on", battery, _about(0.3, 1.0), 0.05),
            Family("driver that is off", (5.0, 0.8), _about(2.5e4, 0.6), 0.06),
            Family("dead", NOTHING, _about(1e8, 1.5), 0.07),
        ),
    }


@dataclass(frozen=True, slots=True, eq=False)
class Hypotheses:
    """Every assignment of roles to pins with every family, and what is believed of its numbers.

    Parameters
    ----------
    places
        ``(h, 3)`` which pin is feed, ground and signal.
    names
        For each the names of its three families.
    mean, spread
        ``(h, 6)`` volts of feed, ground and signal, then ln ohms of them.
    of_feed
        ``(h,)`` whether the signal's volts are counted in those of the feed.
    log_prior
        ``(h,)``.
    """

    places: tuple[tuple[int, int, int], ...]
    names: tuple[tuple[str, str, str], ...]
    mean: Floats
    spread: Floats
    of_feed: Bools
    log_prior: Floats


def hypotheses(system_volts: float) -> Hypotheses:
    """All of them."""
    kinds = families(system_volts)
    trios = list(product(*(kinds[r] for r in ROLES)))
    places: list[tuple[int, int, int]] = []
    rows: list[tuple[Family, Family, Family]] = []
    for one, two, three in permutations(range(3)):
        for feed, ground, signal in trios:
            places.append((one, two, three))
            rows.append((feed, ground, signal))
    mean = np.array([[f.volts[0] for f in row] + [f.ohms[0] for f in row] for row in rows])
    spread = np.array([[f.volts[1] for f in row] + [f.ohms[1] for f in row] for row in rows])
    shares = np.array([np.prod([f.share for f in row]) / 6 for row in rows])
    return Hypotheses(
        tuple(places),
        tuple((a.name, b.name, c.name) for a, b, c in rows),
        mean,
        spread,
        np.array([row[2].of_feed for row in rows]),
        np.log(shares),
    )

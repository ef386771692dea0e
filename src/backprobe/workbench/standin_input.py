"""What a sensor's plug offers to a stand-in: a feed, an input with its own resistors, and a band to reach.

Everything that hangs on the signal wire is one source behind one conductance, so the input's volts
follow in closed form: ``V = (E g + Vu Gu) / (g + Gu + Gd)``. Each uncertain number moves them one way
only, so the worst corners are exact and two solutions on either side give them.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.errors import Problem, UnitError
from backprobe.sheet.anatomy import Origin, Value

FEED_OHMS = Value(0.5, 0.1, 2.0, "ohm", Origin("default", "regulated; common practice, no source"))


@dataclass(frozen=True, slots=True)
class InputPort:
    """The feed and the input as they stand in the sensor's plug, and the band that is wanted.

    Parameters
    ----------
    feed
        Volts of the sensor's feed [V].
    band
        Ends of the wanted band [V]; ``-inf`` or ``inf`` where no end is known or none can be reached.
    pull_down, pull_up
        The input's own resistors [ohm]; None where there is none.
    pull_up_volts
        Where the pull-up goes [V]; None for the feed.
    safe
        What the signal must never leave [V]: the nearest codes on either side; infinite where not known.
    feed_limit
        Current that the feed gives at most [A]; None where not known.
    feed_ohms
        Resistance of the feed with its wire [ohm].
    has_feed
        Whether the plug has the feed; where it has not, only a resistor to ground can stand in.
    """

    feed: Value
    band: tuple[float, float]
    pull_down: Value | None = None
    pull_up: Value | None = None
    pull_up_volts: Value | None = None
    safe: tuple[float, float] = (-inf, inf)
    feed_limit: Value | None = None
    feed_ohms: Value = FEED_OHMS
    has_feed: bool = True

    def __post_init__(self) -> None:
        """Refuse a band that no stand-in could aim at."""
        low, high = self.band
        if not low < high:
            raise UnitError(
                Problem("band", f"{low:g}..{high:g} V", "does not run from low to high", "Write 4.8..6.6 V.")
            )
        if not (isfinite(low) or isfinite(high)):
            raise UnitError(Problem("band", "", "has no end", "Give at least one end, such as ..2.7 V."))
        if not 0 < self.feed.low <= self.feed.high <= 60:
            raise UnitError(
                Problem("feed", f"{self.feed.nominal:g} V", "is out of scope", "Give 0 V to 60 V.")
            )

    @property
    def top(self) -> Value:
        """Volts that the pull-up goes to [V]."""
        return self.pull_up_volts or self.feed

    @property
    def rest(self) -> float:
        """Volts of the input with nothing plugged in [V]; 0 where nothing holds it."""
        return float(self.loaded(np.zeros(1), np.zeros(1))[0])

    def loaded(self, driven: Floats, siemens: Floats, side: int = 0) -> Floats:
        """Volts of the input with a source on it [V].

        Parameters
        ----------
        driven, siemens
            Current into a short [A] and conductance [S] of what is put on the signal.
        side
            -1 for the input's own lowest corner, 0 as marked, 1 for its highest.
        """
        down, top = _siemens(self.pull_down, side), _corner(self.top, side)
        # What a stiffer pull-up does depends on whether its volts are above or below the signal's.
        ups = (-1, 1) if side and self.pull_up else (0,)
        found = []
        for way in ups:
            up = _siemens(self.pull_up, way)
            total = siemens + up + down
            found.append(np.where(total > 0, (driven + top * up) / np.where(total > 0, total, 1.0), 0.0))
        result: Floats = np.min(found, axis=0) if side < 0 else np.max(found, axis=0)
        return result

    def divided(self, upper: Floats, lower: Floats, bound: float, side: int = 0) -> Floats:
        """Volts of the input with resistors to feed and to ground [V].

        Parameters
        ----------
        upper, lower
            Resistances to feed and to ground [ohm]; infinite for none.
        bound
            Bound of both, as a share of them [1].
        side
            As in `loaded`.
        """
        drops = _corner(self.feed_ohms, -side)
        above = 1 / (upper * (1 - side * bound) + drops)
        below = 1 / (lower * (1 + side * bound))
        return self.loaded(_corner(self.feed, side) * above, above + below, side)

    def amps(self, upper: Floats, lower: Floats, volts: Floats) -> Floats:
        """Current taken from the feed, or from the input where a stand-in only goes to ground [A]."""
        from_feed = np.maximum(self.feed.nominal - volts, 0.0) / (upper + self.feed_ohms.nominal)
        result: Floats = np.where(np.isfinite(upper), from_feed, volts / lower)
        return result


def _corner(value: Value, side: int) -> float:
    return (value.low, value.nominal, value.high)[side + 1]


def _siemens(value: Value | None, side: int) -> float:
    """Conductance at a corner of the volts: less of a pull-down lifts them [S]."""
    return 0.0 if value is None else 1 / _corner(value, side)


def margin_units(volts: Floats, low: Floats, high: Floats, band: tuple[float, float]) -> Floats:
    """Distance of the signal to the nearer end of a band, in units of how far tolerances carry it there [1].

    Parameters
    ----------
    volts, low, high
        The signal as marked and at its worst corners [V].

    Returns
    -------
    Floats
        1 where the worst corner stands on the edge; more where room is left.
    """
    down, up = np.maximum(volts - low, 1e-9), np.maximum(high - volts, 1e-9)
    below = (volts - band[0]) / down if isfinite(band[0]) else np.full_like(volts, inf)
    above = (band[1] - volts) / up if isfinite(band[1]) else np.full_like(volts, inf)
    result: Floats = np.minimum(below, above)
    return result

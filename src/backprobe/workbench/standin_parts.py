"""Resistors at hand, and every way to join two of them into a stand-in, judged at its worst corners."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isfinite
from typing import Literal

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.errors import Problem, UnitError
from backprobe.units import parse_quantity
from backprobe.workbench.preferred import series
from backprobe.workbench.standin_input import InputPort, margin_units

Place = Literal["divider", "to ground", "to feed"]
Joining = Literal["single", "series", "parallel"]
Verdict = Literal["fits", "marginal", "fails"]

USUAL = {3: 0.4, 6: 0.2, 12: 0.1, 24: 0.05, 48: 0.02, 96: 0.01, 192: 0.005}
"""Tolerance that each series is spaced for [1] (IEC 60063) [mem]."""
DECADES = (1, 2, 3, 4, 5)
"""Powers of ten that are offered: 10 ohm to 1 Mohm less a step."""
RATING = 0.25
"""A common small resistor [W]; it is used to half of that. Common practice, no source."""
MOST_AMPS = 0.01
"""A stand-in takes no more from the feed than a sensor would [A]; common practice, no source."""
SHARE_OF_LIMIT = 0.25
"""And no more than this of what the feed gives [1]."""
DRIFT_FINE, DRIFT_COARSE = 100e-6, 200e-6
"""Temperature coefficient of parts up to 1 % and of others [1/K]; common practice, no source."""
MILD = (-10.0, 40.0)
"""Temperatures that a stand-in should stay good over where none is said [degC]."""
FITS, ENOUGH = 1.5, 3.0
"""Distance to an edge, in units of tolerance: from here on it fits; and it is enough where the other
end of the band is not known, so that the aim stays near to what was seen [1]."""
STEP, WIDER, LIGHTER = 0.25, 1.25, 4.0
"""What weighs alike in the ranking: so many tolerances of distance, a signal that moves by a factor less,
a load on the feed that is a factor lighter, one resistor less [1]."""
STIFF = 3e4
"""Source resistance up to which damp pins and a meter do not move a signal [ohm]: 1 Mohm takes 3 %."""
BEHIND = 1e3
MOST_DRAWER = 400
OFFERED = 160
"""Stand-ins of each form that are looked at closely."""
_BETWEEN = re.compile(r"[,;\n]")


@dataclass(frozen=True, slots=True)
class Parts:
    """The resistors at hand.

    Parameters
    ----------
    values
        Resistances, ascending [ohm].
    tolerance
        Bound of each, as a share of it [1].
    name
        ``E24``, or ``drawer``.
    temperatures
        Coldest and warmest that it must stay good at [degC].
    """

    values: tuple[float, ...]
    tolerance: float
    name: str
    temperatures: tuple[float, float] = MILD

    @property
    def drift(self) -> float:
        """Temperature coefficient [1/K]."""
        return DRIFT_FINE if self.tolerance <= 0.01 else DRIFT_COARSE

    @property
    def bound(self) -> float:
        """Tolerance and temperature together, as a share [1]."""
        return self.tolerance + self.drift * max(abs(t - 20.0) for t in self.temperatures)


def parts_of_series(
    number: int = 24, tolerance: float | None = None, temperatures: tuple[float, float] = MILD
) -> Parts:
    """Every value of a series from 10 ohm up to 1 Mohm.

    Parameters
    ----------
    number
        24 for E24.
    tolerance
        As a share [1]; the one the series is spaced for when None.
    """
    members = series(number)
    digits = len(str(members[0])) - 1
    values = tuple(float(f"{m}e{d - digits}") for d in DECADES for m in members)
    share = USUAL[number] if tolerance is None else tolerance
    return Parts(values, _share(share), f"E{number}", temperatures)


def parts_of_drawer(
    text: str, tolerance: float | None = None, temperatures: tuple[float, float] = MILD, file: str = ""
) -> Parts:
    """Resistors as somebody listed them: values with commas or lines between, ``#`` begins a remark.

    Raises
    ------
    UnitError
        Naming the line, for what is no resistance.
    """
    found: set[float] = set()
    for number, line in enumerate(text.splitlines(), 1):
        for word in _BETWEEN.split(line.partition("#")[0]):
            if not word.strip():
                continue
            try:
                ohms = parse_quantity(word.strip(), unit="ohm").value
            except UnitError as error:
                first = error.problems[0]
                raise UnitError(
                    Problem("drawer", word.strip(), first.message, "Write such as 4.7k, 10k.", file, number)
                ) from None
            if not 0.1 <= ohms <= 1e8:
                remedy = "Give 0.1 ohm to 100 Mohm."
                raise UnitError(
                    Problem("drawer", word.strip(), "is no resistor to use here", remedy, file, number)
                )
            found.add(ohms)
    if not found or len(found) > MOST_DRAWER:
        remedy = f"List 1 to {MOST_DRAWER} values such as 1k, 4.7k, 10k."
        raise UnitError(Problem("drawer", f"{len(found)} values", "is no list of resistors", remedy, file))
    return Parts(
        tuple(sorted(found)), _share(0.05 if tolerance is None else tolerance), "drawer", temperatures
    )


def _share(tolerance: float) -> float:
    if not 0 <= tolerance < 0.5:
        raise UnitError(
            Problem(
                "tolerance", f"{100 * tolerance:g} %", "is no tolerance of a resistor", "Write 1 % or 5 %."
            )
        )
    return tolerance


@dataclass(frozen=True, slots=True)
class StandIn:
    """One stand-in, judged.

    Parameters
    ----------
    place, joining
        ``divider``: the first resistor to feed, the second to ground. Else one resistor, or two
        joined in series or in parallel, from the signal to ground or to feed.
    resistors
        As marked [ohm].
    volts, low, high
        The signal as marked and at its worst corners [V].
    to_low, to_high
        What is left to either end of the band at the worst corner [V]; infinite where it has none.
    room
        Distance to the nearer end, in units of what the tolerances carry it [1].
    amps, watts
        Taken from the feed (from the input where it only goes to ground), and the most that one
        resistor burns at its worst [A, W].
    """

    place: Place
    joining: Joining
    resistors: tuple[float, ...]
    volts: float
    low: float
    high: float
    to_low: float
    to_high: float
    room: float
    amps: float
    watts: float

    @property
    def upper(self) -> float:
        """Resistance to the feed [ohm]; infinite for none."""
        return self.resistors[0] if self.place == "divider" else self._joined("to feed")

    @property
    def lower(self) -> float:
        """Resistance to ground [ohm]; infinite for none."""
        return self.resistors[1] if self.place == "divider" else self._joined("to ground")

    @property
    def verdict(self) -> Verdict:
        """``fits``, ``marginal`` where the worst corner is near an edge, ``fails`` beyond it."""
        return "fits" if self.room >= FITS else "marginal" if self.room >= 1 else "fails"

    def _joined(self, place: Place) -> float:
        if self.place != place:
            return inf
        if self.joining == "parallel":
            return 1 / sum(1 / r for r in self.resistors)
        return sum(self.resistors)


def score(room: Floats, band: tuple[float, float]) -> Floats:
    """What stand-ins are ranked by: the distance; towards an end that is not known, at most enough [1]."""
    open_ended = not (isfinite(band[0]) and isfinite(band[1]))
    if not open_ended:
        return room
    # What fails stays behind all that fits, however far from the known end that is.
    result: Floats = np.where(room < FITS, room - BEHIND, np.minimum(room, 2 * ENOUGH - room))
    return result


def judge(port: InputPort, upper: Floats, lower: Floats, bound: float) -> tuple[Floats, ...]:
    """Volts as marked, lowest and highest [V], and the distance to the band's ends [1], of many at once."""
    volts, low, high = (port.divided(upper, lower, bound, side) for side in (0, -1, 1))
    return volts, low, high, margin_units(volts, low, high, port.band)


def judged(
    port: InputPort, parts: Parts, place: Place, joining: Joining, resistors: Sequence[float]
) -> StandIn:
    """One stand-in of given resistors."""
    bare = StandIn(place, joining, tuple(resistors), *(0.0,) * 8)
    upper, lower = np.array([bare.upper]), np.array([bare.lower])
    volts, low, high, room = (float(x[0]) for x in judge(port, upper, lower, parts.bound))
    amps = float(port.amps(upper, lower, np.array([volts]))[0])
    return StandIn(
        place,
        joining,
        bare.resistors,
        volts,
        low,
        high,
        low - port.band[0],
        port.band[1] - high,
        room,
        amps,
        _watts(port, bare, (low, high), parts.bound),
    )


def _watts(port: InputPort, stand: StandIn, ends: tuple[float, float], bound: float) -> float:
    """The most that one of its resistors burns [W]."""
    over = {"upper": max(port.feed.high - ends[0], 0.0), "lower": max(ends[1], 0.0)}
    if stand.place == "divider":
        return max(
            over["upper"] ** 2 / (stand.resistors[0] * (1 - bound)),
            over["lower"] ** 2 / (stand.resistors[1] * (1 - bound)),
        )
    volts = over["lower"] if stand.place == "to ground" else over["upper"]
    total = stand.lower if stand.place == "to ground" else stand.upper
    most = max(stand.resistors) if stand.joining == "series" else total**2 / min(stand.resistors)
    return volts**2 * most / (total**2 * (1 - bound))


def candidates(port: InputPort, parts: Parts, keep: int = 40) -> list[StandIn]:
    """The best of every form, best first."""
    values = np.array(parts.values)
    one, other = (x.ravel() for x in np.meshgrid(values, values, indexing="ij"))
    half = one <= other
    found: list[StandIn] = []
    if port.has_feed:
        found = _best(port, parts, ("divider", "single"), np.stack([one, other], 1))[:keep]
    # One resistor moves the signal only against something that already holds it.
    held: list[tuple[Place, bool]] = [
        ("to ground", port.pull_up is not None),
        ("to feed", port.has_feed and (port.pull_down is not None or port.pull_up_volts is not None)),
    ]
    for place, useful in held:
        if useful:
            found += _best(port, parts, (place, "single"), values[:, None])[:keep]
            pairs = np.stack([one[half], other[half]], 1)
            found += _best(port, parts, (place, "series"), pairs)[:keep]
            found += _best(port, parts, (place, "parallel"), pairs)[:keep]
    return sorted(found, key=lambda s: _order(s, port))


def _best(port: InputPort, parts: Parts, form: tuple[Place, Joining], resistors: Floats) -> list[StandIn]:
    """Stand-ins of one form that reach the band and load neither feed nor resistor, best first."""
    place, joining = form
    joined = 1 / (1 / resistors).sum(axis=1) if joining == "parallel" else resistors.sum(axis=1)
    none = np.full(len(resistors), inf)
    upper, lower = (joined, none) if place == "to feed" else (none, joined)
    if place == "divider":
        upper, lower = resistors.T
    volts, low, high, room = judge(port, upper, lower, parts.bound)
    amps = port.amps(upper, lower, volts)
    limit = MOST_AMPS if port.feed_limit is None else min(MOST_AMPS, SHARE_OF_LIMIT * port.feed_limit.low)
    none_driven, siemens = np.zeros_like(upper), 1 / upper + 1 / lower
    stiff = port.loaded(none_driven + 1, siemens) - port.loaded(none_driven, siemens)
    inside = (volts > port.band[0]) & (volts < port.band[1])
    good = np.flatnonzero((amps <= limit) & inside & (stiff <= STIFF))
    rank = cost(port, room[good], high[good] - low[good], amps[good])
    first = good[np.argsort(rank, kind="stable")][:OFFERED]
    built = (judged(port, parts, place, joining, [float(r) for r in resistors[i]]) for i in first)
    return [s for s in built if s.watts <= RATING / 2]


def cost(port: InputPort, room: Floats, width: Floats, amps: Floats) -> Floats:
    """What stand-ins of so many resistors are ranked by, the least first, in steps of distance [1].

    Parameters
    ----------
    room, width, amps
        Distance in tolerances [1], worst corner to worst corner [V], current taken [A].
    """
    moves = np.log(np.maximum(width, 1e-9)) / np.log(WIDER)
    loads = np.log(np.maximum(amps, 1e-9)) / np.log(LIGHTER)
    result: Floats = moves + loads - score(room, port.band) / STEP
    return result


def _order(stand: StandIn, port: InputPort) -> tuple[float, float]:
    width = np.array([stand.high - stand.low])
    rank = float(cost(port, np.array([stand.room]), width, np.array([stand.amps]))[0])
    return rank + len(stand.resistors), stand.amps


def aim(port: InputPort, parts: Parts) -> float:
    """Where a stand-in should put the signal: as far from the band's ends as tolerances count it [V].

    Found over dividers of any ratio that take 1 mA from the feed, as if every value could be bought.

    Raises
    ------
    UnitError
        When none of them reaches the band.
    """
    share = np.linspace(0.005, 0.995, 397)
    total = port.feed.nominal / 1e-3
    volts, _, _, room = judge(port, (1 - share) * total, share * total, parts.bound)
    inside = (volts > port.band[0]) & (volts < port.band[1])
    if not inside.any():
        raise UnitError(
            Problem(
                "band",
                f"{port.band[0]:g}..{port.band[1]:g} V",
                f"cannot be reached with resistors from a feed of {port.feed.nominal:g} V on this input",
                "Check band and feed, or use an adjustable source.",
            )
        )
    rank = np.where(inside, score(room, port.band), -inf)
    return float(volts[int(np.argmax(rank))])

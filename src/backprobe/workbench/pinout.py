"""Which of three unlabelled pins of a machine is feed, ground and signal, and what hangs on each.

With the sensor's plug off and the key on, each pin is a source behind a resistance. Readings open and
loaded with one known resistor give both; the roles follow as probabilities, not by a rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, inf, isfinite, log

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.errors import Problem, ReadingError
from backprobe.workbench.pinout_families import ROLES, Hypotheses, hypotheses
from backprobe.workbench.pinout_fit import Fit, fit, noise, predicted, slopes
from backprobe.workbench.pinout_lines import GROUND, PinReading, parse_pin_lines
from backprobe.workbench.pinout_next import information, summed
from backprobe.workbench.thevenin import LoadedReading, source_from_loads

LOAD = 1e3
"""The known resistor, where none is in the readings yet [ohm]."""
NO_PATTERN = 0.01
"""Belief beforehand that the pins are nothing of what is known here [1]."""
SURE_ROLE, SURE_KIND, KNOWN = 0.95, 0.8, 0.4
"""From here on the roles and the kind of the signal count as found; and a resistance as known
[1, 1, standard deviation of ln ohm]."""
NEAR_NOTHING = 0.05
"""Volts that carry no more than the meter's own digits [V]."""
LEAST_BITS = 0.02
MOST_WATTS = 0.25
"""What a small resistor stands [W]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class PinSource:
    """One pin as a source behind a resistance.

    Parameters
    ----------
    roles
        Role to probability [1].
    volts, volts_low, volts_high, ohms, ohms_low, ohms_high
        With 95 % intervals; the meter's own load is taken off [V, ohm].
    measured
        From open and loaded readings alone; else as the most probable roles leave it.
    known
        Whether its resistance is known to better than a factor or so.
    """

    pin: str
    roles: dict[str, float]
    volts: float
    volts_low: float
    volts_high: float
    ohms: float
    ohms_low: float
    ohms_high: float
    measured: bool
    known: bool

    @property
    def role(self) -> str:
        """The most probable role."""
        return max(self.roles, key=lambda r: self.roles[r])


@dataclass(frozen=True, slots=True)
class Missing:
    """A reading that is missing: how to take it, and what it would tell [bit]."""

    words: str
    bits: float
    caution: str = ""


@dataclass(frozen=True, slots=True)
class PinOut:
    """What three pins are.

    Parameters
    ----------
    assignments
        Pins in the order feed, ground, signal, with the probability of each order [1].
    kinds
        Role to what it looks like, with probabilities [1].
    level
        ``low release``, ``mid release`` or ``high release``, from what the machine did; else empty.
    none_of_these
        Belief that the pins are nothing of what is known here [1].
    missing
        Readings that would tell most; empty when enough is known.
    """

    pins: tuple[str, str, str]
    readings: tuple[PinReading, ...]
    system_volts: float
    assignments: tuple[tuple[tuple[str, str, str], float], ...]
    kinds: dict[str, tuple[tuple[str, float], ...]]
    sources: tuple[PinSource, ...]
    level: str
    none_of_these: float
    missing: tuple[Missing, ...]

    @property
    def found(self) -> bool:
        """Whether roles and kind of the signal are sure enough to go by."""
        sure = self.assignments[0][1] >= SURE_ROLE and self.kinds["signal"][0][1] >= SURE_KIND
        return sure and self.none_of_these < 1 - SURE_ROLE

    def source(self, role: str) -> PinSource:
        """The pin that most probably has a role."""
        pin = self.assignments[0][0][ROLES.index(role)]
        return next(s for s in self.sources if s.pin == pin)


def pin_out(
    readings: str | Sequence[PinReading],
    *,
    system_volts: float = 12.0,
    pins: Sequence[str] = (),
    file: str = "",
) -> PinOut:
    """Work out three pins on the machine side of a plug that is off.

    Parameters
    ----------
    readings
        Readings, or their lines as in `parse_pin_lines`.
    system_volts
        Nominal volts of the machine [V].
    pins
        Names of the three pins, where the readings do not mention all.
    file
        What a message calls the lines.

    Raises
    ------
    ReadingError
        When lines cannot be understood.
    """
    if not isinstance(readings, str):
        listed = tuple(readings)
        text = "\n".join(r.text for r in listed)
        _, three = parse_pin_lines(text, pins)
    else:
        listed, three = parse_pin_lines(readings, pins, file)
    if not 5 <= system_volts <= 60:
        raise ReadingError(Problem("system", f"{system_volts:g} V", "is out of scope", "Give 12 V or 24 V."))
    model = hypotheses(system_volts)
    found = fit(model, listed, three)
    log_none = log(NO_PATTERN) - sum(log(2 * system_volts) if r.unit == "V" else log(20.0) for r in listed)
    top = max(float(found.log_weight.max()), log_none)
    raw = np.exp(found.log_weight - top)
    nothing = exp(log_none - top)
    share = raw / raw.sum()
    orders = summed([(three[i], three[j], three[k]) for i, j, k in model.places], share)
    kinds = {role: summed([n[i] for n in model.names], share) for i, role in enumerate(ROLES)}
    sources = tuple(_source(pin, k, model, found, share, listed) for k, pin in enumerate(three))
    none_of_these = nothing / (nothing + float(raw.sum()))
    first = orders[0][0]
    done = PinOut(
        three,
        listed,
        system_volts,
        tuple(orders),
        {role: tuple((n, p) for n, p in rows if p > 1e-3) for role, rows in kinds.items()},
        sources,
        _level(listed, next(s for s in sources if s.pin == first[0]).volts),
        none_of_these,
        (),
    )
    complete = done.found and done.source("signal").known
    missing = () if complete else _missing(model, found, share, listed, three)
    return replace(done, missing=missing)


def _source(
    pin: str, k: int, model: Hypotheses, found: Fit, share: Floats, readings: Sequence[PinReading]
) -> PinSource:
    roles = dict.fromkeys(ROLES, 0.0)
    for place, part in zip(model.places, share, strict=True):
        roles[ROLES[place.index(k)]] += float(part)
    alone = _alone(pin, readings)
    if alone is not None:
        return PinSource(pin, roles, *alone, measured=True, known=True)
    best = int(share.argmax())
    role = model.places[best].index(k)
    state, spread = found.state[best], np.sqrt(np.diagonal(found.covariance[best]))
    scale = state[0] if role == 2 and model.of_feed[best] else 1.0
    volts, half = float(state[role] * scale), 1.96 * float(spread[role] * abs(scale))
    ohms, wide = float(state[3 + role]), 1.96 * float(spread[3 + role])
    return PinSource(
        pin,
        roles,
        volts,
        volts - half,
        volts + half,
        exp(ohms),
        exp(ohms - wide),
        exp(ohms + wide),
        measured=False,
        known=wide / 1.96 < KNOWN and roles[ROLES[role]] >= SURE_KIND,
    )


def _alone(
    pin: str, readings: Sequence[PinReading]
) -> tuple[float, float, float, float, float, float] | None:
    """The pin by its own readings open and loaded to ground; None when they do not give both."""
    own = [
        LoadedReading(r.load, r.value, r.digit)
        for r in readings
        if r.unit == "V" and r.red == pin and r.black == GROUND and (not isfinite(r.load) or r.far == GROUND)
    ]
    if len({r.ohms for r in own}) < 2 or any(r.volts < NEAR_NOTHING for r in own):
        return None
    try:
        s = source_from_loads(own)
    except ReadingError:
        # A heavier load that shows no less is one within the digits: the fit says what is left.
        return None
    return s.volts, s.volts_low, s.volts_high, s.ohms, s.ohms_low, s.ohms_high


def _level(readings: Sequence[PinReading], feed: float) -> str:
    """Low, mid or high release, by the volts at which the machine let go, as a share of the feed."""
    volts = [r.value for r in readings if r.seen == "releases"]
    if not volts or feed <= 1:
        return ""
    share = sum(volts) / len(volts) / feed
    return "low release" if share <= 0.4 else "high release" if share >= 0.75 else "mid release"


def _missing(
    model: Hypotheses, found: Fit, share: Floats, readings: Sequence[PinReading], pins: tuple[str, str, str]
) -> tuple[Missing, ...]:
    """The readings not yet taken that tell most about roles and kinds, best first."""
    load = next((r.load for r in readings if isfinite(r.load)), LOAD)
    done = {(r.red, r.black, r.load, r.far, r.unit) for r in readings}
    candidates = [r for r in _candidates(pins, load) if (r.red, r.black, r.load, r.far, r.unit) not in done]
    labels = [(p, n) for p, n in zip(model.places, model.names, strict=True)]
    mean = predicted(model, found.state, candidates, pins)
    slope = slopes(model, found.state, candidates, pins)
    own = noise(model, [_middling(r) for r in candidates], pins)
    spread = np.sqrt(np.einsum("hri,hij,hrj->hr", slope, found.covariance, slope) + own**2)
    rows: list[Missing] = []
    most = _hottest(found, model, share)
    for k, reading in enumerate(candidates):
        bits = information(share, mean[:, k], spread[:, k], labels)
        if bits > LEAST_BITS:
            watts = most**2 / reading.load if isfinite(reading.load) else 0.0
            hot = f"up to {watts:.2g} W in the resistor: a moment is enough" if watts > MOST_WATTS else ""
            rows.append(Missing(reading.text, bits, hot))
    return tuple(sorted(rows, key=lambda m: -m.bits)[:3])


def _candidates(pins: Sequence[str], load: float) -> list[PinReading]:
    shown = f"{load / 1000:g}k" if load >= 1000 else f"{load:g} ohm"
    found = []
    for pin in pins:
        found.append(PinReading(pin, GROUND, inf, GROUND, 0.0, "V", 0.01, "", f"{pin} open"))
        words = f"{pin} with {shown} to ground"
        found.append(PinReading(pin, GROUND, load, GROUND, 0.0, "V", 0.01, "", words))
        for other in pins:
            if other != pin:
                words = f"{pin} with {shown} to {other}"
                found.append(PinReading(pin, GROUND, load, other, 0.0, "V", 0.01, "", words))
        words = f"{pin} to ground, ohms, key off"
        found.append(PinReading(pin, GROUND, inf, GROUND, 1.0, "ohm", 0.1, "", words))
    return found


def _middling(r: PinReading) -> PinReading:
    """A reading with a middling value in it, for the noise of what is not yet read."""
    return replace(r, value=2.0 if r.unit == "V" else 1.0)


def _hottest(found: Fit, model: Hypotheses, share: Floats) -> float:
    """The highest volts that any pin may well have [V]."""
    likely = share > 0.02
    return float(np.abs(found.state[likely, 0]).max(initial=0.0))

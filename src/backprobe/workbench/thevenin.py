"""A source found from readings under load: its open volts and its resistance, with intervals.

Behind any two points a circuit of sources and resistances is one source `E` behind one
resistance `r` (Thevenin). Loaded with `R` it shows ``V = E R / (R + r)``; so two loads give
both, and each further one narrows them. The meter's own resistance is part of every load.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.setup import VOLTMETER_OHMS
from backprobe.errors import Problem, ReadingError
from backprobe.readings.meter import Accuracy, parse_accuracy
from backprobe.units import parse_quantity

HANDHELD = Accuracy(0.5, 2)
"""A common handheld on direct volts: 0.1 % + 1 to 0.7 % + 1 and a little in published meter guides."""
STEPS = 30
ARRIVED = 1e-14


@dataclass(frozen=True, slots=True)
class LoadedReading:
    """Volts that a source shows on one load.

    Parameters
    ----------
    ohms
        The load without the meter [ohm]; infinite when nothing but the meter is on.
    volts
        What the meter shows [V].
    digit
        One unit of its last digit [V].
    """

    ohms: float
    volts: float
    digit: float = 0.0


@dataclass(frozen=True, slots=True)
class Source:
    """A source as loaded readings show it.

    Parameters
    ----------
    volts, ohms
        Open-circuit volts [V] and resistance [ohm].
    volts_low, volts_high, ohms_low, ohms_high
        95 % intervals that the meter's accuracy and the digits leave.
    worst
        Greatest distance of a reading from what the source found would show, in standard
        uncertainties; with two readings it is always 0. Above 2 the source is no plain one.
    """

    volts: float
    volts_low: float
    volts_high: float
    ohms: float
    ohms_low: float
    ohms_high: float
    worst: float

    def shows(self, ohms: float) -> float:
        """Volts that it would show on a load [V]."""
        return self.volts if not isfinite(ohms) else self.volts * ohms / (ohms + self.ohms)


def source_from_loads(
    readings: Sequence[LoadedReading | tuple[float, float] | str],
    *,
    accuracy: Accuracy | str = HANDHELD,
    meter_ohms: float = VOLTMETER_OHMS,
) -> Source:
    """Find a source from what it shows on two or more loads.

    Parameters
    ----------
    readings
        `LoadedReading`, ``(ohms, volts)``, or lines such as ``10 ohm: 11.88 V`` and ``open: 12.0 V``.
    accuracy
        The meter's, such as ``0.5 % + 2``. Its share of the reading is common to all readings and
        leaves the resistance alone; its counts are each reading's own.
    meter_ohms
        Input resistance of the meter, beside every load [ohm]; infinite for an ideal one.

    Raises
    ------
    ReadingError
        With fewer than two different loads, or volts that fall where they should rise.

    Notes
    -----
    Two readings: ``r = (V2 - V1) / (V1/R1 - V2/R2)``, ``E = V1 (1 + r/R1)``. More are fitted by
    Gauss-Newton steps, each weighed by its own digits.
    """
    stated = parse_accuracy(accuracy) if isinstance(accuracy, str) else accuracy
    listed = [_reading(r) for r in readings]
    siemens = np.array([1 / r.ohms + 1 / meter_ohms for r in listed])
    volts = np.array([r.volts for r in listed])
    _must_differ(listed, siemens)
    state = _from_two(siemens, volts)
    own = (stated.counts**2 / 3 + 1 / 12) ** 0.5 * np.array([r.digit for r in listed])
    weight = 1 / np.maximum(own, 1e-6 * np.abs(volts)) ** 2
    slope = _slope(state, siemens)
    for _ in range(STEPS):
        left = volts - state[0] / (1 + state[1] * siemens)
        step = np.linalg.solve((slope.T * weight) @ slope, (slope.T * weight) @ left)
        state = state + step
        slope = _slope(state, siemens)
        if (np.abs(step) <= ARRIVED * np.abs(state)).all():
            break
    left = volts - state[0] / (1 + state[1] * siemens)
    solve = np.linalg.solve((slope.T * weight) @ slope, slope.T * weight)
    gain = stated.percent / 100 / 3**0.5
    noise = np.diag(own**2) + gain**2 * np.outer(volts, volts)
    half = 1.96 * np.sqrt(np.maximum(np.diag(solve @ noise @ solve.T), 0.0))
    e, r = (float(x) for x in state)
    worst = float(np.abs(left * weight**0.5).max()) if len(listed) > 2 else 0.0
    return Source(
        e, e - float(half[0]), e + float(half[0]), r, max(0.0, r - float(half[1])), r + float(half[1]), worst
    )


def _slope(state: Floats, siemens: Floats) -> Floats:
    """``(r, 2)`` derivatives of ``E / (1 + r g)`` by `E` and `r`."""
    below = 1 + state[1] * siemens
    result: Floats = np.stack([1 / below, -state[0] * siemens / below**2], axis=1)
    return result


def _from_two(siemens: Floats, volts: Floats) -> Floats:
    """The source that the lightest and the heaviest load give."""
    light, heavy = int(np.argmin(siemens)), int(np.argmax(siemens))
    amps = volts * siemens
    fall, rise = volts[light] - volts[heavy], amps[heavy] - amps[light]
    if rise <= 0 or fall < 0:
        raise ReadingError(
            Problem(
                "loads",
                f"{volts[light]:g} V, {volts[heavy]:g} V",
                "do not fall under the heavier load as those of a source do",
                "Take both again; the heavier load shows the smaller volts and the larger current.",
            )
        )
    ohms = fall / rise
    result: Floats = np.array([volts[light] * (1 + ohms * siemens[light]), ohms])
    return result


def _reading(given: LoadedReading | tuple[float, float] | str) -> LoadedReading:
    if isinstance(given, LoadedReading):
        found = given
    elif isinstance(given, str):
        found = _typed(given)
    else:
        found = LoadedReading(*given)
    if not found.ohms > 0 or not isfinite(found.volts):
        raise ReadingError(
            Problem("loads", str(given), "is not a load with its volts", "Write such as 10 ohm: 11.88 V.")
        )
    return found


def _typed(text: str) -> LoadedReading:
    load, colon, shown = text.partition(":")
    if not colon:
        raise ReadingError(
            Problem("loads", text, "is not a load with its volts", "Write such as 10 ohm: 11.88 V.")
        )
    ohms = float("inf") if load.strip().lower() == "open" else parse_quantity(load, unit="ohm").value
    volts = parse_quantity(shown, unit="V")
    return LoadedReading(ohms, volts.value, volts.digit)


def _must_differ(listed: Sequence[LoadedReading], siemens: Floats) -> None:
    if len(listed) < 2 or float(siemens.max()) <= 1.001 * float(siemens.min()):
        raise ReadingError(
            Problem(
                "loads",
                ", ".join(f"{r.ohms:g} ohm" for r in listed) or "none",
                "are not two different loads",
                "Read the volts once with a light load and once with one that draws clearly more.",
            )
        )

"""What the cold does to a lead-acid battery."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from backprobe.errors import Problem, UnitError
from backprobe.sheet.anatomy import Origin, Value

COLD_BATTERY = (
    (-40.0, 0.25, 0.20),
    (-30.0, 0.40, 0.30),
    (-18.0, 0.55, 0.40),
    (0.0, 0.80, 0.65),
    (27.0, 1.0, 1.0),
)
"""Lead-acid: temperature [degC], share of capacity, share of cranking current; common practice, no source."""
VOLTS_PER_KELVIN = 0.0012
"""How little the rest volts of six cells move, 0.2 mV for each cell [V/K]; from memory."""
ASSUMED = frozenset({"default", "assumed"})
WARMEST = 60.0
"""Beyond this the figures say nothing [degC]."""
FLAT_FREEZES = -7.0
"""A flat lead-acid battery may freeze below this [degC]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class ColdBattery:
    """What a sound lead-acid battery still gives at a temperature.

    Parameters
    ----------
    capacity, cranking
        Shares of what it gives at 27 C [1]; the inner resistance grows by the inverse of `cranking`.
    volts_change
        By how much the rest volts of a 12 V battery differ from those at 27 C [V].
    """

    celsius: float
    capacity: float
    cranking: float
    volts_change: float

    @property
    def resistance(self) -> float:
        """Factor on the inner resistance at 27 C [1]."""
        return 1 / self.cranking


def cold_battery(celsius: float) -> ColdBattery:
    """A lead-acid battery at a temperature, from -40 C upwards; common practice, no source.

    Raises
    ------
    UnitError
        Out of -40 C to 60 C.
    """
    if not COLD_BATTERY[0][0] <= celsius <= WARMEST:
        raise UnitError(
            Problem("temperature", f"{celsius:g} C", "is no battery's temperature", "Give -40 C to 60 C.")
        )
    change = VOLTS_PER_KELVIN * (celsius - COLD_BATTERY[-1][0])
    for (t0, c0, k0), (t1, c1, k1) in pairwise(COLD_BATTERY):
        if celsius <= t1:
            share = (celsius - t0) / (t1 - t0)
            return ColdBattery(celsius, c0 + share * (c1 - c0), k0 + share * (k1 - k0), change)
    return ColdBattery(celsius, 1.0, 1.0, change)


def cooled(values: dict[str, Value], temperature: Value, system_volts: float) -> dict[str, Value]:
    """A battery's assumed values at the circuit's temperature; what was measured or published stays.

    Parameters
    ----------
    values
        Fields of the battery; its ``resistance`` and ``volts`` are moved.
    temperature
        Of the circuit [degC].
    """
    ends = [
        cold_battery(min(max(t, COLD_BATTERY[0][0]), WARMEST))
        for t in (temperature.high, temperature.nominal, temperature.low)
    ]
    found = dict(values)
    resistance, volts = values["resistance"], values["volts"]
    if resistance.origin.kind in ASSUMED:
        factors = [e.resistance for e in ends]
        low, nominal, high = (
            f * x for f, x in zip(factors, (resistance.low, resistance.nominal, resistance.high), strict=True)
        )
        found["resistance"] = replace(
            resistance, low=low, nominal=nominal, high=high, origin=_cold(resistance, temperature)
        )
    if volts.origin.kind in ASSUMED:
        change = ends[1].volts_change * system_volts / 12
        found["volts"] = replace(
            volts,
            nominal=volts.nominal + change,
            low=volts.low + change,
            high=volts.high + change,
            origin=_cold(volts, temperature),
        )
    return found


def _cold(value: Value, temperature: Value) -> Origin:
    note = f"{value.origin.note}; battery at {temperature.nominal:g} C, common practice, no source"
    return Origin(value.origin.kind, note.removeprefix("; "))

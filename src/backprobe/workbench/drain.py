"""What a drain takes from a battery: days to flat, and back from the days to the amperes."""

from __future__ import annotations

from backprobe.errors import Problem, UnitError

HOURS = 24.0
USUAL_DRAIN = 0.05
"""Most that a parked machine should draw [A]; common practice, no source."""


def days_to_flat(capacity: float, amps: float, usable: float = 1.0) -> float:
    """Days until a drain has taken the usable share of a battery.

    Parameters
    ----------
    capacity
        Of a sound battery, charged [Ah].
    amps
        The drain [A].
    usable
        Share that may go [1]; at half an engine may no longer crank (common practice, no source).
    """
    _above_zero("capacity", capacity, "Ah")
    _above_zero("amps", amps, "A")
    return capacity * usable / (amps * HOURS)


def drain_of(capacity: float, days: float, usable: float = 1.0) -> float:
    """The steady drain that takes the usable share of a battery in so many days [A]."""
    _above_zero("capacity", capacity, "Ah")
    _above_zero("days", days, "days")
    return capacity * usable / (days * HOURS)


def amp_hours(amps: float, days: float) -> float:
    """What a steady drain takes in so many days [Ah]."""
    return amps * days * HOURS


def _above_zero(field: str, value: float, unit: str) -> None:
    if not value > 0:
        raise UnitError(Problem(field, f"{value:g} {unit}", "is not above zero", "Give a number above zero."))

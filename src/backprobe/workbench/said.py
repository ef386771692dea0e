"""Amounts as they stand in a line of arithmetic."""

from __future__ import annotations

from math import isinf

from backprobe.units import format_quantity
from backprobe.workbench.fuse_time import fuse_time


def amps(value: float) -> str:
    """Amperes in words [A]."""
    return format_quantity(value, "A")


def volts(value: float) -> str:
    """Volts in words [V]."""
    return format_quantity(value, "V")


def ohms(value: float) -> str:
    """Ohms in words [ohm]."""
    return format_quantity(value, "ohm")


def watts(value: float) -> str:
    """Watts in words [W]."""
    return format_quantity(value, "W")


def percent(share: float) -> str:
    """A share in percent, which may be above a hundred [1]."""
    return f"{100 * share:.0f} %"


def seconds(value: float) -> str:
    """A time as one says it [s]."""
    if value < 90:
        return f"{value:g} s"
    return f"{value / 60:g} min" if value < 7200 else f"{value / 3600:g} h"


def opens_in(share: float) -> str:
    """How long a fuse carries a share of its rating, in words [1]."""
    time = fuse_time(share)
    least = seconds(time.least) if time.least else "no time"
    if isinf(time.most):
        return f"{least} at the soonest, perhaps never"
    return f"{least} to {seconds(time.most)}"

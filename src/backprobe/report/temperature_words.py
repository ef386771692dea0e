"""Copper at another temperature, and a battery in the cold, in words."""

from __future__ import annotations

from backprobe.report.layout import joined, quantity, wrap
from backprobe.sheet.cold_battery import FLAT_FREEZES, ColdBattery
from backprobe.workbench.temperature import CopperReading


def reading_text(reading: CopperReading) -> str:
    """A reading brought to its reference temperature, and judged where a window was given."""
    here, there = f"{reading.celsius:g} °C", f"{reading.reference:g} °C"
    head = wrap(f"{quantity(reading.own, 'ohm')} at {here} is {quantity(reading.ohms, 'ohm')} at {there}")
    lines = []
    if reading.leads:
        lines += wrap(
            f"{quantity(reading.read, 'ohm')} read, less {quantity(reading.leads, 'ohm')} of the leads", "   "
        )
    lines += wrap(f"copper by {reading.convention}", "   ")
    if reading.window is None or reading.window_here is None:
        return joined(head + lines)
    verdict = "within" if reading.good else "outside"
    lines += wrap(
        f"{verdict} {_limits(*reading.window)} at {there}, which is "
        f"{_limits(*reading.window_here)} at {here}",
        "   ",
    )
    if not reading.good:
        below = reading.ohms < reading.window[0]
        cause = "a broken strand or a joint in the way, or it is warmer than said"
        if below:
            cause = "turns shorted, or it is colder than said"
        lines += wrap(f"Too {'low' if below else 'high'}: {cause}.", "   ")
    return joined(head + lines)


def window_text(
    low: float, high: float, moved: tuple[float, float], celsius: tuple[float, float], convention: str
) -> str:
    """A window moved from one temperature to another."""
    words = f"{_limits(low, high)} at {celsius[0]:g} °C is {_limits(*moved)} at {celsius[1]:g} °C"
    return joined(wrap(words) + wrap(f"copper by {convention}", "   "))


def battery_text(battery: ColdBattery) -> str:
    """What a battery still gives at a temperature."""
    head = wrap(f"A sound, charged lead-acid battery at {battery.celsius:g} °C, against 27 °C:")
    lines = wrap(
        f"cranking current {100 * battery.cranking:.0f} %, capacity {100 * battery.capacity:.0f} %", "   "
    )
    lines += wrap(f"inner resistance x {battery.resistance:.1f}", "   ")
    lines += wrap(f"rest volts of 12 V change by {battery.volts_change:+.2f} V only", "   ")
    if battery.celsius < FLAT_FREEZES:
        lines += wrap("A flat one may be frozen: do not charge or boost it before it has thawed.", "   ")
    return joined(head + lines, wrap("Common practice, no source."))


def _limits(low: float, high: float) -> str:
    """Limits with three digits each: a coil is judged by them."""
    return f"{quantity(low, 'ohm')} to {quantity(high, 'ohm')}"

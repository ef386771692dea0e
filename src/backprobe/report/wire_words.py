"""A wire's drop, a size that would do, and what a joint burns, in words."""

from __future__ import annotations

from backprobe.report.layout import FIRST, joined, quantity, wrap
from backprobe.units import figures
from backprobe.workbench.wire import CRITICAL, FAULT, LIMITS, ORDINARY, Joint, WireDrop

BURNS = 5.0
"""Heat in a joint that burns its plug in time [W]; common practice, no source."""


def wire_text(drop: WireDrop) -> str:
    """What a wire takes, against what the trade allows."""
    head = wrap(
        f"{drop.length:g} m of {figures(drop.size)} mm² (AWG {drop.gauge:.1f}) at "
        f"{quantity(drop.amps, 'A')}: loses {quantity(drop.drop, 'V')} and {quantity(drop.watts, 'W')}"
    )
    lines = wrap(f"{quantity(drop.ohms, 'ohm')}: the most by {drop.table}, at {drop.celsius:g} °C", "   ")
    lines += wrap(f"length: {drop.rule}; copper by {drop.convention}", "   ")
    lines += wrap(
        f"{figures(100 * drop.share, 2 if drop.share < 0.1 else 3)} % of {drop.system:g} V: "
        f"{_share_words(drop.share)}; over the limit of: "
        f"{_over(drop.drop)}",
        "   ",
    )
    lines += wrap(f"stands behind a fuse of no more than {drop.largest_fuse:g} A (common practice)", "   ")
    return joined(head + lines, size_lines(drop.least_critical, drop.least_ordinary), wrap(FIRST))


def size_lines(critical: float | None, ordinary: float | None) -> list[str]:
    """The smallest sizes for what must work and for the rest."""
    return wrap(
        f"Least size: {_size(critical)} for {100 * CRITICAL:g} % (what must work), "
        f"{_size(ordinary)} for {100 * ORDINARY:g} % (the rest)"
    )


def sizes_text(length: float, amps: float, system: float, sizes: tuple[float | None, float | None]) -> str:
    """The answer where no size was given."""
    return joined(
        wrap(f"{length:g} m at {quantity(amps, 'A')} on {system:g} V"), size_lines(*sizes), wrap(FIRST)
    )


def joint_text(joint: Joint) -> str:
    """What the drop over a joint or wire says."""
    head = wrap(
        f"{quantity(joint.volts, 'V')} lost at {quantity(joint.amps, 'A')}: {quantity(joint.ohms, 'ohm')}, "
        f"{quantity(joint.watts, 'W')} of heat"
    )
    lost, flows = figures(joint.volts), figures(joint.amps)
    lines = wrap(f"{lost} / {flows} ohm, {lost} x {flows} W", "   ")
    lines += wrap(f"over the limit of: {_over(joint.volts)}", "   ")
    lines += wrap(f"{joint.state}{'; a fault wherever it is' if joint.volts > FAULT else ''}", "   ")
    if joint.watts >= BURNS:
        lines += wrap("That much heat chars a plug: look for brown plastic.", "   ")
    return joined(head + lines, wrap(FIRST))


def _over(drop: float) -> str:
    over = [f"{name} ({limit:g} V)" for name, limit in LIMITS if drop > limit]
    return ", ".join(over) or "nothing"


def _share_words(share: float) -> str:
    if share <= CRITICAL:
        return "good for what must work"
    return "good only where a tenth does no harm" if share <= ORDINARY else "too much for anything"


def _size(size: float | None) -> str:
    return "none up to 95 mm²" if size is None else f"{size:g} mm²"

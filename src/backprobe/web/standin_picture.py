"""Stand-ins drawn in their band: each with the box that its tolerances reach."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isfinite

from markupsafe import Markup

from backprobe.web.picture import box, line, svg, volt_axis, volt_ticks, words
from backprobe.web.strip import LANE, LEFT, RIGHT, WIDTH
from backprobe.workbench.standin import Bench
from backprobe.workbench.standin_parts import StandIn

TOP, BOTTOM = 42.0, 28.0


def draw_stand_ins(
    bench: Bench, stands: Sequence[StandIn], *, label: str, code: str, local: Callable[[str], str]
) -> Markup:
    """The band over all lanes, the codes beside it, and one box for each stand-in, numbered as in the list.

    Parameters
    ----------
    code
        What the range beyond the codes is called.
    """
    port = bench.port
    ends = [x for x in (*port.band, *port.safe) if isfinite(x)]
    axis = volt_axis(
        [0.0, port.feed.high, *ends, *(x for s in stands for x in (s.low, s.high))], from_zero=True
    )
    floor = TOP + LANE * len(stands)
    left, right = (
        axis.at(x) if isfinite(x) else e for x, e in zip(port.band, (LEFT, WIDTH - RIGHT), strict=True)
    )
    parts = [box(left, TOP, right - left, floor - TOP, "soft")]
    parts += volt_ticks(axis, TOP, floor, local)
    for x, end in ((left, port.band[0]), (right, port.band[1])):
        if isfinite(end):
            parts.append(line(f"M{x:.1f} {TOP - 6:g}V{floor:g}", "ink", width=2.5))
    parts.append(
        words(
            min(max((left + right) / 2, 60), WIDTH - 60),
            TOP - 11,
            local(_between(*port.band)),
            anchor="middle",
            bold=True,
        )
    )
    for below, end in zip((True, False), port.safe, strict=True):
        if isfinite(end):
            x = axis.at(end)
            parts.append(line(f"M{x:.1f} {TOP:g}V{floor:g}", "mark", width=2, dashes="6 4"))
            place = max(x - 3, LEFT + 30) if below else min(x + 3, WIDTH - 34)
            parts.append(words(place, 14, code, anchor="end" if below else "start"))
    for k, stand in enumerate(stands):
        middle = TOP + LANE * (k + 0.5)
        parts.append(words(4, middle + 5, str(k + 1), bold=True))
        parts.append(line(f"M{LEFT:g} {middle:g}H{WIDTH - RIGHT:g}", dashes="2 4"))
        from_x, to_x = axis.at(stand.low), axis.at(stand.high)
        parts.append(box(from_x, middle - 7, to_x - from_x, 14, f"mark-{k % 5 + 1}"))
        x = axis.at(stand.volts)
        parts.append(line(f"M{x:.1f} {middle - 11:g}V{middle + 11:g}", "ink", width=2.5))
    return svg(WIDTH, floor + BOTTOM, label, parts)


def _between(low: float, high: float) -> str:
    """A band in few letters [V]."""
    if not isfinite(low):
        return f"\u2264 {high:.2f} V"
    return f"\u2265 {low:.2f} V" if not isfinite(high) else f"{low:.2f} \u2013 {high:.2f} V"

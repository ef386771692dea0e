"""A sweep drawn: one lane for each band with its answers, the edges with their intervals across all lanes."""

from __future__ import annotations

from collections.abc import Callable

from markupsafe import Markup

from backprobe.web.picture import box, line, svg, volt_axis, volt_ticks, words
from backprobe.web.strip import LANE, LEFT, RIGHT, WIDTH
from backprobe.workbench.band import BandAnswer

TOP, BOTTOM = 24.0, 28.0
TICK = 9.0
"""Height of the mark of one answer [px]."""


def draw_band(answer: BandAnswer, *, label: str, local: Callable[[str], str]) -> Markup:
    """Bands and edges over the sweep; lanes carry the numbers of the list that stands below.

    An answer come to from below stands above its lane's line, one from above below it, and one whose way
    is not known across it.
    """
    readings, crossings = answer.readings, answer.crossings
    ends = [x for c in crossings for x in (c.low, c.high)]
    axis = volt_axis([*(r.volts for r in readings), *ends])
    floor = TOP + LANE * len(answer.bands)
    parts = []
    for crossing in crossings:
        for edge in crossing.edges:
            left, right = axis.at(edge.low), axis.at(edge.high)
            parts.append(box(left, TOP, right - left, floor - TOP, "soft"))
            parts.append(line(f"M{left:.1f} {TOP:g}V{floor:g}M{right:.1f} {TOP:g}V{floor:g}", dashes="2 3"))
    parts += volt_ticks(axis, TOP, floor, local)
    for k, band in enumerate(answer.bands):
        middle = TOP + LANE * (k + 0.5)
        parts.append(words(4, middle + 5, str(k + 1), bold=True))
        parts.append(line(f"M{LEFT:g} {middle:g}H{WIDTH - RIGHT:g}"))
        if band.sure:
            left, right = axis.at(band.sure[0]), axis.at(band.sure[1])
            parts.append(box(left, middle - 4, right - left, 8, f"mark-{k % 5 + 1}"))
        for reading in readings:
            if reading.answer == band.answer:
                up = TICK if reading.way != "down" else 0.0
                down = TICK if reading.way != "up" else 0.0
                x = axis.at(reading.volts)
                parts.append(line(f"M{x:.1f} {middle - up:g}V{middle + down:g}", "ink", width=2))
    for crossing in crossings:
        for edge in crossing.edges:
            x = axis.at(edge.best)
            arrow = {"up": "\u2191", "down": "\u2193"}.get(edge.way, "")
            parts.append(line(f"M{x:.1f} {TOP - 4:g}V{floor:g}", "mark", width=2.5))
            shown = f"{arrow}{local(f'{edge.best:.2f}')}"
            place = x - 3 if edge.way == "down" else x + 3 if len(crossing.edges) > 1 else x
            anchor = "end" if edge.way == "down" else "start" if len(crossing.edges) > 1 else "middle"
            parts.append(words(min(max(place, 20), WIDTH - 24), 14, shown, anchor=anchor, bold=True))
    return svg(WIDTH, floor + BOTTOM, label, parts)

"""A recording drawn: each channel between the least and the most of every column, dropouts marked."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from markupsafe import Markup

from backprobe.circuit.compiled import Floats
from backprobe.report.layout import quantity
from backprobe.report.log_words import clock
from backprobe.web.picture import box, line, svg, words
from backprobe.workbench.log import LogStudy

WIDTH, LEFT, RIGHT = 360.0, 62.0, 8.0
PANEL, GAP, TOP, BOTTOM = 120.0, 34.0, 24.0, 46.0
COLUMNS = 290
MOST_CHANNELS = 3
MOST_MARKS = 40
TICKS = 2


def draw_log(study: LogStudy, *, label: str, local: Callable[[str], str]) -> Markup:
    """Channels over time, the one asked about first; dropouts shaded and numbered, notes as triangles."""
    t = study.recording.times
    first, last = float(t[0]), float(t[-1])

    def at(seconds: float) -> float:
        share = (seconds - first) / (last - first)
        return LEFT + min(max(share, 0.0), 1.0) * (WIDTH - LEFT - RIGHT)

    chosen = [study.channel, *(c for c in study.recording.channels if c is not study.channel)][:MOST_CHANNELS]
    parts: list[str] = []
    for k, channel in enumerate(chosen):
        top = TOP + k * (PANEL + GAP)
        drops = next(d for d in study.dropouts if d.channel == channel.name)
        for n, span in enumerate(drops.spans[:MOST_MARKS]):
            left = at(span.start)
            parts.append(box(left, top, at(span.end) - left, PANEL, "soft"))
            if len(drops.spans) <= MOST_MARKS // 2:
                parts.append(words(left, top - 4, str(n + 1), anchor="middle"))
        parts.append(words(WIDTH - RIGHT, top - 6, channel.name, anchor="end", bold=True))
        parts += _panel(channel.values, channel.unit, top, local, _columns(t, at))
        changes = next((c for c in study.changes if c.channel == channel.name), None)
        for change in changes.found[:MOST_MARKS] if changes else ():
            x = at(change.time.best)
            parts.append(line(f"M{x:.1f} {top:g}V{top + PANEL:g}", "mark", width=1.5, dashes="5 3"))
    floor = TOP + len(chosen) * (PANEL + GAP) - GAP
    for k in range(TICKS + 1):
        when = first + (last - first) * k / TICKS
        anchor = "start" if k == 0 else "end" if k == TICKS else "middle"
        parts.append(line(f"M{at(when):.1f} {floor:g}v6", "ink"))
        parts.append(words(at(when), floor + 34, local(clock(when, study)), anchor=anchor))
    for hit in study.notes:
        for when in hit.times[:MOST_MARKS]:
            parts.append(line(f"M{at(when):.1f} {floor + 4:g}l5 12h-10z", "mark"))
    return svg(WIDTH, floor + BOTTOM, label, parts)


def _columns(t: Floats, at: Callable[[float], float]) -> tuple[Floats, Sequence[int]]:
    """Places of the columns [px], and the row at which each begins."""
    edges = np.linspace(float(t[0]), float(t[-1]), COLUMNS + 1)[:-1]
    starts = np.unique(np.searchsorted(t, edges))
    places: Floats = np.array([at(float(t[i])) for i in starts])
    return places, starts.tolist()


def _panel(
    values: Floats,
    unit: str,
    top: float,
    local: Callable[[str], str],
    columns: tuple[Floats, Sequence[int]],
) -> list[str]:
    """One channel: what it does between the least and the most of each column; gaps stay open."""
    places, starts = columns
    seen = np.isfinite(values)
    low = np.minimum.reduceat(np.where(seen, values, np.inf), starts)
    high = np.maximum.reduceat(np.where(seen, values, -np.inf), starts)
    least, most = float(values[seen].min()), float(values[seen].max())
    room = max(most - least, 1e-9 + 0.02 * abs(most)) * 0.06
    least, most = least - room, most + room

    def y(value: float) -> float:
        return top + PANEL * (most - value) / (most - least)

    parts = [line(f"M{LEFT:g} {top:g}V{top + PANEL:g}H{WIDTH - RIGHT:g}", "ink", width=1.5)]
    for k in range(3):
        value = least + room + (most - least - 2 * room) * k / 2
        parts.append(line(f"M{LEFT - 4:g} {y(value):.1f}H{WIDTH - RIGHT:g}", dashes="2 4"))
        parts.append(words(LEFT - 7, y(value) + 5, local(quantity(value, unit)), anchor="end"))
    path: list[str] = []
    for x, a, b in zip(places, low, high, strict=True):
        if a > b:
            path.append("")
            continue
        step = "L" if path and path[-1] else "M"
        path.append(f"{step}{x:.1f} {y(float(a)):.1f}L{x:.1f} {y(float(b)):.1f}")
    parts.append(line("".join(path), "ink", width=1.5))
    return parts

"""Small drawings made by the server: plain SVG whose colours follow the page by class."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from html import escape

from markupsafe import Markup

from backprobe.report.layout import quantity
from backprobe.web.strip import LABEL, LEFT, RIGHT, WIDTH, Axis

SIZE = 13
"""Size of a text; a phone shows the drawing at about its own size [px]."""


def svg(width: float, height: float, label: str, parts: Iterable[str], *, natural: bool = False) -> Markup:
    """A drawing with a name for those who do not see it; `natural` gives it a size of its own."""
    size = f'width="{width:g}" height="{height:g}" ' if natural else ""
    return Markup(
        f'<svg viewBox="0 0 {width:g} {height:g}" {size}role="img" aria-label="{escape(label)}" '
        f'xmlns="http://www.w3.org/2000/svg">{"".join(parts)}</svg>'
    )


def words(x: float, y: float, text: str, *, anchor: str = "start", bold: bool = False) -> str:
    """A text; `anchor` is ``start``, ``middle`` or ``end``."""
    weight = ' font-weight="700"' if bold else ""
    place = f'x="{x:.1f}" y="{y:.1f}" font-size="{SIZE}" text-anchor="{anchor}"{weight}'
    return f"<text {place}>{escape(text)}</text>"


def line(d: str, name: str = "faint", *, width: float = 1.0, dashes: str = "") -> str:
    """A stroke of a class."""
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'<path class="{name}" d="{d}" stroke-width="{width:g}"{dashed}/>'


def box(x: float, y: float, width: float, height: float, name: str) -> str:
    """A filled box of a class, never too narrow to be seen."""
    return (
        f'<rect class="{name}" x="{x:.1f}" y="{y:.1f}" width="{max(width, 2.0):.1f}" height="{height:.1f}"/>'
    )


def volt_axis(values: Sequence[float], *, from_zero: bool = False) -> Axis:
    """An axis on which all of these have room [V]."""
    low, high = min(values), max(values)
    low = min(low, 0.0) if from_zero else low
    gap = max((high - low) * 0.04, 0.02)
    return Axis("volts", low - (0.0 if from_zero and low == 0.0 else gap), high + gap)


def volt_ticks(axis: Axis, top: float, floor: float, local: Callable[[str], str]) -> list[str]:
    """Grid lines with their volts below, and the axis itself."""
    parts = []
    for tick in axis.ticks():
        x = axis.at(tick)
        shown = local(quantity(tick, "V", 3 if abs(tick) < 1 else 2))
        parts.append(line(f"M{x:.1f} {top:g}V{floor + 5:g}"))
        parts.append(words(min(max(x, LABEL), WIDTH - LABEL), floor + 20, shown, anchor="middle"))
    parts.append(line(f"M{LEFT:g} {floor:g}H{WIDTH - RIGHT:g}", "ink", width=2))
    return parts

"""What a check may show, as a strip along the value axis: a lane for each outcome, and the reading in it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape
from math import ceil, floor, isfinite, log10

from markupsafe import Markup

from backprobe.diagnosis.check import Outcome
from backprobe.report.layout import OVER_RANGE_OHMS, quantity

WIDTH, LEFT, RIGHT = 340.0, 30.0, 14.0
LANE, TOP, BOTTOM = 26.0, 26.0, 30.0
LEAST_OHMS = 0.1
"""Below this all ohms are drawn alike [ohm]."""
NARROW = 5.0
"""Least width of a zone that can still be seen [px]."""
TICKS = 4
LABEL = 24.0
"""Half the room that a number under the axis takes [px]."""


@dataclass(frozen=True, slots=True)
class Axis:
    """Values to places: volts in proportion, ohms by their logarithm [V or ohm].

    Parameters
    ----------
    low, high
        Ends, as drawn (for ohms their decimal logarithm).
    """

    kind: str
    low: float
    high: float

    def scaled(self, value: float) -> float:
        """A value as it is drawn."""
        if self.kind != "ohms":
            return value
        return log10(min(max(value, LEAST_OHMS), OVER_RANGE_OHMS))

    def at(self, value: float) -> float:
        """Where a value stands [px]."""
        share = (self.scaled(value) - self.low) / (self.high - self.low)
        return LEFT + min(max(share, 0.0), 1.0) * (WIDTH - LEFT - RIGHT)

    def ticks(self) -> list[float]:
        """Round values to write below."""
        if self.kind == "ohms":
            powers = range(ceil(self.low), floor(self.high) + 1)
            every = max(1, ceil(len(powers) / (TICKS + 1)))
            return [10.0**p for p in powers[::every]] or [10**self.low, 10**self.high]
        rough = (self.high - self.low) / TICKS
        size = 10.0 ** floor(log10(rough))
        step = next(m * size for m in (1.0, 2.0, 5.0, 10.0) if m * size >= rough)
        first = ceil(self.low / step)
        return [k * step for k in range(first, floor(self.high / step) + 1)]


def axis_for(outcomes: Sequence[Outcome], kind: str, value: float | None) -> Axis:
    """The axis on which all outcomes and the reading have room."""
    bare = Axis(kind, 0.0, 1.0)
    ends = [bare.scaled(x) for o in outcomes for x in (o.low, o.high)]
    if value is not None:
        ends.append(bare.scaled(value) if isfinite(value) or kind == "ohms" else max(ends))
    low, high = min(ends), max(ends)
    if kind != "ohms":
        low, high = min(low, 0.0), max(high, 0.0)
    gap = max((high - low) * 0.04, 0.02)
    return Axis(kind, low - gap, high + gap)


def fell_into(outcomes: Sequence[Outcome], kind: str, value: float) -> int | None:
    """The zone in which a reading fell, the likeliest one first; None where it fell between all."""
    axis = Axis(kind, 0.0, 1.0)
    seen = axis.scaled(value) if isfinite(value) or kind == "ohms" else value
    for k in sorted(range(len(outcomes)), key=lambda k: -outcomes[k].chance):
        if axis.scaled(outcomes[k].low) <= seen <= axis.scaled(outcomes[k].high):
            return k
    return None


def draw_strip(
    outcomes: Sequence[Outcome],
    kind: str,
    value: float | None = None,
    *,
    label: str,
    local: Callable[[str], str],
) -> Markup:
    """The strip as SVG; its numbers are those of the list that stands below it.

    Parameters
    ----------
    outcomes
        Zones in the order of the list.
    kind
        ``volts`` or ``ohms``.
    value
        The reading [V or ohm]; None before there is one, and where it did not stand still.
    label
        What the drawing is called, for those who do not see it.
    local
        Writes a number in the reader's language.
    """
    axis = axis_for(outcomes, kind, value)
    floor_y = TOP + LANE * len(outcomes)
    unit = "ohm" if kind == "ohms" else "V"
    hit = None if value is None else fell_into(outcomes, kind, value)
    out = [
        f'<svg viewBox="0 0 {WIDTH:g} {floor_y + BOTTOM:g}" role="img" aria-label="{escape(label)}" '
        'xmlns="http://www.w3.org/2000/svg">'
    ]
    for tick in axis.ticks():
        x = axis.at(tick)
        place = min(max(x, LABEL), WIDTH - LABEL)
        shown = escape(local(quantity(tick, unit, 3 if unit == "V" and abs(tick) < 1 else 2)))
        out.append(f'<path class="faint" d="M{x:.1f} {TOP - 4:g}V{floor_y + 5:g}"/>')
        out.append(
            f'<text x="{place:.1f}" y="{floor_y + 21:g}" font-size="13" text-anchor="middle">{shown}</text>'
        )
    for k, outcome in enumerate(outcomes):
        left, right = axis.at(outcome.low), axis.at(outcome.high)
        width = max(right - left, NARROW)
        left = min((left + right - width) / 2 if right - left < NARROW else left, WIDTH - RIGHT - width)
        y = TOP + LANE * k
        out.append(
            f'<path class="faint" d="M{LEFT:g} {y + LANE / 2:g}H{WIDTH - RIGHT:g}" stroke-dasharray="2 4"/>'
        )
        weight = ' font-weight="700"' if k == hit else ""
        out.append(f'<text x="4" y="{y + LANE / 2 + 5:g}" font-size="15"{weight}>{k + 1}</text>')
        out.append(
            f'<rect class="mark-{k % 5 + 1}" x="{left:.1f}" y="{y + 4:g}" width="{width:.1f}" '
            f'height="{LANE - 8:g}" rx="2"/>'
        )
    out.append(f'<path class="ink" d="M{LEFT:g} {floor_y:g}H{WIDTH - RIGHT:g}" stroke-width="2"/>')
    if value is not None:
        x = axis.at(value) if isfinite(value) or kind == "ohms" else WIDTH - RIGHT
        shown = escape(local(quantity(value, unit)))
        place = min(max(x, LEFT + 20), WIDTH - 44)
        out.append(f'<path class="mark" d="M{x:.1f} {TOP - 2:g}V{floor_y:g}" stroke-width="2.5"/>')
        out.append(f'<path class="mark" d="M{x:.1f} {TOP:g}l-6 -8h12z"/>')
        out.append(
            f'<text x="{place:.1f}" y="14" font-size="15" font-weight="700" '
            f'text-anchor="middle">{shown}</text>'
        )
    out.append("</svg>")
    return Markup("".join(out))

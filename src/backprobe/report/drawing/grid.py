"""Measures: how wide each column and how high each row and channel is, and on which track a trunk runs."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from backprobe.report.drawing.cells import TIP
from backprobe.report.drawing.measure import NAME, text_width
from backprobe.report.drawing.plan import Plan
from backprobe.report.drawing.trunks import Trunk

HEAD = 58.0
"""Room above the first channel for the title and the numbers of the paths [drawing units]."""
GAP, TRACK, RAIL, CHANNEL = 10.0, 14.0, 24.0, 8.0
"""Between columns, from track to track, around a rail, and of a channel without tracks [drawing units]."""
EDGE = 8.0
ROW_AT_LEAST = 12.0


@dataclass(slots=True)
class Grid:
    """Places of columns, rows and trunks [drawing units]."""

    margin: float
    x: list[float] = field(default_factory=list)
    left: list[float] = field(default_factory=list)
    right: list[float] = field(default_factory=list)
    row_top: list[float] = field(default_factory=list)
    row_bottom: list[float] = field(default_factory=list)
    track_y: dict[int, float] = field(default_factory=dict)
    """id of a trunk to its height."""
    width: float = 0.0
    height: float = 0.0


def rail_name(plan: Plan, terminal: str) -> str:
    """What a rail is called: as readings name its point."""
    if terminal == "frame":
        return terminal
    owner, _, post = terminal.rpartition(".")
    return f"{owner}{post}" if post in "+-" else terminal


def rail_terminals(plan: Plan, trunk: Trunk) -> list[str]:
    """The posts and the frame that a rail is."""
    return [tap.terminals[0] for tap in trunk.taps if tap.owner is None]


def rail_text(plan: Plan, trunk: Trunk) -> str:
    """What stands before a rail, with what was read there."""
    names = rail_terminals(plan, trunk)
    words = ", ".join(rail_name(plan, t) for t in names)
    return "  ".join([words, *(plan.marks.volts[t] for t in names if t in plan.marks.volts)])


def measure(plan: Plan) -> Grid:
    """All places."""
    rails = [t for t in plan.routes.trunks if t.rail]
    tips = max((len(plan.marks.tips.get(t, "")) for r in rails for t in rail_terminals(plan, r)), default=0)
    texts = [text_width(rail_text(plan, r), NAME, bold=True) for r in rails]
    grid = Grid(EDGE + max(texts, default=0.0) + tips * (2 * TIP + 4) + 10)
    _columns(plan, grid)
    _rows(plan, grid)
    return grid


def _columns(plan: Plan, grid: Grid) -> None:
    count = len(plan.columns.taken)
    grid.left, grid.right = [10.0] * count, [10.0] * count
    placed = [*plan.cells, *([(plan.source, plan.columns.source)] if plan.source else [])]
    for cell, column in placed:
        grid.left[column] = max(grid.left[column], cell.left)
        grid.right[column] = max(grid.right[column], cell.right)
    for box in plan.boxes:
        for terminal, pin in box.pins.items():
            column = plan.columns.of_pin[terminal]
            grid.left[column] = max(grid.left[column], pin.half_width + 4)
            grid.right[column] = max(grid.right[column], pin.half_width + 4)
    for box in plan.boxes:
        first, last = plan.columns.span_of_block[id(box.block)]
        width = sum(grid.left[c] + grid.right[c] for c in range(first, last + 1)) + GAP * (last - first) - 6
        grid.right[last] += max(0.0, box.name_width - width)
    cursor = grid.margin
    for left, right in zip(grid.left, grid.right, strict=True):
        grid.x.append(cursor + left)
        cursor += left + right + GAP
    grid.width = cursor + EDGE


def _rows(plan: Plan, grid: Grid) -> None:
    heights = [ROW_AT_LEAST] * plan.last
    for cell, _ in plan.cells:
        row = label_row(cell.element.row, cell.element.last_row)
        heights[row] = max(heights[row], cell.height)
    for box in plan.boxes:
        heights[box.block.row] = max(heights[box.block.row], box.height)
    if plan.source and heights:
        lack = plan.source.height - sum(heights[: plan.frame_channel])
        heights[0] += max(0.0, lack)
    in_channel: defaultdict[int, list[Trunk]] = defaultdict(list)
    for trunk in plan.routes.trunks:
        in_channel[trunk.channel].append(trunk)
    y = HEAD
    for channel in range(plan.last + 1):
        y = _tracks(plan, in_channel[channel], y, grid, first=channel == 0)
        if channel < plan.last:
            grid.row_top.append(y)
            y += heights[channel]
            grid.row_bottom.append(y)
    grid.height = y + 18


def label_row(first: int, last: int) -> int:
    """The row that holds the text of what reaches over several."""
    return (first + last) // 2


def _tracks(plan: Plan, trunks: list[Trunk], y: float, grid: Grid, *, first: bool) -> float:
    """Each trunk on a track of its own, rails outermost; returns where the channel ends."""
    rails = [t for t in trunks if t.rail]
    order = {"frame": 1, plan.graph.minus: 2}
    rails.sort(key=lambda t: max((order.get(n, 0) for n in rail_terminals(plan, t)), default=0))
    plain = sorted((t for t in trunks if not t.rail and t.left < t.right), key=lambda t: (t.left, t.right))
    if first:
        y = _rails(rails, y, grid)
    ends: list[int] = []
    for trunk in plain:
        free = next((i for i, end in enumerate(ends) if end < trunk.left), len(ends))
        ends[free : free + 1] = [trunk.right]
        grid.track_y[id(trunk)] = y + CHANNEL / 2 + TRACK * (free + 0.5)
    for trunk in trunks:
        grid.track_y.setdefault(id(trunk), y + CHANNEL / 2)
    y += CHANNEL + TRACK * len(ends)
    return y if first else _rails(rails, y, grid)


def _rails(rails: list[Trunk], y: float, grid: Grid) -> float:
    for rail in rails:
        grid.track_y[id(rail)] = y + RAIL / 2
        y += RAIL
    return y

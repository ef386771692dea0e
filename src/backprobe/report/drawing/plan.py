"""Everything known about a drawing before it has measures: rows, columns, ways, cells and boxes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from backprobe.report.drawing.boxes import BoxPlan, plan_box
from backprobe.report.drawing.cells import Cell, measure_cell
from backprobe.report.drawing.columns import Columns, place
from backprobe.report.drawing.graph import RELAY_COIL, Graph, build_graph
from backprobe.report.drawing.options import Marks
from backprobe.report.drawing.rows import assign_rows, orient
from backprobe.report.drawing.trunks import Routes, route
from backprobe.sheet.model import Part, Sheet


@dataclass(slots=True)
class Plan:
    """What is drawn and where, counted in rows and columns.

    `frame_channel` is the channel of the frame's rail and the last above the return's own rows;
    `paths` numbers the columns that have symbols, as current paths are numbered.
    """

    sheet: Sheet
    marks: Marks
    graph: Graph
    routes: Routes
    columns: Columns
    frame_channel: int
    last: int
    paths: Mapping[int, int] = field(default_factory=dict)
    cells: list[tuple[Cell, int]] = field(default_factory=list)
    boxes: list[BoxPlan] = field(default_factory=list)
    source: Cell | None = None


def make_plan(sheet: Sheet, marks: Marks) -> Plan:
    """Arrange a sheet."""
    graph = build_graph(sheet)
    orient(graph)
    frame_channel, last = assign_rows(graph)
    routes = route(graph, frame_channel, last)
    columns = place(graph, routes)
    plan = Plan(sheet, marks, graph, routes, columns, frame_channel, last)
    used = sorted(set(columns.of_strand.values()))
    plan.paths = {column: number for number, column in enumerate(used, 1)}
    halves = _relay_halves(plan)
    for strand in graph.strands:
        column = columns.of_strand[id(strand)]
        for one in strand.elements:
            cross = _cross(one.part, one.up, halves)
            plan.cells.append((measure_cell(one, sheet, marks, cross), column))
    plan.boxes = [plan_box(b, marks, _cross(b.part, b.terminals[0], halves)) for b in graph.blocks]
    if graph.source is not None:
        # What is read at the posts stands at the rails.
        posts = {graph.plus, graph.minus}
        inside = replace(
            marks,
            volts={t: v for t, v in marks.volts.items() if t not in posts},
            tips={t: v for t, v in marks.tips.items() if t not in posts},
        )
        plan.source = measure_cell(graph.source, sheet, inside, "")
    return plan


def _is_coil(terminal: str) -> bool:
    return terminal.rpartition(".")[2] in RELAY_COIL


def _relay_halves(plan: Plan) -> dict[tuple[str, bool], list[int]]:
    """Relay and whether it is the coil, to the numbers of the paths that it stands in."""
    found: defaultdict[tuple[str, bool], list[int]] = defaultdict(list)
    for strand in plan.graph.strands:
        number = plan.paths[plan.columns.of_strand[id(strand)]]
        for one in strand.elements:
            if one.part.kind == "relay":
                found[one.part.name, _is_coil(one.up)].append(number)
    for block in plan.graph.blocks:
        first, last = plan.columns.span_of_block[id(block)]
        numbers = [plan.paths[c] for c in range(first, last + 1) if c in plan.paths]
        if block.part.kind == "relay" and numbers:
            found[block.part.name, _is_coil(block.terminals[0])].append(numbers[0])
    return found


def _cross(part: Part, terminal: str, halves: Mapping[tuple[str, bool], list[int]]) -> str:
    """``contact in path 3`` beside a coil, ``coil in path 1`` beside a contact."""
    coil = _is_coil(terminal)
    others = halves.get((part.name, not coil), []) if part.kind == "relay" else []
    if not others:
        return ""
    return f"{'contact' if coil else 'coil'} in path {', '.join(str(n) for n in sorted(set(others)))}"

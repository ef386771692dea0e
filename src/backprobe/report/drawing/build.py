"""From a measured plan to the scene: every symbol, line, text, tip and point at its place."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import pairwise

from backprobe.readings.points import reachable_points
from backprobe.report.drawing.boxes import BoxPlan
from backprobe.report.drawing.cells import TIP, Cell, badge_at, inner_terminals, tip_place
from backprobe.report.drawing.colours import paints
from backprobe.report.drawing.graph import BODY
from backprobe.report.drawing.grid import EDGE, Grid, label_row, measure, rail_terminals, rail_text
from backprobe.report.drawing.measure import LINE, NAME, SMALL, TITLE
from backprobe.report.drawing.options import Marks
from backprobe.report.drawing.plan import Plan, make_plan
from backprobe.report.drawing.scene import Box, Label, Scene, Segment, Spot, Symbol, Tip
from backprobe.report.drawing.svg import line, number, rect, tag
from backprobe.report.drawing.trunks import Trunk
from backprobe.report.layout import count
from backprobe.report.value_words import closed_words
from backprobe.sheet.model import Part, Sheet

Place = tuple[float, float]


def build_scene(sheet: Sheet, marks: Marks) -> Scene:
    """Lay a sheet out."""
    plan = make_plan(sheet, marks)
    grid = measure(plan)
    paths = len(plan.paths)
    amount = f"{count(paths, 'current path')}, {count(len(sheet.parts), 'part')}"
    words = f"{amount}; supply on top, return at the bottom."
    scene = Scene(sheet.name, words, grid.width, grid.height)
    title = Label(f"{sheet.name}, {sheet.system_volts:g} V", EDGE, 16, TITLE, "title", bold=True)
    scene.width = max(scene.width, title.box.right + EDGE)
    scene.labels.append(title)
    for column, path in plan.paths.items():
        scene.labels.append(Label(str(path), grid.x[column], 44, SMALL, "path", "middle"))
    places: dict[str, Place] = {}
    for cell, column in plan.cells:
        middle = (grid.x[column], _middle(cell, grid))
        _add_cell(scene, plan, grid, (cell, *middle), places)
    if plan.source is not None:
        y = (
            (grid.row_top[0] + grid.row_bottom[plan.frame_channel - 1]) / 2
            if plan.frame_channel
            else grid.height / 2
        )
        _add_cell(scene, plan, grid, (plan.source, grid.x[plan.columns.source], y), places)
    for box in plan.boxes:
        _add_box(scene, plan, grid, box, places)
    for trunk in plan.routes.trunks:
        _add_trunk(scene, plan, grid, trunk)
    for riser in plan.routes.risers:
        x = grid.x[riser.column]
        ends = (grid.track_y[id(riser.one)], grid.track_y[id(riser.other)])
        scene.segments.append(Segment(riser.one.net, x, ends[0], x, ends[1]))
    for trunk in plan.routes.trunks:
        if trunk.rail:
            _add_rail(scene, plan, grid, trunk, places)
    _add_spots(scene, plan, places)
    return scene


# --- symbols ------------------------------------------------------------------------------


def title_of(part: Part) -> str:
    """What a part's tooltip says."""
    closed = f", closed with {closed_words(part)}" if part.kind == "switch" and part.closed else ""
    return f"{part.name} ({part.kind}){closed}"


def _middle(cell: Cell, grid: Grid) -> float:
    row = label_row(cell.element.row, cell.element.last_row)
    return (grid.row_top[row] + grid.row_bottom[row]) / 2


def _add_cell(
    scene: Scene, plan: Plan, grid: Grid, where: tuple[Cell, float, float], places: dict[str, Place]
) -> None:
    cell, x, y = where
    one, shape = cell.element, cell.shape
    suspect = plan.marks.suspects.get(one.part.name, 0)
    top, bottom = y - shape.half, y + shape.half
    move = f"translate({number(x)} {number(y)})"
    shapes = [tag("g", "".join(shape.svg), transform=move)] if shape.svg else []
    if one.part.kind == "wire":
        top, bottom = grid.row_top[one.row], grid.row_bottom[one.last_row]
        shapes = _wire(one.part, x, (top, bottom), suspect)
    box = Box(x - shape.left, top, x + shape.right, bottom)
    pins = {one.up: (x, top), one.down: (x, bottom)}
    inner = {t: (x, y + share * shape.half) for t, share in inner_terminals(one).items()}
    labels = [replace(label, x=label.x + x, y=label.y + y) for label in cell.labels]
    scene.symbols.append(
        Symbol(one.part.name, one.part.kind, title_of(one.part), box, pins, shapes, labels, inner, suspect)
    )
    own = {**pins, **inner}
    if one is plan.graph.source:
        own = inner
    if one.part.kind == "splice":
        places.update({t: (x, y) for t in pins})
    places.update({t: p for t, p in own.items() if one.part.kind != "splice"})
    touching = [(letter, place) for t, place in own.items() for letter in plan.marks.tips.get(t, "")]
    for nth, (letter, (px, py)) in enumerate(touching):
        scene.tips.append(Tip(letter, px - tip_place(cell, nth), py, px, py))


def _wire(part: Part, x: float, ends: tuple[float, float], suspect: int) -> list[str]:
    """The line in its colour, in a casing of the page's colour: white and black show on any ground."""
    top, bottom = ends
    colours = paints(part.texts.get("colour", ""))
    if not colours:
        return [line(x, top, x, bottom)]
    shapes = [
        line(x, top, x, bottom, class_="casing", stroke_width=10 if suspect else 7),
        line(x, top, x, bottom, class_="paint", stroke=colours[0], stroke_width=4.4),
    ]
    if len(colours) == 2:
        dashes = {"stroke_dasharray": "6 8", "stroke_dashoffset": "-8"}
        shapes.append(line(x, top, x, bottom, class_="paint", stroke=colours[1], stroke_width=4.4, **dashes))
    return shapes


def _add_box(scene: Scene, plan: Plan, grid: Grid, box: BoxPlan, places: dict[str, Place]) -> None:
    block = box.block
    first, last = plan.columns.span_of_block[id(block)]
    top, bottom = grid.row_top[block.row], grid.row_bottom[block.row]
    area = Box(grid.x[first] - grid.left[first] + 3, top, grid.x[last] + grid.right[last] - 3, bottom)
    width = {"stroke_width": 3.0} if block.part.kind == BODY else {}
    shapes = [rect(area.left, top, area.right - area.left, bottom - top, rx=2, **width)]
    labels: list[Label] = []
    lines = [*((t, NAME, "name") for t in box.name), *((t, SMALL, "detail") for t in [box.cross] if t)]
    middle = (top + box.top_depth + bottom - box.bottom_depth) / 2
    for i, (text, size, role) in enumerate(lines):
        y = middle + (i - (len(lines) - 1) / 2) * LINE
        x = area.left + 8
        if box.suspect and i == 0:
            labels.append(badge_at(x, y, box.suspect))
        labels.append(Label(text, x + box.indent, y, size, role, bold=role == "name"))
    pins: dict[str, Place] = {}
    for terminal, pin in box.pins.items():
        upper = terminal in block.top
        x, edge, way = grid.x[plan.columns.of_pin[terminal]], (top if upper else bottom), (1 if upper else -1)
        pins[terminal] = (x, edge)
        depth = edge + way * 4
        for i, letter in enumerate(pin.tips):
            scene.tips.append(Tip(letter, x + (i - (len(pin.tips) - 1) / 2) * 22, depth + way * TIP, x, edge))
        depth += way * (pin.depth - len(pin.lines) * LINE)
        for i, (text, role) in enumerate(pin.lines if upper else pin.lines[::-1]):
            labels.append(Label(text, x, depth + way * (i + 0.5) * LINE, SMALL, role, "middle"))
    places.update(pins)
    scene.symbols.append(
        Symbol(
            block.part.name,
            block.part.kind,
            title_of(block.part),
            area,
            pins,
            shapes,
            labels,
            {},
            box.suspect,
        )
    )


# --- nets ---------------------------------------------------------------------------------


def _add_trunk(scene: Scene, plan: Plan, grid: Grid, trunk: Trunk) -> None:
    y = grid.track_y[id(trunk)]
    pins = {t: p for s in scene.symbols for t, p in s.pins.items()}
    arms: defaultdict[float, set[str]] = defaultdict(set)
    for tap in trunk.taps:
        source = tap.owner is None
        if source and (tap.column < 0 or plan.graph.source is None):
            continue
        x = grid.x[tap.column]
        for terminal in tap.terminals:
            pin = pins[terminal][1]
            if abs(pin - y) > 1e-9:
                scene.segments.append(Segment(trunk.net, x, min(pin, y), x, max(pin, y)))
            arms[x].add("up" if pin < y else "down")
    for riser in plan.routes.risers:
        if trunk in (riser.one, riser.other):
            other = riser.other if trunk is riser.one else riser.one
            arms[grid.x[riser.column]].add("up" if grid.track_y[id(other)] < y else "down")
    start = grid.margin if trunk.rail else min(arms, default=0.0)
    xs = sorted({start, *arms})
    for begin, end in pairwise(xs):
        scene.segments.append(Segment(trunk.net, begin, y, end, y, trunk.rail))
    for x in arms:
        sides = len(arms[x]) + (x > xs[0]) + (x < xs[-1])
        if sides >= 3:
            scene.dots.append((x, y))
        elif sides == 1:
            scene.open_ends.append((x, y))


def _add_rail(scene: Scene, plan: Plan, grid: Grid, trunk: Trunk, places: dict[str, Place]) -> None:
    y = grid.track_y[id(trunk)]
    scene.labels.append(Label(rail_text(plan, trunk), EDGE, y, NAME, "rail", bold=True))
    lane = 0
    for terminal in rail_terminals(plan, trunk):
        places[terminal] = (grid.margin, y)
        for letter in plan.marks.tips.get(terminal, ""):
            lane += 1
            scene.tips.append(Tip(letter, grid.margin - 4 - (2 * TIP + 4) * lane + TIP, y, grid.margin, y))
        if terminal == "frame":
            scene.frame = (grid.margin, y)


def _add_spots(scene: Scene, plan: Plan, places: dict[str, Place]) -> None:
    for point in reachable_points(plan.sheet, plan.marks.unplugged):
        if point.terminal in places:
            scene.spots.append(Spot(point.name, *places[point.terminal]))

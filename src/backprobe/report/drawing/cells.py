"""Each symbol and its texts in a cell of its own: how much room it takes, and where its texts stand.

A cell is measured around the line of its column: `left` and `right` of it, `height` in all. Nothing
of a cell leaves it, and cells do not meet; that is why no label lies on anything.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from backprobe.report.drawing.graph import Element
from backprobe.report.drawing.labels import detail_lines, name_lines
from backprobe.report.drawing.measure import LINE, NAME, SMALL
from backprobe.report.drawing.options import Marks
from backprobe.report.drawing.scene import Label
from backprobe.report.drawing.symbols import Shape, View, shape_of
from backprobe.sheet.model import Sheet

TIP = 9.0
"""Radius of a lead's tip [drawing units]."""
TIP_LANE = 2 * TIP + 5
"""Room for a tip at the left of a symbol [drawing units]."""
NUMBERS = 30.0
"""Room for terminal numbers beside the ends of a symbol [drawing units]."""
WIRE_HALF = 14.0
"""Half the least height of a wire with a colour, so that the colour is seen [drawing units]."""


@dataclass(slots=True)
class Cell:
    """A measured cell; `labels` are placed around (0, 0), the middle of the symbol."""

    element: Element
    shape: Shape
    left: float
    right: float
    height: float
    labels: list[Label] = field(default_factory=list)


def inner_terminals(element: Element) -> dict[str, float]:
    """Terminals that lie inside a symbol, by how far from its middle (-1 its top, 1 its bottom)."""
    name, kind = element.part.name, element.part.kind
    if kind == "contact":
        towards_wire = -0.55 if element.up.endswith(".wire") else 0.55
        return {f"{name}.machine": towards_wire}
    if kind == "ring":
        return {f"{name}.lug": 0.0}
    if kind == "battery":
        return {f"{name}.post +": -0.8, f"{name}.post -": 0.8}
    return {}


def measure_cell(element: Element, sheet: Sheet, marks: Marks, cross: str) -> Cell:
    """Room and texts of one symbol; `cross` refers to the paths of its other half."""
    part = element.part
    plug = part.texts.get("connector", "") if part.kind == "contact" else ""
    view = View(part, sheet, element.up, element.down, plug in marks.unplugged)
    wire = Shape(WIRE_HALF if part.texts.get("colour") else 5.0, 4, 4, ())
    shape = wire if part.kind == "wire" else shape_of(view)
    suspect = marks.suspects.get(part.name, 0)
    upper = [marks.volts[element.up]] if element.up in marks.volts else []
    lower = [marks.volts[element.down]] if element.down in marks.volts else []
    middle = [marks.volts[t] for t in inner_terminals(element) if t in marks.volts]
    lines = [
        *((text, SMALL, "volts") for text in upper),
        *((text, NAME, "name") for text in name_lines(part, suspect)),
        *((text, SMALL, "volts") for text in middle),
        *(
            (text, SMALL, "colour" if part.kind == "wire" else "detail")
            for text in detail_lines(part, element.up)
        ),
        *((text, SMALL, "detail") for text in [cross]),
        *((text, SMALL, "volts") for text in lower),
    ]
    beside = max(shape.right, NUMBERS if shape.numbered else 0.0) + 7
    labels = _stack([x for x in lines if x[0]], beside, suspect)
    if shape.numbered:
        for terminal, y in ((element.up, -shape.half + 8), (element.down, shape.half - 8)):
            labels.append(Label(terminal.rpartition(".")[2], 4, y, SMALL, "pin"))
    touched = {element.up, element.down, *inner_terminals(element)} & set(marks.tips)
    tips = sum(len(marks.tips[t]) for t in touched)
    left = shape.left + TIP_LANE * tips + 5
    right = max([shape.right, *(label.box.right for label in labels)]) + 5
    half = max([shape.half, *(max(-label.box.top, label.box.bottom) for label in labels)])
    if touched:
        half = max(half, shape.half + TIP + 2)
    return Cell(element, shape, left, right, 2 * half + 4, labels)


def badge_at(x: float, y: float, suspect: int) -> Label:
    """The number of a suspect in its frame, which begins at x."""
    return Label(str(suspect), x + 3, y, SMALL, "badge", bold=True)


def tip_place(cell: Cell, nth: int) -> float:
    """How far left of its column the nth tip at a symbol stands, each in its own lane [units]."""
    return cell.shape.left + TIP_LANE * (nth + 0.5) + 2


def _stack(lines: list[tuple[str, float, str]], x: float, suspect: int) -> list[Label]:
    """Lines below each other, their middle at 0; the badge of a suspect stands before the first name."""
    labels: list[Label] = []
    badge = suspect
    for i, (text, size, role) in enumerate(lines):
        y = (i - (len(lines) - 1) / 2) * LINE
        shift = 0.0
        if badge and role == "name":
            labels.append(badge_at(x, y, suspect))
            shift, badge = labels[-1].box.right - x + 5, 0
        labels.append(Label(text, x + shift, y, size, role, bold=role == "name"))
    return labels

"""Blocks: a controller, a sensor or a changeover contact as a box with named pins on its edges."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.report.drawing.cells import TIP, badge_at
from backprobe.report.drawing.graph import BODY, Block
from backprobe.report.drawing.labels import wrapped
from backprobe.report.drawing.measure import LINE, NAME, SMALL, text_width
from backprobe.report.drawing.options import Marks

PIN_WIDTH = 74.0
"""Names of pins are broken to this width [drawing units]."""
MEANING = {"87": "pulled", "87a": "rest", "NO": "moved", "NC": "rest"}
"""When a changeover contact is closed."""
TIP_ROOM = 2 * TIP + 4


@dataclass(slots=True)
class PinText:
    """Lines inside the box at one pin, from the edge inwards."""

    lines: list[tuple[str, str]]
    tips: str = ""

    @property
    def depth(self) -> float:
        """How far it reaches into the box [drawing units]."""
        return len(self.lines) * LINE + (TIP_ROOM if self.tips else 0.0)

    @property
    def half_width(self) -> float:
        """Half its width [drawing units]."""
        widest = max((text_width(t, SMALL) for t, _ in self.lines), default=0.0)
        return max(widest, len(self.tips) * TIP_ROOM) / 2 + 4


@dataclass(slots=True)
class BoxPlan:
    """A measured box."""

    block: Block
    pins: dict[str, PinText]
    name: list[str]
    suspect: int
    top_depth: float
    bottom_depth: float
    cross: str = ""

    @property
    def height(self) -> float:
        """Height of the row it needs [drawing units]."""
        lines = len(self.name) + bool(self.cross)
        return self.top_depth + self.bottom_depth + lines * LINE + 20

    @property
    def indent(self) -> float:
        """Room for the badge before the name [drawing units]."""
        return badge_at(0, 0, self.suspect).box.right + 5 if self.suspect else 0.0

    @property
    def name_width(self) -> float:
        """Width of the widest line in the middle [drawing units]."""
        names = [text_width(t, NAME, bold=True) for t in self.name]
        return max([*names, text_width(self.cross, SMALL)]) + self.indent + 16


def plan_box(block: Block, marks: Marks, cross: str) -> BoxPlan:
    """Measure a block."""
    pins: dict[str, PinText] = {}
    for terminal in block.terminals:
        name = "" if block.part.kind == BODY else terminal.removeprefix(f"{block.part.name}.")
        lines = [(text, "pin") for text in wrapped(f"{name} {MEANING.get(name, '')}", SMALL, PIN_WIDTH)]
        if terminal in marks.volts:
            lines.append((marks.volts[terminal], "volts"))
        pins[terminal] = PinText(lines, marks.tips.get(terminal, ""))
    depth = [max((pins[t].depth for t in edge), default=0.0) for edge in (block.top, block.bottom)]
    suspect = marks.suspects.get(block.part.name, 0)
    return BoxPlan(block, pins, wrapped(block.part.name, NAME, bold=True), suspect, depth[0], depth[1], cross)

"""A plan drawn as a tree: checks from left to right, what each shows on its branch, repairs at the ends."""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from dataclasses import dataclass

from markupsafe import Markup

from backprobe.diagnosis.plan import End, Plan, Step
from backprobe.report.plan_words import RARE
from backprobe.web.picture import line, svg, words

NODE, BRANCH, MARGIN = 218.0, 150.0, 6.0
ROW, PAD, APART = 17.0, 8.0, 12.0
LETTERS, BRANCH_LETTERS = 28, 17
"""Letters that fit into a box, and above a branch."""
MOST_LINES = 5
THICK = 9.0
"""Width of a branch that is certain [px]."""


@dataclass(frozen=True, slots=True)
class Says:
    """What the tree has written in it.

    Parameters
    ----------
    step, end, branch
        Make the text of a check, of an end, and of what a check shows.
    """

    step: Callable[[Step], str]
    end: Callable[[End], str]
    branch: Callable[[Step, int], str]


def draw_plan(plan: Plan, says: Says, *, label: str) -> Markup:
    """The tree; branches are as wide as they are probable, and say so."""
    drawing = _Tree(says)
    _, bottom = drawing.place(plan.first, MARGIN, MARGIN)
    return svg(drawing.right + MARGIN, bottom + MARGIN, label, drawing.parts, natural=True)


class _Tree:
    """Places nodes from the top; each stands level with the first of what follows it, for a phone."""

    def __init__(self, says: Says) -> None:
        self.says = says
        self.parts: list[str] = []
        self.right = 0.0

    def place(self, node: Step | End, left: float, top: float) -> tuple[float, float]:
        """Draw a node with what follows; its height in the middle [px], and where the next may begin."""
        self.right = max(self.right, left + NODE)
        lines = self._wrapped(node)
        height = ROW * len(lines) + 2 * PAD
        if isinstance(node, End):
            self._box(lines, left, top, height, end=True)
            return top + height / 2, top + height + APART
        below, middles = top, []
        for k, branch in enumerate(node.branches):
            if branch.probability >= RARE:
                middle, below = self.place(branch.then, left + NODE + BRANCH, below)
                middles.append((k, middle))
        centre = max(middles[0][1] if middles else top, top + height / 2)
        for k, middle in middles:
            self._branch(node, k, (left + NODE, centre), (left + NODE + BRANCH, middle))
        self._box(lines, left, centre - height / 2, height, end=False)
        return centre, max(below, centre + height / 2 + APART)

    def _wrapped(self, node: Step | End) -> list[str]:
        text = self.says.end(node) if isinstance(node, End) else f"{node.number}. {self.says.step(node)}"
        return textwrap.wrap(_kept(text), LETTERS, max_lines=MOST_LINES, placeholder=" \u2026")

    def _box(self, lines: list[str], left: float, top: float, height: float, *, end: bool) -> None:
        shape = ' stroke-dasharray="7 3"' if end else ' rx="8"'
        width = 2 if end else 2.5
        self.parts.append(
            f'<rect class="ink" x="{left:.1f}" y="{top:.1f}" width="{NODE:g}" height="{height:.1f}" '
            f'stroke-width="{width:g}"{shape}/>'
        )
        for k, one in enumerate(lines):
            self.parts.append(words(left + 8, top + PAD + ROW * (k + 0.78), one, bold=k == 0 and not end))

    def _branch(self, step: Step, k: int, start: tuple[float, float], end: tuple[float, float]) -> None:
        (x0, y0), (x1, y1) = start, end
        bend = x0 + 12
        width = 1.0 + (THICK - 1.0) * step.branches[k].probability
        self.parts.append(line(f"M{x0:.1f} {y0:.1f}H{bend:.1f}V{y1:.1f}H{x1:.1f}", "faint", width=width))
        shown = textwrap.wrap(
            _kept(self.says.branch(step, k)), BRANCH_LETTERS, max_lines=2, placeholder=" \u2026"
        )
        for n, one in enumerate(shown[::-1]):
            self.parts.append(words(bend + 8, y1 - 8 - 15 * n, one))


def _kept(text: str) -> str:
    """A text in which no number is torn from its percent sign."""
    return text.replace(" %", "\u00a0%")

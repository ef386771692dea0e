"""What is on the sheet of paper: boxes, lines and texts with their places, before they become SVG."""

from __future__ import annotations

from dataclasses import dataclass, field

from backprobe.report.drawing.measure import text_width


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle [drawing units]."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        """Whether two rectangles have an area in common."""
        apart = self.right <= other.left or other.right <= self.left
        return not (apart or self.bottom <= other.top or other.bottom <= self.top)


@dataclass(frozen=True, slots=True)
class Label:
    """One line of text; `y` is its middle, `anchor` is ``start`` or ``middle``.

    `role` is its class: ``name``, ``detail``, ``colour``, ``pin``, ``volts``, ``path``, ``title``, ``badge``.
    """

    text: str
    x: float
    y: float
    size: float
    role: str
    anchor: str = "start"
    bold: bool = False

    @property
    def box(self) -> Box:
        """The room it takes in the widest usual face."""
        width = text_width(self.text, self.size, bold=self.bold)
        left = self.x - width / 2 if self.anchor == "middle" else self.x
        pad = 1.0 if self.role == "badge" else 0.0
        return Box(
            left - 3 * pad,
            self.y - 0.58 * self.size - pad,
            left + width + 3 * pad,
            self.y + 0.58 * self.size + pad,
        )


@dataclass(frozen=True, slots=True)
class Segment:
    """A straight piece of a net."""

    net: str
    x1: float
    y1: float
    x2: float
    y2: float
    rail: bool = False


@dataclass(slots=True)
class Symbol:
    """A part as it is drawn: its box, its pins, its own shapes (in SVG) and its texts.

    Parameters
    ----------
    pins
        Terminal to place, at the symbol's edge.
    inner
        Further terminals a lead can touch that lie inside, such as the rear of a cavity.
    """

    part: str
    kind: str
    title: str
    box: Box
    pins: dict[str, tuple[float, float]]
    shapes: list[str] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    inner: dict[str, tuple[float, float]] = field(default_factory=dict)
    suspect: int = 0


@dataclass(frozen=True, slots=True)
class Tip:
    """A lead's tip, ``R`` or ``B``, and the point it touches."""

    letter: str
    x: float
    y: float
    to_x: float
    to_y: float


@dataclass(frozen=True, slots=True)
class Spot:
    """A point that can be tapped: its name as readings name it."""

    name: str
    x: float
    y: float


@dataclass(slots=True)
class Scene:
    """The whole drawing."""

    title: str
    description: str
    width: float = 0.0
    height: float = 0.0
    symbols: list[Symbol] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    segments: list[Segment] = field(default_factory=list)
    dots: list[tuple[float, float]] = field(default_factory=list)
    open_ends: list[tuple[float, float]] = field(default_factory=list)
    tips: list[Tip] = field(default_factory=list)
    spots: list[Spot] = field(default_factory=list)
    frame: tuple[float, float] | None = None

    def all_labels(self) -> list[Label]:
        """Every text of the drawing."""
        return [*self.labels, *(label for s in self.symbols for label in s.labels)]

"""Shapes of two-ended symbols, drawn from general knowledge of IEC 60617.

Each is drawn upright around (0, 0), its ends at (0, -half) and (0, half). Shapes are SVG elements
that take line and fill from their group; no style attributes, so a strict content policy lets them be.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from backprobe.report.drawing.svg import circle, line, path, rect, tag
from backprobe.sheet.model import Part, Sheet


@dataclass(frozen=True, slots=True)
class Shape:
    """A symbol around (0, 0): half its height, its reach to the left and right, its SVG.

    `numbers` are the terminal numbers to write at its ends (DIN 72552), top and bottom.
    """

    half: float
    left: float
    right: float
    svg: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class View:
    """What a shape depends on besides its part."""

    part: Part
    sheet: Sheet
    up: str
    down: str
    unplugged: bool


FILLED = {"fill": "currentColor"}
DASHED = {"stroke_dasharray": "3 3"}
HEAVY = 5.0
"""Width of a heavy line [drawing units]."""
_LEADS = (line(0, -25, 0, -20), line(0, 20, 0, 25))


def _letter(text: str) -> str:
    look = {"fill": "currentColor", "stroke": "none", "text_anchor": "middle", "aria_hidden": "true"}
    return tag("text", text, x=0, y=4.5, font_size=13, **look)


def _fuse(view: View) -> Shape:
    return Shape(20, 6, 6, (rect(-6, -13, 12, 26), line(0, -20, 0, 20)))


def _resistor(view: View) -> Shape:
    return Shape(20, 6, 6, (rect(-6, -13, 12, 26), line(0, -20, 0, -13), line(0, 13, 0, 20)))


def _potentiometer(view: View) -> Shape:
    arrow = path("M-16 8 L14 -8 M8 -9 L14 -8 L11 -2")
    return Shape(20, 17, 15, (*_resistor(view).svg, arrow))


def _coil(view: View) -> Shape:
    leads = (line(0, -20, 0, -9), line(0, 9, 0, 20))
    if re.search(r"\bM\d|motor", view.part.name):
        return Shape(22, 14, 14, (circle(0, 0, 14), _letter("M"), line(0, -22, 0, -14), line(0, 14, 0, 22)))
    return Shape(20, 17, 17, (rect(-17, -9, 34, 18), *leads))


def _relay(view: View) -> Shape:
    ends = {t.rpartition(".")[2] for t in (view.up, view.down)}
    if ends == {"85", "86"}:
        body = (rect(-17, -9, 34, 18), line(0, -25, 0, -9), line(0, 9, 0, 25))
        return Shape(25, 17, 17, body, numbered=True)
    contact = _break_contact() if "87a" in ends else _make_contact()
    return Shape(25, 12, 11, (*contact, *_LEADS), numbered=True)


def _make_contact() -> tuple[str, ...]:
    return (line(0, -20, 0, -9), line(0, 9, 0, 20), line(0, 9, -11, -11))


def _break_contact() -> tuple[str, ...]:
    return (path("M0 -20 L0 -9 L10 -9"), line(0, 9, 0, 20), line(0, 9, 8, -14))


def _switch(view: View) -> Shape:
    resting = view.part.closed and all(
        view.sheet.controls[c].positions[0] in on
        for c, on in view.part.closed.items()
        if c in view.sheet.controls
    )
    body = _break_contact() if resting else _make_contact()
    blade = (4.0, -2.0) if resting else (-6.0, -2.0)
    words = f"{view.part.name} {' '.join(view.part.closed)}".lower()
    actuator = next(draw for pattern, draw in _ACTUATORS if re.search(pattern, words))
    return Shape(20, 32, 12, (*body, line(blade[0], blade[1], -22, -2, **DASHED), *actuator))


_ACTUATORS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (r"key|ignition|master", (path("M-18 -9 L-22 -9 L-22 5 L-26 5"),)),
    (r"pedal|clutch|brake", (path("M-22 -2 L-29 -2 M-29 4 L-26 -8"),)),
    (r"button|pto|press|horn", (path("M-26 -8 L-22 -8 L-22 4 L-26 4"),)),
    (r"seat", (path("M-31 -7 L-31 -2 L-22 -2 M-26 -2 L-26 5"),)),
    (r"lever|neutral", (path("M-22 -2 L-29 -9"), circle(-29, -9, 2, **FILLED))),
    (r"", (circle(-25, -2, 3.5),)),
)
"""Operated by: turning, pedal, push, seat, lever, else a roller that a moving part pushes."""


def _lamp(view: View) -> Shape:
    cross = path("M-8.5 -8.5 L8.5 8.5 M-8.5 8.5 L8.5 -8.5")
    return Shape(20, 12, 12, (circle(0, 0, 12), cross, line(0, -20, 0, -12), line(0, 12, 0, 20)))


def _triangle(forward: bool) -> tuple[str, ...]:
    s = 1 if forward else -1
    return (path(f"M-9 {-8 * s} L9 {-8 * s} L0 {8 * s} Z M-9 {8 * s} L9 {8 * s}"), line(0, -20, 0, 20))


def _diode(view: View) -> Shape:
    return Shape(20, 9, 9, _triangle(view.up.endswith(".anode")))


def _contact(view: View) -> Shape:
    # The pin stands on the side of the part, the socket on the side of the wire (common practice, no source).
    gap = 3.0 if view.unplugged else 0.0
    pin_up = view.up.endswith(".part")
    s = 1 if pin_up else -1
    arc = path(f"M-6 {(4 + gap) * s:g} A6 6 0 0 {1 if pin_up else 0} 6 {(4 + gap) * s:g}")
    top = (4 + gap - 6) * s
    pin = rect(-2, min(-10 * s, (-2 - gap) * s), 4, 8 - gap, **FILLED)
    return Shape(14, 7, 7, (arc, pin, line(0, top, 0, 14 * s), line(0, -10 * s, 0, -14 * s)))


def _ring(view: View) -> Shape:
    return Shape(
        11, 6, 6, (circle(0, 0, 5), circle(0, 0, 1.4, **FILLED), line(0, -11, 0, -5), line(0, 5, 0, 11))
    )


def _splice(view: View) -> Shape:
    return Shape(9, 5, 5, (circle(0, 0, 4.5, **FILLED), line(0, -9, 0, 9)))


def _strap(view: View) -> Shape:
    return Shape(
        22,
        5,
        5,
        (
            circle(0, -13, 4),
            circle(0, 13, 4),
            line(0, -9, 0, 9, stroke_width=HEAVY),
            line(0, -22, 0, -17),
            line(0, 17, 0, 22),
        ),
    )


def _changeover(view: View) -> Shape:
    ends = {t.rpartition(".")[2] for t in (view.up, view.down)}
    body = _break_contact() if "NC" in ends else _make_contact()
    blade = 4.0 if "NC" in ends else -6.0
    return Shape(
        25, 32, 11, (*body, line(blade, -2, -22, -2, **DASHED), circle(-25, -2, 3.5), *_LEADS), numbered=True
    )


def _breaker(view: View) -> Shape:
    cross = path("M-4 -13 L4 -5 M4 -13 L-4 -5")
    return Shape(20, 12, 9, (*_make_contact(), cross))


def _led(view: View) -> Shape:
    rays = path("M9 -7 L16 -14 M12 -14 L16 -14 L16 -10 M12 -1 L19 -8 M15 -8 L19 -8 L19 -4")
    return Shape(20, 9, 20, (*_triangle(view.up.endswith(".anode")), rays))


def _sender(view: View) -> Shape:
    return Shape(20, 15, 13, (*_resistor(view).svg, path("M-14 10 L12 -11 M6 -11 L12 -11 L12 -5")))


def _pick_up(view: View) -> Shape:
    turns = path("M0 -20 L0 -14 A5 5 0 0 1 0 -5 A5 5 0 0 1 0 5 A5 5 0 0 1 0 14 L0 20 M-8 -13 L-8 13")
    return Shape(20, 9, 7, (turns,))


def _two_wire(view: View) -> Shape:
    mark = path("M0 -8 L8 0 L0 8 L-8 0 Z")
    return Shape(22, 14, 14, (rect(-14, -14, 28, 28), mark, line(0, -22, 0, -14), line(0, 14, 0, 22)))


def _alternator(view: View) -> Shape:
    return Shape(24, 15, 15, (circle(0, 0, 15), _letter("G"), line(0, -24, 0, -15), line(0, 15, 0, 24)))


def _battery(view: View) -> Shape:
    cells = (
        line(-15, -12, 15, -12),
        line(-8, -5, 8, -5, stroke_width=HEAVY),
        line(-15, 5, 15, 5),
        line(-8, 12, 8, 12, stroke_width=HEAVY),
    )
    plus = path("M-16 -22 L-8 -22 M-12 -26 L-12 -18")
    return Shape(
        28, 17, 17, (*cells, plus, line(0, -28, 0, -12), line(0, -5, 0, 5, **DASHED), line(0, 12, 0, 28))
    )


def _other(view: View) -> Shape:
    return Shape(20, 13, 13, (rect(-13, -13, 26, 26), line(0, -20, 0, -13), line(0, 13, 0, 20)))


_SHAPES: dict[str, Callable[[View], Shape]] = {
    "fuse": _fuse,
    "resistor": _resistor,
    "potentiometer": _potentiometer,
    "coil": _coil,
    "relay": _relay,
    "switch": _switch,
    "lamp": _lamp,
    "diode": _diode,
    "contact": _contact,
    "ring": _ring,
    "splice": _splice,
    "strap": _strap,
    "battery": _battery,
    "fusible link": _fuse,
    "circuit breaker": _breaker,
    "LED indicator": _led,
    "sender": _sender,
    "coil pick-up": _pick_up,
    "two-wire sensor": _two_wire,
    "terminator": _resistor,
    "changeover switch": _changeover,
    "alternator": _alternator,
}


def shape_of(view: View) -> Shape:
    """The symbol of a part; a plain box for a kind without one of its own."""
    return _SHAPES.get(view.part.kind, _other)(view)

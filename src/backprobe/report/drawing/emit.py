"""A scene as SVG with plain attributes only: no style attributes, no scripts, nothing fetched.

Lines and texts take the colour of the page's text (``currentColor``), so one drawing serves light,
dark and print; classes let a page say more.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from backprobe.report.drawing.cells import TIP
from backprobe.report.drawing.scene import Label, Scene, Segment, Spot, Symbol, Tip
from backprobe.report.drawing.svg import circle, line, number, path, rect, tag, words

HIT = 24.0
"""Radius of what a finger must hit [drawing units]: 48 across, as wide as a gloved tip."""
NET, RAIL, SUSPECT = 1.8, 4.0, 3.2
"""Widths of lines [drawing units]."""
LEADS = {"R": ("red", "#d8232a"), "B": ("black", "#1a1a1a")}


def to_svg(scene: Scene) -> str:
    """The drawing as one SVG element."""
    nets = [*map(_net, scene.segments), *(circle(x, y, 3, class_="end") for x, y in scene.open_ends)]
    if scene.frame:
        nets.append(_frame_sign(*scene.frame))
    pieces = [
        tag("title", words(scene.title)),
        tag("desc", words(scene.description)),
        tag("g", _lines(nets), class_="nets", fill="none", stroke="currentColor", stroke_linecap="round"),
        *(circle(x, y, 4, class_="joint") for x, y in scene.dots),
        *_parts(scene.symbols),
        *map(_label, scene.labels),
        *map(_tip, scene.tips),
        *map(_spot, scene.spots),
    ]
    width, height = round(scene.width), round(scene.height)
    drawing = tag(
        "svg",
        _lines(pieces),
        xmlns="http://www.w3.org/2000/svg",
        class_="circuit",
        role="img",
        width=width,
        height=height,
        viewBox=f"0 0 {width} {height}",
        font_family="sans-serif",
        fill="currentColor",
    )
    return drawing + "\n"


def _lines(pieces: Iterable[str]) -> str:
    return "\n" + "\n".join(pieces) + "\n"


def _net(s: Segment) -> str:
    return line(
        s.x1, s.y1, s.x2, s.y2, class_="rail" if s.rail else "net", stroke_width=RAIL if s.rail else NET
    )


def _frame_sign(left: float, y: float) -> str:
    x, foot = left + 10, y + 8
    strokes = " ".join(f"M{number(x + dx)} {number(foot)} l-4 6" for dx in (-6, 0, 6))
    d = f"M{number(x)} {number(y)} v8 M{number(x - 8)} {number(foot)} h16 {strokes}"
    return path(d, class_="frame", stroke_width=2)


def _parts(symbols: Iterable[Symbol]) -> Iterable[str]:
    used: dict[str, int] = {}
    for symbol in symbols:
        base = "part-" + re.sub(r"[^A-Za-z0-9+-]+", "-", symbol.part).strip("-")
        used[base] = used.get(base, 0) + 1
        name = base if used[base] == 1 else f"{base}.{used[base]}"
        pieces = [tag("title", words(symbol.title))]
        if symbol.shapes:
            width = SUSPECT if symbol.suspect else NET
            look = {"fill": "none", "stroke": "currentColor", "stroke_linejoin": "round"}
            pieces.append(tag("g", "".join(symbol.shapes), stroke_width=width, **look))
        pieces += map(_label, symbol.labels)
        kind = symbol.kind.replace(" ", "-") + (" suspect" if symbol.suspect else "")
        yield tag("g", _lines(pieces), id=name, class_=f"part {kind}", data_part=symbol.part)


def _label(label: Label) -> str:
    more: dict[str, str | float] = {"text_anchor": "middle"} if label.anchor == "middle" else {}
    if label.bold:
        more["font_weight"] = "bold"
    if label.role == "volts":
        more["font_style"] = "italic"
    # The baseline stands about a third of the letters' height below their middle.
    y = label.y + 0.35 * label.size
    text = tag("text", words(label.text), class_=label.role, x=label.x, y=y, font_size=label.size, **more)
    if label.role != "badge":
        return text
    b = label.box
    width, height = b.right - b.left, b.bottom - b.top
    look = {"fill": "none", "stroke": "currentColor"}
    return rect(b.left, b.top, width, height, class_="badge-frame", rx=3, stroke_width=2, **look) + text


def _tip(tip: Tip) -> str:
    name, paint = LEADS[tip.letter]
    pieces = [
        tag("title", f"{name} lead"),
        line(tip.x, tip.y, tip.to_x, tip.to_y, stroke="currentColor", stroke_width=3),
        circle(tip.x, tip.y, TIP, fill=paint, stroke="currentColor", stroke_width=1.6),
        tag(
            "text",
            tip.letter,
            x=tip.x,
            y=tip.y + 4.2,
            font_size=12,
            font_weight="bold",
            text_anchor="middle",
            fill="#ffffff",
        ),
    ]
    return tag("g", "".join(pieces), class_=f"lead {name}")


def _spot(spot: Spot) -> str:
    name = tag("title", words(spot.name))
    look = {"class_": "point", "data_point": spot.name, "fill": "none", "pointer_events": "all"}
    return circle(spot.x, spot.y, HIT, name, **look)

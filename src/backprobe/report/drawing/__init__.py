"""The circuit drawing: current paths from the supply on top to the return at the bottom, as SVG.

Symbols follow IEC 60617, letters of wires IEC 60757, terminal numbers DIN 72552, all from general
knowledge of the standards. `graph` takes a sheet apart, `rows`, `trunks` and `columns` arrange it,
`cells`, `boxes` and `grid` measure it, `build` puts it together and `emit` writes it down.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from backprobe.report.drawing.build import build_scene
from backprobe.report.drawing.emit import to_svg
from backprobe.report.drawing.options import read_marks
from backprobe.sheet.model import Sheet


def draw(
    sheet: Sheet,
    *,
    suspects: Sequence[str] = (),
    volts: Mapping[str, str] | None = None,
    leads: tuple[str, str] | None = None,
    unplugged: Iterable[str] = (),
) -> str:
    """Draw a sheet as SVG.

    Parameters
    ----------
    suspects
        Parts, or suspects as an answer names them (``fuse F1: blown``), likeliest first; each is
        drawn heavier and numbered.
    volts
        Point to the text beside it, such as ``{"C2-3": "5.1 V / 0.2 V"}`` (healthy / measured).
    leads
        The points of the red and of the black lead.
    unplugged
        Connectors that are drawn pulled; their cavities are two points each.

    Returns
    -------
    str
        One SVG element, in plain attributes, that takes the page's text colour.

    Raises
    ------
    ReadingError
        When a suspect, a point or a plug is not in the sheet.
    """
    marks = read_marks(sheet, suspects, volts or {}, leads, unplugged)
    return to_svg(build_scene(sheet, marks))

"""How wide a text will be, so that room is left for it before it is drawn."""

from __future__ import annotations

NAME, SMALL, TITLE = 14.0, 13.0, 16.0
"""Heights of letters [drawing units]; the smallest is still read at arm's length on a phone."""
LINE = 17.0
"""From one line of text to the next [drawing units]."""

_NARROW = frozenset("ijl.,:;'|!()[]/ ftrI-")
_WIDE = frozenset("mwMWQ@%")


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a text in the widest of the usual sans-serif faces [drawing units]."""
    ems = sum(0.42 if c in _NARROW else 0.98 if c in _WIDE else 0.72 if c.isupper() else 0.64 for c in text)
    return ems * size * (1.1 if bold else 1.0)

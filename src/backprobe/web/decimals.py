"""Decimal marks of what Python has written already: numbers beside a drawing, as the reader writes them."""

from __future__ import annotations

import re

_POINT = re.compile(r"(?<=\d)\.(?=\d)")
_TEXT = re.compile(r">[^<]+<")


def with_comma(text: str, comma: bool) -> str:
    """``12.4 V / 0.2 V`` as ``12,4 V / 0,2 V`` where the language writes a comma."""
    return _POINT.sub(",", text) if comma else text


def svg_with_comma(svg: str, comma: bool) -> str:
    """A drawing with the numbers in its texts so; places and sizes stay as SVG wants them."""
    return _TEXT.sub(lambda found: with_comma(found[0], comma), svg) if comma else svg

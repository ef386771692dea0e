"""One SVG element as text, from plain attributes."""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr


def number(value: float) -> str:
    """A coordinate to a tenth of a unit, without trailing noughts."""
    return f"{value:.1f}".removesuffix(".0")


def tag(element: str, content: str = "", /, **attributes: str | float) -> str:
    """An element; `class_` and `stroke_width` stand for the words that are no Python names.

    Parameters
    ----------
    content
        What stands inside it, as SVG already.
    """
    words = [element]
    for name, value in attributes.items():
        text = value if isinstance(value, str) else number(value)
        words.append(f"{name.rstrip('_').replace('_', '-')}={quoteattr(text)}")
    return f"<{' '.join(words)}>{content}</{element}>" if content else f"<{' '.join(words)}/>"


def line(x1: float, y1: float, x2: float, y2: float, **attributes: str | float) -> str:
    """A straight line."""
    return tag("line", x1=x1, y1=y1, x2=x2, y2=y2, **attributes)


def circle(x: float, y: float, r: float, content: str = "", /, **attributes: str | float) -> str:
    """A circle around (x, y)."""
    return tag("circle", content, cx=x, cy=y, r=r, **attributes)


def rect(x: float, y: float, width: float, height: float, **attributes: str | float) -> str:
    """A rectangle with its upper left corner at (x, y)."""
    return tag("rect", x=x, y=y, width=width, height=height, **attributes)


def path(d: str, **attributes: str | float) -> str:
    """A path."""
    return tag("path", d=d, **attributes)


def words(text: str) -> str:
    """Text as it may stand inside an element."""
    return escape(text)

"""What parts the things of a run: > in a typed line, a comma in a list; both signs are taken in both."""

from __future__ import annotations

import re
from dataclasses import replace

from backprobe.errors import Problem, UnitError
from backprobe.sheet.document import Node, Scalar, Sequence, scalars

_SIGN = re.compile(r"\s*(?:[>\u2192]|,(?!\d)|(?<!\d),)\s*")
"""A comma between two digits is a decimal one, and parts nothing."""
_ARROW = re.compile(r"\s*[>\u2192]\s*")
_COMMA = re.compile(r",(?!\d)|(?<!\d),")


def things(text: str) -> list[str]:
    """The things of a typed line, parted by ``>`` or by commas; an empty text where two signs meet."""
    return _SIGN.split(text.strip())


def joined_by_arrows(text: str) -> list[str]:
    """The things of an item of a list in which somebody went on with ``>``; mostly one."""
    return [thing for thing in _ARROW.split(text.strip()) if thing]


def is_line(text: str) -> bool:
    """Whether a text is a whole line of things, joined by ``>``."""
    return bool(_ARROW.search(text.strip().strip(">")))


def listed_things(node: Node) -> list[Scalar] | None:
    """The things of a run of a sheet: a list, in which ``>`` parts as a comma does, or a typed line.

    None where it is neither.
    """
    if isinstance(node, Scalar) and is_line(node.text):
        if ("[" in node.text) != ("]" in node.text):
            return None
        return [replace(node, text=text) for text in things(node.text.strip("[] "))]
    items = scalars(node) if isinstance(node, Sequence) else None
    if items is None:
        return None
    return [replace(i, text=text) for i in items for text in joined_by_arrows(i.text) or [""]]


def refuse_swallowed(item: str) -> None:
    """Refuse a comma inside one thing: what stands behind it would be lost in the name before it.

    Raises
    ------
    UnitError
        With the same things parted as a typed line parts them.
    """
    if _COMMA.search(item):
        meant = " > ".join(filter(None, things(item)))
        raise UnitError(Problem("", item, "has a comma inside one part", f"Did you mean '{meant}'?"))

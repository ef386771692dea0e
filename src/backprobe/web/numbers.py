"""Numbers as they are typed on the page, made into the words of a reading line."""

from __future__ import annotations

import re

from backprobe.errors import BackprobeError
from backprobe.units import parse_quantity

_COMMA = re.compile(r"(?<![\d,])(?<!\d\.)(\d+),(\d+)(?![\d,]|\.\d)")
_SURE_COMMA = re.compile(r"(?<![\d,])(?<!\d\.)(\d+),(\d{1,2}|\d{4,}|(?<=\b0,)\d{3})(?![\d,]|\.\d)")
"""A comma that marks no thousands, where the language writes a point: 12,6 and 0,125, but not 1,250."""
_TWO_ENDS = re.compile(r"\.\.|\b(?:to|and|bis|und)\b|(?<=\d)\s*[\u2013\u2014-]\s*(?=\d)")
_SPOKEN = {"etwa": "about", "ungefähr": "about", "ca": "about", "rund": "about"}
PREFIXED = frozenset({"kohm", "Mohm", "mV"})


def pointed(typed: str, *, comma: bool) -> str:
    """A typed number with its decimal comma made a point; thumbs put one in every language.

    Parameters
    ----------
    comma
        Whether ``1,250`` is 1.25, as in a language that writes a decimal comma; elsewhere it may be 1250 and
        is left to be asked about.
    """
    return (_COMMA if comma else _SURE_COMMA).sub(r"\1.\2", typed)


def typed_number(typed: str, picked: str, *, comma: bool) -> str:
    """A number, or the two ends between which it moved, with the unit that was picked where it has none.

    Parameters
    ----------
    typed
        Such as ``4.7k``, ``about 6``, ``4,78`` or ``3.1..4.2``.
    picked
        The unit beside it.
    comma
        Whether ``4,7`` is read as 4.7.
    """
    said = pointed(" ".join(typed.split()), comma=comma)
    if comma:
        word, _, rest = said.partition(" ")
        said = f"{_SPOKEN[word.rstrip('.').lower()]} {rest}" if word.rstrip(".").lower() in _SPOKEN else said
    if _TWO_ENDS.search(said):
        ends = [e.strip() for e in _TWO_ENDS.split(said, maxsplit=1)]
        return "..".join(_with_unit(e, picked) for e in ends)
    return _with_unit(said, picked)


def _with_unit(said: str, picked: str) -> str:
    try:
        if parse_quantity(said).unit:
            return said
    except BackprobeError:
        # Whoever reads the line says what is wrong with it, in the words of a reading.
        return said
    if said[-1:] in {"k", "K", "M", "m"}:
        # "4.7k" beside a picked kΩ is 4.7 kΩ, not 4.7 thousand of them.
        base = picked.lstrip("kMm") if picked in PREFIXED else picked
        return f"{said}{base}"
    return f"{said} {picked}".strip()

"""Values inside a run that are spelt in another way, and numbers that are none: never a part of a name."""

from __future__ import annotations

import re

from backprobe.errors import Problem, UnitError
from backprobe.sheet.kind import Kind
from backprobe.sheet.lexicon import DESIGNATION
from backprobe.sheet.spelling import nearly
from backprobe.unit_slips import without_letter_o
from backprobe.unit_tables import SPELLINGS, UNITS
from backprobe.units import Toleranced, parse_toleranced

_NUMBER = re.compile(r"(\d+(?:\.\d+)?)([^\W\d_]\w*)?")
_COMMA = re.compile(r"(?<![\w.,])(\d+),(\d+)(?![\d,])\s?([^\W\d_]*)")
_NEARLY = re.compile(r"(?:\d[\doO]*|[oO])(?:[.,][\doO]+)?[a-zA-Z\u03a9]{0,4}")
"""A number in which zeros may be letters, perhaps with its unit."""
_LONG = tuple(
    w for unit, words in SPELLINGS.items() if unit in {"V", "A", "W", "ohm", "m"} for w in words.split()
)
_PREFIXED = ("kohm", "Mohm", "mohm", "mA", "mV", "kohms")


def refuse_letter_o(item: str) -> None:
    """Refuse a number with the letter o in it, which would else become a name.

    Raises
    ------
    UnitError
        With the same number written with a zero.
    """
    for word in item.split():
        if _NEARLY.fullmatch(word) and (meant := without_letter_o(word)):
            raise _error(word, "has the letter o where a zero belongs", f"Write {meant}.")


def refuse_comma(item: str) -> None:
    """Refuse a decimal comma, which parts the things of a run from each other.

    Raises
    ------
    UnitError
        With the same number written with a point.
    """
    if found := _COMMA.search(item):
        unit = f" {found[3]}" if found[3] else ""
        raise _error(found[0], "has a decimal comma", f"Write `{found[1]}.{found[2]}{unit}`, with a point.")


def spelt_values(words: list[str], kind: Kind | None) -> tuple[list[Toleranced], list[str]]:
    """Values among the words that are left of an item, and the words that remain.

    ``15 amps`` beside a fuse is a value. ``20 ohn`` is none and no name either, and ``15`` behind a
    designation lacks its unit.

    Parameters
    ----------
    words
        What is left of an item without its plain values and colours.
    kind
        What the item is, as far as its words say.

    Raises
    ------
    UnitError
        For a number whose unit is not known, or that has none where one is needed.
    """
    values: list[Toleranced] = []
    left: list[str] = []
    rest = iter(range(len(words)))
    for i in rest:
        found = _NUMBER.fullmatch(words[i])
        if found is None:
            left.append(words[i])
            continue
        after = words[i + 1] if i + 1 < len(words) else ""
        unit = found[2] or after
        spelt = _known(unit, kind)
        if spelt:
            values.append(parse_toleranced(f"{found[1]} {spelt}"))
        else:
            _refuse(found[1], unit, kind, behind=words[i - 1] if i else "")
            left.append(words[i])
        if spelt and not found[2]:
            next(rest, None)
    return values, left


def _known(unit: str, kind: Kind | None) -> str:
    """A unit as `parse_toleranced` takes it, where this kind of part has a value in it."""
    for word in (unit, unit.lower()):
        if word in UNITS and kind is not None and kind.field_for_unit(UNITS[word][0]):
            return word
    return ""


def _refuse(number: str, unit: str, kind: Kind | None, *, behind: str) -> None:
    shown = f"{number} {unit}".rstrip()
    takes = [f.unit for f in kind.fields if f.unit and f.shape == "value"] if kind else []
    example = f"{number} {takes[0]}" if takes else f"{number} ohm"
    if unit and (meant := nearly(unit, (*_LONG, *_PREFIXED))):
        meant = meant if meant in _PREFIXED else UNITS[meant][0]
        raise _error(shown, f"has '{unit}' where a unit belongs", f"Did you mean {number} {meant}?")
    if "." in number or DESIGNATION.match(behind):
        what = f"has '{unit}' where a unit belongs" if unit else "has no unit"
        raise _error(shown, what, f"Write such as {example}.")


def _error(value: str, message: str, remedy: str) -> UnitError:
    return UnitError(Problem("", value, message, remedy))

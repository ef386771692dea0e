"""Why a text is no value: what people write instead, and what would be right."""

from __future__ import annotations

import re
from typing import NoReturn

from backprobe.errors import Problem, UnitError
from backprobe.unit_tables import KINDS, PREFIXES, SAME_SIGNS

MAX_TEXT = 40  # characters; a longer text is a sentence, not a value
NUMBER = r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
LETTER_O = re.compile(r"(?<![^\W\d_])[oO](?=[.,]?\d)|(?<=\d[.,])[oO]+|(?<=\d)[oO]+(?=[\d.,\s]|[VAW]|$)")
"""The letter o in the place of a zero: thumbs hit it on a phone's keyboard. ``OL`` and ohms are none."""
PLUS_MINUS = re.compile(r"±|\+/?-")

# Pattern, what is wrong, what would be right (a template of the pattern's groups); the likeliest slip first.
_SLIPS = [
    (re.compile(pattern), message, remedy)
    for pattern, message, remedy in (
        (r"^$", "there is no value", "Write a number with its unit, such as 12.4 V, or OL for over-range"),
        (r"(?![0-9])\d", "has digits other than 0 to 9", "Write the number with the digits 0 to 9"),
        (
            r"^((?:[^,]*[^0-9.,])?[0-9]+),([0-9]+(?![0-9]|\.[0-9])[^,]*)$",
            "has a decimal comma",
            r"Write a decimal point: \1.\2",
        ),
        (r"[0-9],[0-9]", "has commas", "Write a point for the decimal sign, and no thousands marks"),
        (r"[0-9][eE][+-]?[0-9]", "has an exponent", "Write it out or with a prefix, such as 1000 or 1k"),
        (PLUS_MINUS.pattern, "has a tolerance, and one plain value is needed", "Leave the tolerance out"),
        (r"\.\.", "is a range, and one value is needed", "Write the one value that was read or is meant"),
        (
            rf"^({NUMBER}(?:\s*[^0-9\s]+?)??)\s*(?:-|\u2013|\bto\b)\s*([0-9.]+.*)$",
            "is a range without the two dots",
            r"Where a range is meant, write \1..\2",
        ),
        (
            r"^[RrkKM][0-9]+$",
            "starts with a letter, as names of parts do",
            "Write the number first, such as 0R47 or 4k7",
        ),
        (rf"^({NUMBER})\s*K$", "may mean kelvin or kilo", r"Write \1k for kilo, or \1 C for a temperature"),
        (
            rf"^({NUMBER})\s*M([VvAaWw]?)$",
            "may mean milli or mega",
            r"Write \1m\2 for milli, or write it out",
        ),
        (r"\.$", "ends in a point", "Write 1 or 1.0; a meter that shows only '1.' is over-range: write OL"),
        (r"[0-9]\s*[^0-9.\s^]+[^0-9^]*[0-9]", "holds more than one number", "Write one value in each place"),
        (r"^[^0-9]*$", "has no number", "Write a number with its unit, such as 12.4 V, or OL for over-range"),
    )
]


def kind_words(unit: str) -> str:
    """Say what a unit measures, such as ``a voltage (V)``."""
    return f"{KINDS[unit]} ({unit})" if unit else KINDS[unit]


def example(unit: str | None) -> str:
    """Say how a value of this unit is written."""
    if unit == "":
        return "Write just the number"
    return f"Write a number with its unit, such as {'12.4 V' if unit in (None, 'V') else f'5 {unit}'}"


def refuse(text: str, unit: str | None, tail: str = "") -> NoReturn:
    """Refuse a text that is no value, naming the likeliest slip.

    Parameters
    ----------
    text
        As written.
    unit
        The kind that was asked for, or None.
    tail
        What stood in the place of a unit, if a number was found.
    """
    plain = text.translate(SAME_SIGNS).strip()
    if meant := without_letter_o(plain):
        fail(text, "has the letter o where a zero belongs", f"Write {meant}")
    for slip, message, remedy in _SLIPS:
        if match := slip.search(plain):
            fail(text, message, match.expand(remedy))
    if tail:
        fail(text, f"has '{tail}' where a unit belongs", _known_units(unit))
    fail(text, "is not one number with a unit", example(unit))


def without_letter_o(text: str) -> str:
    """A number with the letter o put right; empty where none stands for a zero."""
    meant = LETTER_O.sub(lambda found: "0" * len(found[0]), text)
    return meant.replace(",", ".") if meant != text else ""


def fail(text: str, message: str, remedy: str) -> NoReturn:
    """Raise a `UnitError` that shows the text, shortened where it is long."""
    shown = text if len(text) <= MAX_TEXT else text[: MAX_TEXT - 3] + "..."
    raise UnitError(Problem(field="", value=shown, message=message, remedy=remedy))


def _known_units(unit: str | None) -> str:
    if unit == "":
        return example(unit)
    if unit is None:
        return f"Use one of {', '.join(name for name in KINDS if name)}"
    names = [unit, *(f"{prefix}{unit}" for prefix in PREFIXES.get(unit, "") if prefix in "mkM")]
    return f"Use {' or '.join(names)}"

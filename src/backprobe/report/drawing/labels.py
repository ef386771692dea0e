"""What is written beside a symbol."""

from __future__ import annotations

from backprobe.report.drawing.graph import RELAY_COIL
from backprobe.report.drawing.measure import NAME, SMALL, text_width
from backprobe.sheet.kinds import registry
from backprobe.sheet.model import Part
from backprobe.units import format_quantity

WIDEST = 132.0
"""Longer names and details go on to the next line [drawing units]."""
MAIN_VALUES = ("rating", "amps", "watts", "ohms", "coil", "track", "volts")
"""The value that tells one part from the next, in the order in which it is looked for."""


def wrapped(text: str, size: float, width: float = WIDEST, *, bold: bool = False) -> list[str]:
    """A text in lines of at most `width` [drawing units], broken at blanks and in words that are longer."""
    lines: list[str] = []
    for whole in text.split():
        for word in _pieces(whole, size, width, bold):
            longer = f"{lines[-1]} {word}" if lines else word
            if lines and text_width(longer, size, bold=bold) <= width:
                lines[-1] = longer
            else:
                lines.append(word)
    return lines


def _pieces(word: str, size: float, width: float, bold: bool) -> list[str]:
    count = 1 + int(text_width(word, size, bold=bold) / width)
    step = -(-len(word) // count)
    return [word[i : i + step] for i in range(0, len(word), step)]


def name_lines(part: Part, suspect: int) -> list[str]:
    """The name, unless nobody wrote the part and nothing is said about it."""
    unnamed = part.kind == "wire" and (" to " in part.name or part.name.split()[0] == "wire" == part.name)
    if ((part.implied and part.kind in {"wire", "ring"}) or unnamed) and not suspect:
        return []
    return wrapped(part.name, NAME, bold=True)


def detail_lines(part: Part, terminal: str) -> list[str]:
    """What a mechanic compares with the machine: colour and size, rating, when it is closed."""
    if part.kind == "wire":
        first = " ".join(filter(None, (part.texts.get("colour", ""), _written(part, "length"))))
        return [first, _written(part, "size")]
    words: list[str] = []
    if part.kind in {"switch", "changeover switch"} and part.closed:
        words = [f"closed: {', '.join(f'{c} {_either(on)}' for c, on in part.closed.items())}"]
    elif not (part.kind == "relay" and terminal.rpartition(".")[2] not in RELAY_COIL):
        # The ohms of a relay are its coil's, and stand there.
        words = [_unknown(part) or next(filter(None, (_written(part, name) for name in MAIN_VALUES)), "")]
    return [line for w in words for line in wrapped(w, SMALL)]


def _either(positions: frozenset[str]) -> str:
    return " or ".join(sorted(positions))


def _unknown(part: Part) -> str:
    """``? A`` where the value that a sheet asks for is a default, whatever was worked out from it."""
    for spec in registry().by_name[part.kind].fields:
        value = part.values.get(spec.name)
        if spec.matters and spec.unit and value is not None and value.origin.kind == "default":
            return f"? {'Ω' if spec.unit == 'ohm' else spec.unit}"
    return ""


def _written(part: Part, name: str) -> str:
    """A value that somebody wrote, as text; empty when it is a default."""
    value = part.values.get(name)
    if value is None or value.origin.kind == "default" or value.origin.note == "lit":
        return ""
    return plain_quantity(value.nominal, value.unit)


def plain_quantity(number: float, unit: str) -> str:
    """``2.7 m``, ``0.75 mm²``, ``15 A``: as it is written on a wire, without trailing noughts."""
    head, _, tail = format_quantity(number, unit).partition(" ")
    return f"{head.rstrip('0').rstrip('.') if '.' in head else head} {tail}".strip()

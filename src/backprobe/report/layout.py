"""Lines of plain text: wrapped to a width, with shares and values as the trade writes them."""

from __future__ import annotations

import textwrap
from datetime import datetime, tzinfo
from math import isfinite

from backprobe.units import format_quantity

WIDTH = 80
OVER_RANGE_OHMS = 2e7
"""Above this a handheld shows over-range [ohm]; common practice, no source."""
FIRST = "Local rules, the maker's instructions and licensed trades come first."
"""Said once in every text that tells somebody what to do."""


def wrap(text: str, first: str = "", then: str | None = None) -> list[str]:
    """One paragraph as lines of at most `WIDTH` characters; a longer path or name is not cut.

    Parameters
    ----------
    first
        What the first line begins with.
    then
        What the others begin with; by default blanks as wide as `first`.
    """
    rest = " " * len(first) if then is None else then
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
        break_long_words=False,
    ) or [first.rstrip()]


def percent(share: float) -> str:
    """A probability in percent; never 0 % or 100 % for what is not certain."""
    if not isfinite(share):
        return "unknown"
    if share < 0.005:
        return "below 1 %" if share > 0 else "0 %"
    if share > 0.995:
        return "over 99 %"
    return f"{100 * share:.0f} %"


def volts(value: float) -> str:
    """Volts as a meter left in its volts range shows them; what it cannot show is 0 [V]."""
    if abs(value) < 5e-4:
        return "0 V"
    return f"{value:.2f} V" if 0.1 <= abs(value) < 1 else format_quantity(value, "V")


def quantity(value: float, unit: str, digits: int = 3) -> str:
    """A value with its unit; resistances beyond a meter's range are over-range [unit]."""
    if unit == "V" and (digits == 3 or 0.1 <= abs(value) < 1):
        return volts(value)
    if unit == "ohm" and value > OVER_RANGE_OHMS:
        return "OL"
    return format_quantity(value, unit, digits=digits)


def span(low: float, high: float, unit: str) -> str:
    """An interval, its unit once where both ends share it [unit]."""
    if unit == "V":
        low, high = (0.0 if abs(x) < 5e-4 else x for x in (low, high))
    ends = [quantity(x, unit, _digits(low, high)) for x in (low, high)]
    if ends[0] == ends[1]:
        return ends[0]
    (one, _, unit_one), (other, _, unit_other) = (e.partition(" ") for e in ends)
    if unit_one == unit_other or (one == "0" and unit_other):
        return f"{one} to {other} {unit_other}".rstrip()
    return f"{ends[0]} to {ends[1]}"


def _digits(low: float, high: float) -> int:
    """Two digits, or three where two would print both ends alike."""
    close = high > 0 and abs(high - low) < 0.1 * abs(high)
    return 3 if close else 2


def clock(at: datetime, zone: tzinfo | None = None) -> str:
    """A time as the clock of this machine shows it, with its zone.

    Parameters
    ----------
    zone
        Another zone than this machine's.
    """
    return at.astimezone(zone).strftime("%Y-%m-%d %H:%M %Z").strip()


def minutes(value: float) -> str:
    """Minutes, rounded as one would say them: nobody knows them to the half minute [min]."""
    if value < 1:
        return "1 min"
    return f"{5 * round(value / 5):.0f} min" if value >= 12.5 else f"{value:.0f} min"


def listed(words: list[str] | tuple[str, ...], joiner: str = "and") -> str:
    """``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joiner} {words[-1]}"


def count(number: int, one: str, many: str = "") -> str:
    """``1 part``, ``3 parts``."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def joined(*blocks: list[str]) -> str:
    """Blocks of lines with an empty line between them; empty blocks are left out."""
    return "\n\n".join("\n".join(block) for block in blocks if block)

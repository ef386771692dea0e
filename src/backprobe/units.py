"""The one place that reads and prints engineering values in field notation.

A mechanic writes ``4.7k``, ``84R``, ``12,4`` or ``about 6 V``; general unit libraries read some of these as
something else without a word. Here every text is either read as the trade reads it, or refused with a remedy.

Upper and lower case matter where a prefix is meant: ``1M`` is a million, ``1m`` a thousandth (or a metre).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from backprobe.errors import UnitError
from backprobe.unit_slips import MAX_TEXT, NUMBER, PLUS_MINUS, example, fail, kind_words, refuse
from backprobe.unit_tables import (
    EXPONENTS,
    KINDS,
    PREFIX_LETTERS,
    SAME_SIGNS,
    SHOWN_PREFIXES,
    SYMBOLS,
    TIMES,
    UNITS,
)

_ABOUT = r"~|(?:about|approximately|approx\.?|around|roughly|circa|ca\.?)(?=[\s0-9.+-])"
_VALUE = re.compile(rf"({_ABOUT})?\s*({NUMBER})(\s*)([^\s0-9.,+-].*)?", re.IGNORECASE)
_CODE = re.compile(r"([RrkKM])([0-9]+)")  # the tail of 4k7: the letter stands for the decimal point
_OVER = re.compile(
    r"(?:[O0]\.?L\.?|over[- ]?range|over[- ]?limit|open[- ](?:line|loop))(\s*)([^\s.].*)?", re.IGNORECASE
)
_RANGE = re.compile(r"(.*[^.\s])\s*\.\.\s*([^\s.].*)")


@dataclass(frozen=True, slots=True)
class Quantity:
    """One value as somebody wrote it, with the width that the writing implies.

    Parameters
    ----------
    value
        The value [`unit`]; infinite when over-range. A percentage is kept in percent.
    unit
        One of ``V ohm A W m mm2 degC s % Hz min``, or empty when none was given or asked for.
    half_width
        Half the interval that the digits (or *about*) leave open [`unit`]: 0.05 for ``12.4``.
    digit
        One unit of the last written digit [`unit`]: 0.1 for ``12.4 V``, 0.001 for ``20 mV``.
    about
        Whether the writer called it a rough value.
    over_range
        Whether the meter showed that its range was exceeded.
    """

    value: float
    unit: str
    half_width: float
    digit: float
    about: bool
    over_range: bool


@dataclass(frozen=True, slots=True)
class Toleranced:
    """A nominal value with the limits that were written beside it.

    Parameters
    ----------
    value
        The nominal value, or the middle of a range [`unit`].
    unit
        As in `Quantity`.
    low, high
        The limits [`unit`]; both equal `value` when no tolerance was written.
    digit
        One unit of the last written digit [`unit`], the finer one of a range.
    given
        Whether a tolerance, a range or *about* was written.
    """

    value: float
    unit: str
    low: float
    high: float
    digit: float
    given: bool


def parse_quantity(text: str, *, unit: str | None = None, decimal_comma: bool = False) -> Quantity:
    """Read one value.

    Parameters
    ----------
    text
        Such as ``12.4 V``, ``4.7k``, ``4k7``, ``84R``, ``about 6 V``, ``20 mV``, ``OL``. Case matters in
        prefixes: ``1 Mohm`` is mega, ``1 mohm`` milli. A bare ``5m`` (no space) is milli only where volts,
        amperes, watts or ohms are asked for; elsewhere it is five metres.
    unit
        The kind that is asked for; a bare number takes it. ``None`` takes any kind.
    decimal_comma
        Read ``4,7`` as 4.7; for forms in languages that write so, never for sheets.

    Returns
    -------
    Quantity
        The value in base units (minutes stay minutes unless seconds are asked for).

    Raises
    ------
    UnitError
        For every text that is not surely one value of that kind.
    """
    if unit is not None and unit not in KINDS:
        raise ValueError(f"'{unit}' is no unit of this program")
    plain = _plain(text)
    if decimal_comma and plain.count(",") == 1 and "." not in plain:
        plain = plain.replace(",", ".")
    if over := _OVER.fullmatch(plain):
        gap, tail = over.groups()
        kind, _ = _resolve(tail, bool(gap), unit, text)
        return Quantity(math.inf, kind if unit is None else unit, 0.0, 0.0, about=False, over_range=True)
    match = _VALUE.fullmatch(plain)
    if match is None:
        refuse(text, unit)
    rough, number, gap, tail = match.groups()
    if tail is not None and (code := _CODE.fullmatch(tail)) and not gap and number.isdigit():
        number, tail = f"{number}.{code[2]}", code[1].replace("R", "").replace("r", "") + "ohm"
    kind, exponent = _resolve(tail, bool(gap), unit, text)
    # Text to float in one step: correctly rounded, 4.7k is exactly 4700.
    value = float(f"{number}e{exponent}")
    digit = float(f"1e{exponent - len(number.partition('.')[2])}")
    if unit is not None and kind != unit:
        value, digit, kind = value * TIMES[kind, unit], digit * TIMES[kind, unit], unit
    half_width = max(digit, abs(value) / 10) if rough else digit / 2
    return Quantity(value, kind, half_width, digit, about=rough is not None, over_range=False)


def parse_toleranced(text: str, *, unit: str | None = None) -> Toleranced:
    """Read a nominal value with its tolerance, or a range.

    Parameters
    ----------
    text
        Such as ``9.0 V +-2 %``, ``9 V ± 0.2 V``, ``4.5..12 V``, ``about 6 V`` or a bare ``12 V``. Percent is
        of the value; beside a percentage it is percentage points (``63 % ± 2 %`` is 61 to 65).
    unit
        The kind that is asked for; ``None`` takes any kind.

    Returns
    -------
    Toleranced
        A range has its middle as the value. Without a tolerance both limits equal the value.

    Raises
    ------
    UnitError
        For a range or tolerance that cannot be read surely, such as one with a hyphen.
    """
    plain = _plain(text)
    if ".." in plain:
        return _parse_range(text, plain, unit)
    nominal, *rest = PLUS_MINUS.split(plain)
    if rest:
        return _parse_plus_minus(text, nominal, rest, unit)
    got = parse_quantity(text, unit=unit)
    if got.over_range:
        fail(text, "is an over-range mark, not a value", "Write a number, or a range such as 2.8..3.2 ohm")
    width = got.half_width if got.about else 0.0
    return Toleranced(got.value, got.unit, got.value - width, got.value + width, got.digit, got.about)


def parse_range(text: str, *, unit: str | None = None) -> tuple[float, float]:
    """Read a range such as ``0.6..3.1 V`` or ``-30..50 C``, or a value with its tolerance.

    Parameters
    ----------
    text
        The range; a unit written at one end counts for both.
    unit
        The kind that is asked for; ``None`` takes any kind.

    Returns
    -------
    tuple of float
        Low and high limit, in base units.

    Raises
    ------
    UnitError
        For a single value, for ends out of order and for all that `parse_toleranced` refuses.
    """
    got = parse_toleranced(text, unit=unit)
    if not got.given or got.low == got.high:
        fail(text, "is a single value, and a range is needed", "Write both ends, such as 0.6..3.1 V")
    return got.low, got.high


def figures(value: float, digits: int = 3) -> str:
    """A plain number to so many significant digits, never with an exponent: ``7200``, ``0.15``."""
    if not math.isfinite(value):
        return f"{value:g}"
    rounded = float(f"{value:.{digits - 1}e}")
    places = digits - 1 - math.floor(math.log10(abs(rounded))) if rounded else 0
    text = f"{rounded:.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def format_quantity(value: float, unit: str, *, digits: int = 3) -> str:
    """Print a value as the trade writes it, never with an exponent.

    Parameters
    ----------
    value
        The value [`unit`]; infinity prints as ``OL``. Less than 1e-9 prints as 0.
    unit
        A unit of `Quantity`; lengths, wire sizes, temperatures, percentages and minutes take no prefix.
    digits
        Significant digits, 1 or more.

    Returns
    -------
    str
        Such as ``4.70 kΩ``, ``12.9 V``, ``20.0 mV``; `parse_quantity` reads it back.
    """
    if unit not in KINDS:
        raise ValueError(f"'{unit}' is no unit of this program")
    if math.isnan(value):
        return "unknown"
    if math.isinf(value):
        return "OL" if value > 0 else "-OL"
    symbol = SYMBOLS.get(unit, unit)
    if abs(value) < 1e-9:
        return f"0 {symbol}".rstrip()
    mantissa, _, power = f"{value:.{digits - 1}e}".partition("e")
    least, most = SHOWN_PREFIXES.get(unit, (0, 0))
    prefix = min(max(int(power) // 3 * 3, least), most)
    shift = int(power) - prefix
    number = f"{float(f'{mantissa}e{shift}'):.{max(digits - 1 - shift, 0)}f}"
    return f"{number} {PREFIX_LETTERS[prefix]}{symbol}".rstrip()


def _parse_range(text: str, plain: str, unit: str | None) -> Toleranced:
    ends = _RANGE.fullmatch(plain)
    if ends is None or plain.count("..") > 1:
        fail(text, "is not a range from low to high", "Write two dots between two values, such as 4.5..12 V")
    first, second = _share_unit(text, ends[1], ends[2])
    low, high = _part(text, first, unit), _part(text, second, unit)
    if low.unit != high.unit:
        fail(text, "has two different units", "Give both ends in one unit, such as 4.5..12 V")
    if low.value >= high.value:
        fail(text, "does not run from low to high", "Write the smaller value first, each with its own unit")
    middle = (low.value + high.value) / 2
    return Toleranced(middle, low.unit, low.value, high.value, min(low.digit, high.digit), given=True)


def _parse_plus_minus(text: str, nominal: str, rest: list[str], unit: str | None) -> Toleranced:
    width_text = rest[0].strip()
    if len(rest) > 1 or width_text[:1] in ("-", "+", ""):
        fail(text, "is not a value with one tolerance", "Write it as 9.0 V +-2 % or as 4.5..12 V")
    relative = width_text.endswith("%")
    if not relative:
        nominal, width_text = _share_unit(text, nominal.strip(), width_text, scaled=False)
    value = _part(text, nominal.strip(), unit)
    if relative and value.unit != "%":
        percent = _part(text, width_text, "%").value
        if percent > 100:
            fail(text, "has a tolerance above 100 %", "Write a range such as 0..12 V")
        width = abs(value.value) * percent / 100
    else:
        width = _part(text, width_text, value.unit).value
    return Toleranced(
        value.value, value.unit, value.value - width, value.value + width, value.digit, given=True
    )


def _share_unit(text: str, first: str, second: str, *, scaled: bool = True) -> tuple[str, str]:
    """Give a bare end the unit of the other; a tolerance must not lend the value its prefix."""
    ends = [_VALUE.fullmatch(first), _VALUE.fullmatch(second)]
    if ends[0] is None or ends[1] is None or (ends[0][4] is None) == (ends[1][4] is None):
        return first, second
    tail = ends[0][4] or ends[1][4]
    if _CODE.fullmatch(tail) or (ends[0][4] is None and not scaled and UNITS.get(tail, ("", 1))[1]):
        fail(text, "leaves open which unit the bare number has", "Write the unit after both numbers")
    return (f"{first} {tail}", second) if ends[0][4] is None else (first, f"{second} {tail}")


def _part(text: str, part: str, unit: str | None) -> Quantity:
    """Read one end or tolerance; a refusal shows the whole text."""
    try:
        got = parse_quantity(part, unit=unit)
    except UnitError as error:
        problem = error.problems[0]
        fail(text, f"holds '{part}', which {problem.message}", problem.remedy)
    if got.about or got.over_range:
        fail(text, "mixes a rough or over-range value with limits", "Write plain numbers for the limits")
    return got


def _plain(text: str) -> str:
    """Fold the several code points of one sign into one."""
    if len(text) > MAX_TEXT:
        fail(text, f"is longer than {MAX_TEXT} characters", "Write one value with its unit, such as 12.4 V")
    return text.translate(SAME_SIGNS).strip()


def _resolve(tail: str | None, gap: bool, unit: str | None, text: str) -> tuple[str, int]:
    """Find the kind and the power of ten of what stands after the number."""
    if tail is None:
        return unit or "", 0
    joined = tail if tail.isalpha() else "".join(tail.split())
    found = UNITS.get(joined)
    if found and (unit is None or found[0] == unit or (found[0], unit) in TIMES):
        return found
    # A multiplier on its own. 'm' is milli only when nothing else fits: no space, and no length or time.
    if joined in EXPONENTS and joined != "K":
        if not unit and joined != "m":
            return "", EXPONENTS[joined]
        scaled = UNITS.get(f"{joined}{unit}")
        if scaled and not (joined == "m" and (gap or unit == "s")):
            return scaled
    if found and unit is not None:
        fail(text, f"is {kind_words(found[0])}, and {kind_words(unit)} is needed", example(unit))
    refuse(text, unit, joined)

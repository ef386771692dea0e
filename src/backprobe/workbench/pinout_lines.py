"""Readings on unlabelled pins as they are typed: ``A open 8.02 V``, ``B with 1k to ground 0.74 V``.

The grammar, one reading a line, ``#`` begins a remark::

    PIN open VOLTS                      the plug off, nothing on the pin but the meter
    PIN with OHMS to ground VOLTS       the known resistor from the pin to chassis
    PIN with OHMS to PIN VOLTS          the known resistor between two pins, volts still to chassis
    PIN to PIN VOLTS                    the meter between two pins
    PIN to ground OHMS                  key off

Black is on battery negative unless another pin is named. A word may follow a voltage: ``releases``,
``held`` or ``code``, what the machine did then.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isfinite

from backprobe.errors import Problem, ReadingError, UnitError
from backprobe.units import parse_quantity

GROUND = "ground"
SEEN = ("releases", "held", "code")
EXAMPLE = "Write such as: A open 8.02 V; B with 1k to ground 0.74 V; A to B 7.98 V; C to ground 0.4 ohm."
_GROUNDS = frozenset({"ground", "gnd", "frame", "chassis", "earth", "battery-"})
_LINE = re.compile(
    r"(?P<pin>[\w+-]+)\s+"
    r"(?:(?P<open>open)\s+|with\s+(?P<load>.+?)\s+to\s+(?P<far>[\w+-]+)\s+|to\s+(?P<other>[\w+-]+)\s+)"
    r"(?P<value>.+?)(?:,?\s+(?P<seen>releases|held|code))?",
    re.IGNORECASE,
)
DEFAULT_PINS = ("A", "B", "C")


@dataclass(frozen=True, slots=True)
class PinReading:
    """One reading on pins.

    Parameters
    ----------
    red, black
        Pins; black may be ``ground``.
    load, far
        The known resistor on the red pin [ohm], infinite for none, and where its other end is.
    value, unit, digit
        What the meter shows, ``V`` or ``ohm``, and one unit of its last digit.
    seen
        What the machine did: one of `SEEN`, or empty.
    """

    red: str
    black: str
    load: float
    far: str
    value: float
    unit: str
    digit: float
    seen: str = ""
    text: str = ""


def parse_pin_lines(
    text: str, pins: Sequence[str] = (), file: str = ""
) -> tuple[tuple[PinReading, ...], tuple[str, str, str]]:
    """Readings, and the names of the three pins.

    Parameters
    ----------
    pins
        The names, where the readings do not mention all three.

    Raises
    ------
    ReadingError
        With every line that cannot be understood, or for more than three pins.
    """
    found: list[PinReading] = []
    problems: list[Problem] = []
    for number, raw in enumerate(text.replace(";", "\n").splitlines(), 1):
        line = raw.partition("#")[0].strip()
        if line:
            try:
                found.append(_reading(line))
            except ReadingError as error:
                first = error.problems[0]
                problems.append(Problem("reading", first.value, first.message, first.remedy, file, number))
    if problems:
        raise ReadingError(*problems)
    return tuple(found), _three(found, pins)


def _reading(line: str) -> PinReading:
    match = _LINE.fullmatch(line)
    if match is None:
        raise ReadingError(Problem("reading", line, "is not a reading on a pin", EXAMPLE))
    red, black = match["pin"].upper(), _end(match["other"] or GROUND)
    far = _end(match["far"]) if match["far"] else GROUND
    try:
        load = parse_quantity(match["load"], unit="ohm").value if match["load"] else inf
        shown = parse_quantity(match["value"].strip())
    except UnitError as error:
        first = error.problems[0]
        raise ReadingError(Problem("reading", line, f"has no value: {first.message}", EXAMPLE)) from None
    if shown.unit not in {"V", "ohm"}:
        raise ReadingError(Problem("reading", line, "is neither volts nor ohms", EXAMPLE))
    if red in {far, black} or not load > 0:
        raise ReadingError(Problem("reading", line, "joins a pin to itself or by nothing", EXAMPLE))
    if red.lower() in _GROUNDS:
        raise ReadingError(
            Problem("reading", line, "begins with the ground", "Begin with the pin: red is on it.")
        )
    if shown.unit == "V" and not (isfinite(shown.value) and abs(shown.value) <= 60):
        raise ReadingError(Problem("reading", line, "is out of scope", "Volts of a machine are up to 60 V."))
    if shown.unit == "ohm" and (black != GROUND or isfinite(load) or match["open"] or match["seen"]):
        raise ReadingError(
            Problem("reading", line, "gives ohms with something on", "Write: C to ground 0.4 ohm.")
        )
    if shown.unit == "ohm" and shown.value < 0:
        raise ReadingError(Problem("reading", line, "is below 0 ohm", "Take it again with the key off."))
    return PinReading(
        red, black, load, far, shown.value, shown.unit, shown.digit, (match["seen"] or "").lower(), line
    )


def _end(word: str) -> str:
    return GROUND if word.lower() in _GROUNDS else word.upper()


def _three(found: Sequence[PinReading], pins: Sequence[str]) -> tuple[str, str, str]:
    named = dict.fromkeys(p.strip().upper() for p in pins if p.strip())
    met = dict.fromkeys(p for r in found for p in (r.red, r.black, r.far) if p != GROUND)
    every = list(dict.fromkeys([*named, *met]))
    if not named and len(every) < 3:
        others = DEFAULT_PINS if not met or set(met) & set(DEFAULT_PINS) else ("1", "2", "3")
        every = list(dict.fromkeys([*every, *others]))[:3] if set(met) <= set(others) else every
        every += [p for p in others if p not in every][: 3 - len(every)]
    if len(every) != 3:
        shown = ", ".join(every)
        raise ReadingError(Problem("pins", shown, "are not three pins", "Name them: --pins A,B,C."))
    one, two, three = sorted(every)
    return one, two, three

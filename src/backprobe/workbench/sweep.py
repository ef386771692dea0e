"""A sweep: volts put on a controller input, and what the controller made of each.

Typed as ``4.2 V: off``, ``4.6 up: on``, or a table with the columns volts, answer and, where known,
direction (up or down, the way the volts came) and count.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import NoReturn

from backprobe.errors import Problem, ReadingError, UnitError
from backprobe.units import Quantity, parse_quantity

MOST_VOLTS = 60.0
"""Above this a circuit is out of scope [V]."""
WAYS = {"up": "up", "rising": "up", "down": "down", "falling": "down", "": ""}
COLUMNS = {
    "volts": {"volts", "volt", "v", "voltage", "u"},
    "answer": {"answer", "state", "reads", "means", "meaning", "shows", "band"},
    "direction": {"direction", "way", "sweep"},
    "count": {"count", "n", "times"},
}
"""How a column may be headed."""
LINE = re.compile(r"(?P<volts>[^:]*?)(?:[\s,]+(?P<way>up|down|rising|falling))?\s*:\s*(?P<answer>.+)", re.I)
EXAMPLE = "Write such as 4.2 V: off, or 4.2 V down: on"


@dataclass(frozen=True, slots=True)
class SweepReading:
    """One answer of the controller.

    Parameters
    ----------
    volts
        What the meter showed at the input [V].
    answer
        What the controller took it for: ``on``, ``off``, ``code low`` ...
    way
        ``up`` or ``down``, as the volts came; empty when not said.
    digit
        One unit of the meter's last digit [V].
    count
        How often it came.
    """

    volts: float
    answer: str
    way: str = ""
    digit: float = 0.01
    count: int = 1


def parse_sweep(text: str | Iterable[str], *, file: str = "") -> tuple[SweepReading, ...]:
    """Read a sweep in the order it was made: typed lines, or a table with comma, semicolon or tab.

    With semicolons a decimal comma is understood. ``#`` starts a comment.

    Raises
    ------
    ReadingError
        With the problems of all lines.
    """
    raw = text.splitlines() if isinstance(text, str) else list(text)
    lines = [(i, s) for i, line in enumerate(raw, 1) if (s := line.split("#", 1)[0].strip())]
    if not lines:
        raise ReadingError(Problem("sweep", "", "holds no answer", EXAMPLE + ".", file))
    delimiter = next((d for d in ";\t," if d in lines[0][1]), "")
    table = bool(delimiter) and LINE.fullmatch(lines[0][1]) is None
    return _table(lines, delimiter, file) if table else _typed(lines, file)


def _typed(lines: list[tuple[int, str]], file: str) -> tuple[SweepReading, ...]:
    found: list[SweepReading] = []
    problems: list[Problem] = []
    for number, line in lines:
        match = LINE.fullmatch(line)
        if match is None:
            problems.append(
                Problem("sweep", line[:60], "does not say volts and answer", EXAMPLE + ".", file, number)
            )
            continue
        try:
            found.append(_reading(match["volts"], match["answer"], match["way"] or "", "1", False))
        except ReadingError as error:
            problems += [_placed(p, file, number) for p in error.problems]
    if problems:
        raise ReadingError(*problems)
    return tuple(found)


def _table(lines: list[tuple[int, str]], delimiter: str, file: str) -> tuple[SweepReading, ...]:
    columns, start = _columns(lines[0][1], delimiter, file, lines[0][0])
    found: list[SweepReading] = []
    problems: list[Problem] = []
    rows = csv.reader((line for _, line in lines[start:]), delimiter=delimiter, skipinitialspace=True)
    for (number, line), row in zip(lines[start:], rows, strict=True):
        cells = {name: row[at].strip() if at < len(row) else "" for name, at in columns.items()}
        if not (cells["volts"] and cells["answer"]):
            lacks = "volts" if not cells["volts"] else "answer"
            problems.append(Problem(lacks, line[:60], "is missing in this row", "Fill it in.", file, number))
            continue
        try:
            way, count = cells.get("direction", ""), cells.get("count", "") or "1"
            found.append(_reading(cells["volts"], cells["answer"], way, count, delimiter == ";"))
        except ReadingError as error:
            problems += [_placed(p, file, number) for p in error.problems]
    if problems:
        raise ReadingError(*problems[:20])
    if not found:
        raise ReadingError(Problem("sweep", "", "has a heading and no row", EXAMPLE + ".", file))
    return tuple(found)


def _columns(line: str, delimiter: str, file: str, number: int) -> tuple[dict[str, int], int]:
    """Where each column stands, and in which line the rows begin."""
    names = [re.sub(r"[\[(/].*", "", w).strip().lower() for w in line.split(delimiter)]
    columns = {
        column: i for i, name in enumerate(names) for column, words in COLUMNS.items() if name in words
    }
    if not columns:
        # No heading: volts, answer, direction, count in this order.
        return dict(zip(("volts", "answer", "direction", "count"), range(len(names)), strict=False)), 0
    for needed in ("volts", "answer"):
        if needed not in columns:
            message = f"has no column for the {needed}"
            raise ReadingError(Problem("heading", line[:60], message, "Head it: volts,answer.", file, number))
    unit = re.search(r"[\[(/]\s*(\w+)", line.split(delimiter)[columns["volts"]])
    if unit and unit[1].lower() not in {"v", "volt", "volts"}:
        raise ReadingError(Problem("volts", unit[1], "is not V", "Give the volts in V.", file, number))
    return columns, 1


def _reading(volts: str, answer: str, way: str, count: str, comma: bool) -> SweepReading:
    got = _quantity(volts, comma)
    if not -MOST_VOLTS <= got.value <= MOST_VOLTS:
        message = "is no low-voltage machine: above 60 V is out of scope"
        _refuse("volts", volts, message, "Leave such circuits to licensed trades.")
    if way.strip().lower() not in WAYS:
        _refuse("direction", way, "is neither up nor down", "Write up or down, or leave it out.")
    if not count.isdigit() or not 1 <= int(count) <= 1_000_000:
        _refuse("count", count, "is no count", "Write how often this answer came, such as 3.")
    return SweepReading(got.value, " ".join(answer.split()), WAYS[way.strip().lower()], got.digit, int(count))


@lru_cache(maxsize=4096)
def _quantity(text: str, comma: bool) -> Quantity:
    try:
        got = parse_quantity(text, unit="V", decimal_comma=comma)
    except UnitError as error:
        first = error.problems[0]
        raise ReadingError(Problem("volts", text[:60], first.message, first.remedy)) from None
    if got.over_range:
        _refuse("volts", text, "is over-range", "Give the volts at the input.")
    return got


def _placed(problem: Problem, file: str, line: int) -> Problem:
    return Problem(problem.field, problem.value, problem.message, problem.remedy, file, line)


def _refuse(field: str, value: str, message: str, remedy: str) -> NoReturn:
    raise ReadingError(Problem(field, value[:60], message, remedy))

"""What is shown on a drawing besides the circuit: suspects, volts, leads and pulled plugs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from backprobe.errors import Problem, ReadingError
from backprobe.readings.points import find_part, find_point, points_to_offer
from backprobe.sheet.findings import nearest
from backprobe.sheet.model import Sheet


@dataclass(frozen=True, slots=True)
class Marks:
    """What is shown, by part and by terminal.

    Parameters
    ----------
    suspects
        Part to its number, 1 for the first.
    volts
        Terminal to the text beside it.
    tips
        Terminal to the letters of the leads that touch it.
    unplugged
        Connectors that are pulled.
    """

    suspects: Mapping[str, int] = field(default_factory=dict)
    volts: Mapping[str, str] = field(default_factory=dict)
    tips: Mapping[str, str] = field(default_factory=dict)
    unplugged: frozenset[str] = frozenset()


def read_marks(
    sheet: Sheet,
    suspects: Sequence[str],
    volts: Mapping[str, str],
    leads: tuple[str, str] | None,
    unplugged: Iterable[str],
) -> Marks:
    """Look up every name.

    Raises
    ------
    ReadingError
        When a suspect is no part of the sheet, or a point is none.
    """
    problems: list[Problem] = []
    off = frozenset(unplugged)
    for plug in sorted(off - set(sheet.connectors)):
        problems.append(
            Problem("unplugged", plug, "is no plug of this sheet", nearest(plug, sheet.connectors))
        )
    numbers: dict[str, int] = {}
    for number, text in enumerate(suspects, 1):
        found = _parts_called(text, sheet)
        if not found:
            problems.append(Problem("suspects", text, "is no part of this sheet", nearest(text, sheet.parts)))
        for part in found:
            numbers.setdefault(part, number)
    shown: dict[str, str] = {}
    tips: dict[str, str] = {}
    for red_black, name in zip("RB", leads or (), strict=False):
        terminal = _terminal(name, "leads", sheet, off, problems)
        tips[terminal] = tips.get(terminal, "") + red_black
    for name, text in volts.items():
        shown[_terminal(name, "volts", sheet, off, problems)] = text
    if problems:
        raise ReadingError(*problems)
    return Marks(numbers, shown, tips, off)


def _parts_called(text: str, sheet: Sheet) -> tuple[str, ...]:
    name = text.partition(":")[0].strip()
    if name in sheet.connectors:
        return sheet.connectors[name].cavities
    part = find_part(name, sheet)
    return (part,) if part else ()


def _terminal(name: str, what: str, sheet: Sheet, off: frozenset[str], problems: list[Problem]) -> str:
    point = find_point(name, sheet, off)
    if point is None:
        problems.append(Problem(what, name, "is no point of this sheet", points_to_offer(name, sheet)))
        return ""
    return point.terminal

"""What a reading line names, looked up in its sheet; what is not found is refused with what to write."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from backprobe.circuit.setup import Attachment
from backprobe.errors import Problem, ReadingError, UnitError
from backprobe.readings.points import Point, find_part, find_point, points_to_offer
from backprobe.sheet.findings import nearest
from backprobe.sheet.model import Sheet
from backprobe.units import Quantity, Toleranced, parse_quantity, parse_toleranced

FUSES = frozenset({"fuse", "fusible link", "circuit breaker"})
LAMPS = frozenset({"lamp", "LED indicator"})


@dataclass(slots=True)
class Parsed:
    """Conditions gathered from a line and its context.

    Parameters
    ----------
    leads
        What the meter showed with its leads together [ohm]; None while nobody looked.
    zeroed
        Whether the number as written has the leads taken off already.
    ends
        Between what the number moved, where that was said after it [V, ohm or A].
    """

    state: dict[str, str] = field(default_factory=dict)
    unplugged: set[str] = field(default_factory=set)
    plugs_known: bool = False
    attached: list[Attachment] = field(default_factory=list)
    leads: float | None = None
    zeroed: bool = False
    ends: tuple[float, float] | None = None


class LineNames:
    """One line of a sheet's readings, and the names that it may use."""

    def __init__(self, text: str, sheet: Sheet, file: str, line: int) -> None:
        self.text = " ".join(text.split())
        self.sheet = sheet
        self.file = file
        self.line = line

    def problem(self, field_name: str, value: str, message: str, remedy: str) -> Problem:
        """A problem placed on this line."""
        return Problem(field_name, value[:80], message, remedy, self.file, self.line)

    def fail(self, field_name: str, value: str, message: str, remedy: str) -> ReadingError:
        """An error with one problem placed on this line."""
        return ReadingError(self.problem(field_name, value, message, remedy))

    def value(self, text: str, unit: str | None = None, field_name: str = "value") -> Quantity:
        """A number with its unit; raises ReadingError."""
        try:
            return parse_quantity(text, unit=unit)
        except UnitError as error:
            raise self.placed(error, field_name) from error

    def ends(self, text: str) -> Toleranced:
        """A range such as ``50..95 mV`` between whose ends a number moved; raises ReadingError."""
        try:
            return parse_toleranced(text)
        except UnitError as error:
            raise self.placed(error) from error

    def placed(self, error: UnitError, field_name: str = "value") -> ReadingError:
        """What is wrong with a number, placed on this line."""
        return ReadingError(
            *(replace(p, field=field_name, file=self.file, line=self.line) for p in error.problems)
        )

    def point(self, text: str, found: Parsed) -> Point:
        """A point that a lead can touch; raises ReadingError."""
        point = find_point(text, self.sheet, found.unplugged)
        if point is None:
            raise self.fail(
                "point", text.strip(), "is not a point of this sheet", points_to_offer(text, self.sheet)
            )
        return point

    def part(self, text: str, kind: str = "") -> str:
        """The name of a part, of one kind where given; raises ReadingError."""
        part = find_part(text.strip(), self.sheet)
        if part is None or (kind and self.sheet.parts[part].kind != kind):
            known = [p.name for p in self.sheet.parts.values() if not kind or p.kind == kind]
            raise self.fail("part", text, f"is not a {kind or 'part'} of this sheet", nearest(text, known))
        return part

    def is_fuse(self, text: str) -> bool:
        """Whether a name is that of a fuse, a fusible link or a circuit breaker of the sheet."""
        part = find_part(text.strip(), self.sheet)
        return part is not None and self.sheet.parts[part].kind in FUSES

    def is_lamp(self, text: str) -> bool:
        """Whether a name is that of a lamp, in a run or lit by a controller."""
        part = find_part(text.strip(), self.sheet)
        known = part is not None and self.sheet.parts[part].kind in LAMPS
        return known or text.strip().lower() in {n.lower() for n in self.sheet.lamps}

    def lamp(self, text: str) -> str:
        """A lamp of the controller or a lamp in a run; raises ReadingError."""
        for name in self.sheet.lamps:
            if name.lower() == text.strip().lower():
                return name
        part = find_part(text.strip(), self.sheet)
        if part and self.sheet.parts[part].kind in LAMPS:
            return part
        return self.part(text, "lamp")

    def function(self, text: str) -> str:
        """A function, by its name or by a load that it ends in; raises ReadingError."""
        wanted = text.strip().lower()
        for name in self.sheet.functions:
            if name.lower() == wanted or name.lower().split()[-1] == wanted:
                return name
        part = find_part(text, self.sheet)
        for function in self.sheet.functions.values():
            if part in function.loads:
                return function.name
        raise self.fail(
            "function", text, "is not a function of this sheet", nearest(text, self.sheet.functions)
        )

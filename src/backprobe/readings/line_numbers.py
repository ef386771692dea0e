"""Numbers of a reading line: volts and ohms between two leads, amps in place of a fuse, the leads alone."""

from __future__ import annotations

import re

from backprobe.circuit.setup import AMMETER_OHMS, Attachment, Setup
from backprobe.errors import UnitError
from backprobe.readings.line_names import LineNames, Parsed
from backprobe.readings.model import Reading
from backprobe.readings.points import passage
from backprobe.readings.spoken import two_leads
from backprobe.sheet.findings import nearest
from backprobe.units import Quantity, parse_quantity

UNSTEADY = re.compile(r"\b(unsteady|jumping|jumps about|flickers|comes and goes)$", re.I)
MOVES = r"(?:moving|moves|jumps|jumping|varies|swings|between|from)"
MOVING = re.compile(
    rf"^(.*?)[\s:]*\b{MOVES}\s+(?:from\s+|between\s+)?([-+]?\.?\d[^:]*?)\s*(?:\.\.|\bto\b|\band\b)\s*"
    r"([-+]?\.?\d[^:]*)$",
    re.I,
)
RANGE = re.compile(r"(?<![\w.-])[-+]?\.?\d[\d.]*?\s*[^\W\d]*\s*\.\.\s*[-+]?\.?\d[^:]*$")
TOGETHER = re.compile(
    r"^(?:the\s+|meter\s+)?leads\s+(?:held\s+)?(?:together|touching|shorted)[\s:]*(.+)$", re.I
)
KINDS = {"V": "volts", "ohm": "ohms"}


class LineNumbers(LineNames):
    """Reads what a meter showed."""

    def leads_alone(self, segment: str) -> Reading | None:
        """``leads together: 0.4 ohm``: what the ohms readings that follow have too much."""
        match = TOGETHER.match(segment)
        if match is None:
            return None
        quantity = self.value(match[1], "ohm", "leads")
        if quantity.over_range:
            remedy = "A lead or its fuse is open: mend that, then read on."
            raise self.fail("leads", segment, "shows leads that do not conduct", remedy)
        return Reading(
            "leads",
            Setup(()),
            value=quantity.value,
            half_width=quantity.half_width,
            digit=quantity.digit,
            subject="leads",
            seen="together",
        )

    def number(self, segment: str, found: Parsed) -> Reading | None:
        """A number between two leads or in place of a fuse; None where there is no number."""
        place, quantity, ends = self._split(segment)
        if place is None:
            return None
        if place.lower().startswith(("amps at ", "current at ")):
            return self._amps(place.partition(" at ")[2], quantity, found)
        if place.lower().startswith(("across ", "drop across ")):
            part = self.part(place.partition("across ")[2])
            item = passage(part, self.sheet)
            if item is None:
                raise self.fail("red", part, "has no two ends", "Name two points: `A to B`.")
            points = (item.enter, item.leave, f"before {part}", f"after {part}")
            return self._between(points, quantity, ends)
        red_text, to, black_text = re.sub(r"\s+(?:to|against)\s+", "\0", place, count=1).partition("\0")
        red = self.point(red_text, found)
        if not to:
            shown = segment[len(place) :].strip(" :") or "..."
            remedy = f"Write `{two_leads(red_text)}: {shown}`, or where it really was."
            raise self.fail("black", segment, "does not say where the black lead was", remedy)
        black = self.point(black_text, found)
        return self._between((red.terminal, black.terminal, red.name, black.name), quantity, ends)

    def _split(self, segment: str) -> tuple[str | None, Quantity | None, tuple[float, float]]:
        """The place, the number (None for unsteady), and the ends between which it moved."""
        still = (0.0, 0.0)
        if unsteady := UNSTEADY.search(segment):
            return segment[: unsteady.start()].rstrip(" :"), None, still
        if moving := MOVING.match(segment):
            ends, middle = self._range(f"{moving[2]}..{moving[3]}")
            place, quantity, _ = self._split(moving[1]) if moving[1] else (None, None, still)
            # A value said before its ends is the one most seen; else the middle of the ends is taken.
            return (place, quantity, ends) if quantity else (moving[1].rstrip(" :") or None, middle, ends)
        if bounds := RANGE.search(segment):
            ends, middle = self._range(bounds[0])
            return segment[: bounds.start()].rstrip(" :"), middle, ends
        head, colon, tail = segment.rpartition(":")
        if colon:
            return head.strip(), self.value(tail.strip()), still
        words = segment.split()
        for start in range(1, len(words)):
            quantity = _with_unit(" ".join(words[start:]))
            if quantity is not None:
                return " ".join(words[:start]), quantity, still
        return None, None, still

    def _range(self, text: str) -> tuple[tuple[float, float], Quantity]:
        wide = self.ends(text)
        half = (wide.high - wide.low) / 2
        middle = Quantity(wide.value, wide.unit, half, wide.digit, about=False, over_range=False)
        return (wide.low, wide.high), middle

    def _between(
        self, points: tuple[str, str, str, str], quantity: Quantity | None, ends: tuple[float, float]
    ) -> Reading:
        """A number read between two points, given as terminals and as names."""
        if quantity is None:
            return Reading("volts", Setup(()), *points, float("nan"))
        # "4.7k" without a unit can only be ohms; "4.7" could be either and is asked about.
        unit = quantity.unit or ("ohm" if quantity.value >= 1000 else "")
        if unit not in KINDS:
            shown = f"{quantity.value:g} {quantity.unit}".strip()
            message = "has no unit" if not quantity.unit else "has no unit that two leads read"
            raise self.fail("value", shown, message, "Write V or ohm; for amps: `amps at F1: 3.2 A`.")
        if unit == "ohm" and quantity.value < 0:
            remedy = "A meter shows that on a circuit with a potential of its own: key off, then read again."
            raise self.fail("value", f"{quantity.value:g} ohm", "is no resistance", remedy)
        width = max(quantity.half_width, (ends[1] - ends[0]) / 2)
        size = (quantity.value, width, quantity.digit)
        return Reading(KINDS[unit], Setup(()), *points, *size, low=ends[0], high=ends[1])

    def _amps(self, name: str, quantity: Quantity | None, found: Parsed) -> Reading:
        part = self.part(name)
        item = passage(part, self.sheet)
        if item is None or self.sheet.parts[part].kind != "fuse":
            fuses = [p.name for p in self.sheet.parts.values() if p.kind == "fuse"]
            raise self.fail(
                "red", name, "is no place to put an ammeter in", nearest(name, fuses) or "Name a fuse."
            )
        if quantity is not None and quantity.unit not in {"A", ""}:
            raise self.fail(
                "value", f"{quantity.value:g} {quantity.unit}", "is no current", "Write amps, such as 3.2 A."
            )
        found.unplugged.add(part)
        found.attached.append(Attachment("ammeter", item.leave, item.enter, AMMETER_OHMS))
        value = float("nan") if quantity is None else quantity.value
        width, digit = (0.0, 0.0) if quantity is None else (quantity.half_width, quantity.digit)
        return Reading(
            "amps", Setup(()), item.enter, item.leave, f"in place of {part}", "", value, width, digit
        )


def _with_unit(text: str) -> Quantity | None:
    try:
        quantity = parse_quantity(text)
    except UnitError:
        return None
    return quantity if quantity.unit or quantity.over_range else None

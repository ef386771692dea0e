"""The words of a reading line: what was seen, in which state, with what plugged and attached."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from backprobe.circuit.setup import AMMETER_OHMS, SOURCE_OHMS, Attachment, Setup, lamp_tester, make_setup
from backprobe.errors import Problem, ReadingError, UnitError
from backprobe.readings.model import Reading
from backprobe.readings.points import Point, find_part, find_point, passage, points_to_offer
from backprobe.readings.spoken import (
    BARE_NUMBER,
    DECIMAL_COMMA,
    control_asked,
    plain_state,
    plain_words,
    two_leads,
)
from backprobe.sheet.findings import nearest
from backprobe.sheet.functions import inputs_of
from backprobe.sheet.model import Sheet
from backprobe.sheet.parts import find_state
from backprobe.units import Quantity, parse_quantity

MAX_LINE = 400
_UNPLUGGED = re.compile(
    r"^(?:(.+?)\s+)?(unplugged|off|out|pulled|lifted|removed|disconnected)$|^unplug(?:ged)?\s+(.+)$", re.I
)
_PLUGGED = re.compile(r"^(?:(.+?)\s+)?(plugged(?: in)?|on|in|back|fitted|connected)$|^all plugged$", re.I)
_UNSTEADY = re.compile(r"\b(unsteady|jumping|jumps about|flickers|comes and goes)$", re.I)
_DEAD = re.compile(
    r"^(.*?)\s+(?:is\s+|are\s+)?(dead|locked|does not work|do not work|not working|off)$", re.I
)
_WORKS = re.compile(r"^(.*?)\s+(?:is\s+)?(works|work|working|runs)$", re.I)
_LAMP = re.compile(r"^(.*?)\s+(?:is\s+)?(lit|dark|dim|flashes \d+|\d+ flashes)$", re.I)
_CLICK = re.compile(r"^(.*?)\s+(clicks|does not click|no click)$", re.I)
_SWAP = re.compile(r"^(?:swapped|replaced|changed)\s+(.*?):?\s+(no change|works now|still dead)$", re.I)
_LOOK = re.compile(
    r"^(?:looked at|look at)\s+(.*?):?\s+"
    r"(fine|good|clean|bad|corroded|green|broken|burnt|loose|wet|rubbed through)$",
    re.I,
)
_CODE = re.compile(r"^(.*?)\s+(?:shows|reads as|is)\s+(.*)$", re.I)
_ATTACH = re.compile(r"^(jumper|test lamp|bridge)\s+(.+?)\s+to\s+(.+)$", re.I)
_TEST_LAMP = re.compile(r"^test lamp\s+(.+?)\s+to\s+(.+?):?\s+(?:is\s+)?(lit|dim|dark)$", re.I)
_SOURCE = re.compile(r"^(?:source|feed)\s+(.+?)\s+from\s+(.+?)\s+to\s+(.+?)(?:\s+through\s+(.+))?$", re.I)
_STEEL = re.compile(r"^(?:steel|target|magnet)\s+(?:held\s+)?(?:at|to)\s+(.+)$", re.I)
GOOD_LOOKS = frozenset({"fine", "good", "clean"})


@dataclass(slots=True)
class Parsed:
    """Conditions gathered from a line and its context."""

    state: dict[str, str] = field(default_factory=dict)
    unplugged: set[str] = field(default_factory=set)
    plugs_known: bool = False
    attached: list[Attachment] = field(default_factory=list)


class LineReader:
    """Reads one line of a sheet's readings, segment by segment."""

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

    def segments(self) -> list[str]:
        """The line's parts between commas; raises ReadingError when there is none."""
        if len(self.text) > MAX_LINE:
            raise self.fail(
                "reading", self.text, f"is longer than {MAX_LINE} characters", "One reading a line."
            )
        if comma := DECIMAL_COMMA.search(self.text):
            self._value(comma[0])
        parts = [p.strip() for p in re.split(r"[,;]", plain_words(self.text))]
        parts = [p for p in parts if p]
        if not parts:
            raise self.fail(
                "reading", "", "is empty", "Write such as: C2-3 to battery-: 4.78 V, key on, C2 plugged."
            )
        return parts

    # --- conditions -------------------------------------------------------------------

    def condition(self, segment: str, found: Parsed) -> None:
        """Take one operator state, plug or attachment into `found`; raises ReadingError."""
        controls = self.sheet.controls
        state = find_state(segment, controls) or find_state(plain_state(segment), controls)
        if state is not None:
            found.state[state.control] = state.position
            return
        if re.sub(r" in$", "", segment.lower()) in {"all plugged", "plugged", "everything plugged"}:
            found.unplugged.clear()
            found.plugs_known = True
            return
        if source := _SOURCE.match(segment):
            self._source(source, found)
            return
        if attach := _ATTACH.match(segment):
            self._attach(attach, found)
            return
        if steel := _STEEL.match(segment):
            found.attached.append(Attachment("target", self._part(steel[1])))
            return
        if asked := control_asked(segment, self.sheet):
            choices = " or ".join(f"`{asked.name} {p}`" for p in asked.positions)
            raise self.fail("state", segment, f"is no position of {asked.name}", f"Write {choices}.")
        if off := _UNPLUGGED.match(segment):
            found.unplugged |= {self._pluggable(n) for n in self._names(off[1] or off[3] or "")}
            found.plugs_known = True
            return
        if on := _PLUGGED.match(segment):
            found.unplugged -= {self._pluggable(n) for n in self._names(on[1] or "")}
            found.plugs_known = True
            return
        known = [f"{c.name} {p}" for c in self.sheet.controls.values() for p in c.positions]
        known += [f"{c} unplugged" for c in self.sheet.connectors] + [
            f"{c} plugged" for c in self.sheet.connectors
        ]
        raise self.fail("state", segment, "is neither an operator state nor a plug", nearest(segment, known))

    def _names(self, text: str) -> list[str]:
        names = [n for n in re.split(r"\s+and\s+|\s*\+\s*|\s*&\s*", text) if n]
        if not names:
            first = next(iter(self.sheet.connectors), "fuse F1")
            raise self.fail(
                "plugged", self.text, "does not say which plug", f"Write such as `{first} unplugged`."
            )
        return names

    def _pluggable(self, name: str) -> str:
        if name.upper() in self.sheet.connectors:
            return name.upper()
        part = find_part(name, self.sheet)
        if part and self.sheet.parts[part].kind in {"fuse", "ring"}:
            return part
        fitted = [p.name for p in self.sheet.parts.values() if p.kind in {"fuse", "ring"}]
        plugs = [c.name for c in self.sheet.connectors.values() if part and c.part == part]
        if len(plugs) == 1:
            return plugs[0]
        raise self.fail(
            "plugged", name, "is nothing that unplugs", nearest(name, [*self.sheet.connectors, *fitted])
        )

    def _source(self, match: re.Match[str], found: Parsed) -> None:
        """``source 6 V from C2-3 to frame through 1k``: a bench source, red on the first point."""
        volts = self._value(match[1], "V", "source").value
        ohms = self._value(match[4], "ohm", "source").value if match[4] else SOURCE_OHMS
        red, black = (self._point(match[k], found).terminal for k in (2, 3))
        found.attached.append(Attachment("source", red, black, max(ohms, SOURCE_OHMS), volts))

    def _attach(self, match: re.Match[str], found: Parsed) -> None:
        red, black = (self._point(match[k], found).terminal for k in (2, 3))
        if match[1].lower() == "test lamp":
            found.attached.append(lamp_tester(red, black, self.sheet.system_volts))
        else:
            found.attached.append(Attachment("jumper", red, black))

    # --- observations -----------------------------------------------------------------

    def observation(self, segment: str, found: Parsed) -> Reading:
        """What was seen, as a reading still without its setup; raises ReadingError."""
        setup = Setup(())
        if swap := _SWAP.match(segment):
            seen = "works now" if swap[2].lower() == "works now" else "no change"
            return Reading("swapped", setup, subject=self._part(swap[1]), seen=seen)
        if look := _LOOK.match(segment):
            seen = "fine" if look[2].lower() in GOOD_LOOKS else look[2].lower()
            return Reading("looked", setup, subject=self._part(look[1]), seen=seen)
        if click := _CLICK.match(segment):
            seen = "clicks" if click[2].lower() == "clicks" else "does not click"
            return Reading("click", setup, subject=self._part(click[1], "relay"), seen=seen)
        if tester := _TEST_LAMP.match(segment):
            red, black = (self._point(tester[k], found) for k in (1, 2))
            found.attached.append(lamp_tester(red.terminal, black.terminal, self.sheet.system_volts))
            subject = f"test lamp from {red.name} to {black.name}"
            ends = (red.terminal, black.terminal, red.name, black.name)
            return Reading("tester", setup, *ends, subject=subject, seen=tester[3].lower())
        if lamp := _LAMP.match(segment):
            if lamp[1].lower().startswith("test lamp "):
                remedy = f"Write `{two_leads(lamp[1])}: {lamp[2]}`."
                raise self.fail("black", segment, "does not say where the clip of the lamp was", remedy)
            return Reading("lamp", setup, subject=self._lamp(lamp[1]), seen=_flashes(lamp[2].lower()))
        number = self._number(segment, found)
        if number is not None:
            return number
        for pattern, seen in ((_DEAD, "dead"), (_WORKS, "works")):
            if match := pattern.match(segment):
                return Reading("works", setup, subject=self._function(match[1]), seen=seen)
        if code := _CODE.match(segment):
            return self._code(code[1], code[2])
        if bare := BARE_NUMBER.match(segment):
            raise self.fail(
                "value", segment, "has no unit", f"Write `{two_leads(bare[1])}: {bare[2]} V`, or ohm."
            )
        raise self.fail(
            "reading",
            segment,
            "says nothing that is understood",
            "Write such as `C2-3 to battery-: 4.78 V`, `boom dead` or `relay K1 clicks`.",
        )

    def _number(self, segment: str, found: Parsed) -> Reading | None:
        place, quantity, unsteady = self._split_number(segment)
        if place is None:
            return None
        if place.lower().startswith(("amps at ", "current at ")):
            return self._amps(place.partition(" at ")[2], quantity, unsteady, found)
        if place.lower().startswith(("across ", "drop across ")):
            part = self._part(place.partition("across ")[2])
            item = passage(part, self.sheet)
            if item is None:
                raise self.fail("red", part, "has no two ends", "Name two points: `A to B`.")
            return self._two_points(
                item.enter, item.leave, f"before {part}", f"after {part}", quantity, unsteady
            )
        red_text, to, black_text = re.sub(r"\s+(?:to|against)\s+", "\0", place, count=1).partition("\0")
        red = self._point(red_text, found)
        if not to:
            raise self.fail(
                "black",
                segment,
                "does not say where the black lead was",
                f"Write `{red_text} to battery-: ...`.",
            )
        black = self._point(black_text, found)
        return self._two_points(red.terminal, black.terminal, red.name, black.name, quantity, unsteady)

    def _split_number(self, segment: str) -> tuple[str | None, Quantity | None, bool]:
        if unsteady := _UNSTEADY.search(segment):
            return segment[: unsteady.start()].rstrip(" :"), None, True
        head, colon, tail = segment.rpartition(":")
        if colon:
            return head.strip(), self._value(tail.strip()), False
        words = segment.split()
        for start in range(1, len(words)):
            try:
                quantity = parse_quantity(" ".join(words[start:]))
            except UnitError:
                continue
            if quantity.unit or quantity.over_range:
                return " ".join(words[:start]), quantity, False
        return None, None, False

    def _value(self, text: str, unit: str | None = None, field_name: str = "value") -> Quantity:
        try:
            return parse_quantity(text, unit=unit)
        except UnitError as error:
            raise ReadingError(
                *(replace(p, field=field_name, file=self.file, line=self.line) for p in error.problems)
            ) from error

    def _two_points(
        self, red: str, black: str, red_name: str, black_name: str, quantity: Quantity | None, unsteady: bool
    ) -> Reading:
        kinds = {"V": "volts", "ohm": "ohms"}
        if quantity is None:
            return Reading("volts", Setup(()), red, black, red_name, black_name, float("nan"))
        # "4.7k" without a unit can only be ohms; "4.7" could be either and is asked about.
        unit = quantity.unit or ("ohm" if quantity.value >= 1000 else "")
        if unit not in kinds:
            raise self.fail(
                "value",
                f"{quantity.value:g} {unit}",
                "has no unit that two leads read",
                "Write V or ohm; for amps: `amps at F1: 3.2 A`.",
            )
        return Reading(
            kinds[unit],
            Setup(()),
            red,
            black,
            red_name,
            black_name,
            quantity.value,
            quantity.half_width,
            quantity.digit,
        )

    def _amps(self, name: str, quantity: Quantity | None, unsteady: bool, found: Parsed) -> Reading:
        part = self._part(name)
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

    def _code(self, subject: str, meaning: str) -> Reading:
        inputs = inputs_of(self.sheet)
        name = re.sub(r"^code\s+", "", subject.strip(), flags=re.I)
        match = next((i for i in inputs if i.lower() == name.lower()), None)
        if match is None:
            raise self.fail(
                "reading", subject, "is not a controller input", nearest(name, inputs) or "Name an input."
            )
        seen = next((m for m in inputs[match] if m.lower() == meaning.strip().lower()), None)
        if seen is None:
            raise self.fail("reading", meaning, f"is no band of {match}", nearest(meaning, inputs[match]))
        return Reading("code", Setup(()), subject=match, seen=seen)

    # --- names ------------------------------------------------------------------------

    def _point(self, text: str, found: Parsed) -> Point:
        point = find_point(text, self.sheet, found.unplugged)
        if point is None:
            raise self.fail(
                "point", text.strip(), "is not a point of this sheet", points_to_offer(text, self.sheet)
            )
        return point

    def _part(self, text: str, kind: str = "") -> str:
        part = find_part(text.strip(), self.sheet)
        if part is None or (kind and self.sheet.parts[part].kind != kind):
            known = [p.name for p in self.sheet.parts.values() if not kind or p.kind == kind]
            raise self.fail("part", text, f"is not a {kind or 'part'} of this sheet", nearest(text, known))
        return part

    def _lamp(self, text: str) -> str:
        for name in self.sheet.lamps:
            if name.lower() == text.strip().lower():
                return name
        return self._part(text, "lamp")

    def _function(self, text: str) -> str:
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

    # --- the four things ----------------------------------------------------------------

    def complete(self, reading: Reading, found: Parsed) -> Reading:
        """The reading with its setup; raises ReadingError with one problem for each thing missing."""
        missing: list[Problem] = []
        state_matters = reading.kind not in {"swapped", "looked"}
        for control in self.sheet.controls.values():
            if control.name not in found.state:
                if state_matters:
                    choices = " or ".join(f"`{control.name} {p}`" for p in control.positions)
                    missing.append(
                        self.problem(
                            control.name,
                            self.text,
                            f"does not say where {control.name} was",
                            f"Add {choices}.",
                        )
                    )
                else:
                    found.state[control.name] = control.positions[0]
        if self.sheet.connectors and not found.plugs_known and state_matters:
            first = next(iter(self.sheet.connectors))
            missing.append(
                self.problem(
                    "plugged",
                    self.text,
                    "does not say what was plugged",
                    f"Add `all plugged` or `{first} unplugged`.",
                )
            )
        if missing:
            raise ReadingError(*missing)
        setup = make_setup(self.sheet, found.state, frozenset(found.unplugged), tuple(found.attached))
        return replace(reading, setup=setup, text=self.text)


def _flashes(seen: str) -> str:
    count = re.search(r"\d+", seen)
    return f"{count[0]} flashes" if count else seen

"""The words of a reading line: what was seen, and whether all four things were said."""

from __future__ import annotations

import re
from dataclasses import replace

from backprobe.circuit.setup import SOURCE_OHMS, Attachment, Setup, lamp_tester, make_setup
from backprobe.errors import Problem, ReadingError
from backprobe.readings.line_conditions import LineConditions
from backprobe.readings.line_names import Parsed
from backprobe.readings.line_numbers import LineNumbers
from backprobe.readings.model import Reading
from backprobe.readings.points import find_part, passage
from backprobe.readings.spoken import BARE_NUMBER, DECIMAL_COMMA, plain_words, two_leads
from backprobe.sheet.findings import nearest
from backprobe.sheet.functions import inputs_of

__all__ = ["LineReader", "Parsed"]

MAX_LINE = 400
_DEAD = re.compile(
    r"^(.*?)\s+(?:is\s+|are\s+)?(dead|locked|does not work|do not work|not working|off)$", re.I
)
_WORKS = re.compile(r"^(.*?)\s+(?:is\s+)?(works|work|working|runs)$", re.I)
_LAMP = re.compile(r"^(.*?)\s+(?:is\s+)?(lit|bright|dark|dim|flashes \d+|\d+ flashes)$", re.I)
_OUT = re.compile(r"^(.*?)[\s:]+(?:is\s+)?(out|off|not lit|stays dark|on|glows|burns)$", re.I)
_CLICK = re.compile(r"^(.*?)\s+(clicks|does not click|no click)$", re.I)
_SWAP = re.compile(r"^(?:swapped|replaced|changed)\s+(.*?):?\s+(no change|works now|still dead)$", re.I)
_LOOK = re.compile(
    r"^(?:looked at|look at)\s+(.*?):?\s+"
    r"(fine|good|clean|bad|corroded|green|broken|burnt|loose|wet|rubbed through)$",
    re.I,
)
_FUSE = re.compile(
    r"^(.*?)[\s:]+(?:is\s+)?(good|fine|whole|ok(?:ay)?|blown|tripped|burnt out|"
    r"(?:blows|trips)(?:\s+(?:again|at once|(?:in|after|within)\s+.+))?|holds(?:\s.*)?)$",
    re.I,
)
_BEEP = re.compile(r"^(.+?)\s+to\s+(.+?)[\s:]+(beeps?|silent|no beep|does not beep)$", re.I)
_CODE = re.compile(r"^(.*?)\s+(?:shows|reads as|is)\s+(.*)$", re.I)
_TEST_LAMP = re.compile(r"^test lamp\s+(.+?)\s+to\s+(.+?):?\s+(?:is\s+)?(lit|dim|dark)$", re.I)
_OUTSIDE = re.compile(
    r"^(.+?)\s+(?:on|from|with)\s+(?:an?\s+|its\s+)?(?:outside|outer|external|bench|separate|spare|(?:an)?other)\s+"
    r"(?:([\d.]+\s?V)\s+)?(?:battery|source|supply)$",
    re.I,
)
_VERB = re.compile(r"\s+(?:works?|runs|dead|clicks|does not click|lit|dim|dark)$", re.I)
GOOD_LOOKS = frozenset({"fine", "good", "clean"})
GLOWS = frozenset({"on", "glows", "burns"})
STATES_OF_FUSE = {
    "blown": "blown",
    "tripped": "blown",
    "burnt": "blown",
    "blows": "blows",
    "trips": "blows",
    "holds": "holds",
}
"""First word to what is kept; any other word says that the fuse is whole."""


class LineReader(LineConditions, LineNumbers):
    """Reads one line of a sheet's readings, segment by segment."""

    def segments(self) -> list[str]:
        """The line's parts between commas; raises ReadingError when there is none."""
        if len(self.text) > MAX_LINE:
            raise self.fail(
                "reading", self.text, f"is longer than {MAX_LINE} characters", "One reading a line."
            )
        if comma := DECIMAL_COMMA.search(self.text):
            self.value(comma[0])
        parts = [p.strip() for p in re.split(r"[,;]", plain_words(self.text))]
        parts = [p for p in parts if p]
        if not parts:
            raise self.fail(
                "reading", "", "is empty", "Write such as: C2-3 to battery-: 4.78 V, key on, C2 plugged."
            )
        return parts

    def observation(self, segment: str, found: Parsed) -> Reading:
        """What was seen, as a reading still without its setup; raises ReadingError."""
        if outside := _OUTSIDE.match(segment):
            segment = plain_words(outside[1])
            self._outside_source(segment, outside[2], found)
        reading = self._by_hand(segment) or self._by_eye(segment, found) or self._beeper(segment, found)
        reading = reading or self.leads_alone(segment) or self.number(segment, found)
        if reading is not None:
            return reading
        for pattern, seen in ((_DEAD, "dead"), (_WORKS, "works")):
            if match := pattern.match(segment):
                return Reading("works", Setup(()), subject=self.function(match[1]), seen=seen)
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

    def _by_hand(self, segment: str) -> Reading | None:
        """What was swapped, looked at or heard."""
        setup = Setup(())
        if swap := _SWAP.match(segment):
            seen = "works now" if swap[2].lower() == "works now" else "no change"
            return Reading("swapped", setup, subject=self.part(swap[1]), seen=seen)
        if look := _LOOK.match(segment):
            seen = "fine" if look[2].lower() in GOOD_LOOKS else look[2].lower()
            return Reading("looked", setup, subject=self.part(look[1]), seen=seen)
        if (fuse := _FUSE.match(segment)) and self.is_fuse(fuse[1]):
            seen = STATES_OF_FUSE.get(fuse[2].lower().split()[0], "good")
            return Reading("fuse", setup, subject=self.part(fuse[1]), seen=seen)
        if click := _CLICK.match(segment):
            seen = "clicks" if click[2].lower() == "clicks" else "does not click"
            return Reading("click", setup, subject=self.part(click[1], "relay"), seen=seen)
        return None

    def _by_eye(self, segment: str, found: Parsed) -> Reading | None:
        """A test lamp, or a lamp of the machine."""
        if tester := _TEST_LAMP.match(segment):
            red, black = (self.point(tester[k], found) for k in (1, 2))
            found.attached.append(lamp_tester(red.terminal, black.terminal, self.sheet.system_volts))
            subject = f"test lamp from {red.name} to {black.name}"
            ends = (red.terminal, black.terminal, red.name, black.name)
            return Reading("tester", Setup(()), *ends, subject=subject, seen=tester[3].lower())
        if (dark := _OUT.match(segment)) and self.is_lamp(dark[1]):
            seen = "lit" if dark[2].lower() in GLOWS else "dark"
            return Reading("lamp", Setup(()), subject=self.lamp(dark[1]), seen=seen)
        if lamp := _LAMP.match(segment):
            if lamp[1].lower().startswith("test lamp "):
                remedy = f"Write `{two_leads(lamp[1])}: {lamp[2]}`."
                raise self.fail("black", segment, "does not say where the clip of the lamp was", remedy)
            return Reading("lamp", Setup(()), subject=self.lamp(lamp[1]), seen=_seen(lamp[2].lower()))
        return None

    def _beeper(self, segment: str, found: Parsed) -> Reading | None:
        """Whether the meter beeped between two points."""
        beep = _BEEP.match(segment)
        if beep is None:
            return None
        red, black = (self.point(beep[k], found) for k in (1, 2))
        seen = "beeps" if beep[3].lower().startswith("beep") else "silent"
        ends = (red.terminal, black.terminal, red.name, black.name)
        return Reading("beeper", Setup(()), *ends, subject=f"{red.name} to {black.name}", seen=seen)

    def _outside_source(self, segment: str, volts: str | None, found: Parsed) -> None:
        """``coil Y1 works on an outside 12 V battery``: a source straight across the part."""
        verb = _VERB.search(segment)
        part = self._fed(segment[: verb.start()] if verb else segment)
        item = passage(part, self.sheet)
        ends = (item.enter, item.leave) if item else ("", "")
        if self.sheet.parts[part].kind == "relay":
            ends = (f"{part}.86", f"{part}.85")
        if not ends[0]:
            remedy = "Write such as `source 12 V from C2-1 part side to C2-2 part side`."
            raise self.fail("source", part, "has no two ends for a source", remedy)
        level = self.value(volts, "V", "source").value if volts else self.sheet.system_volts
        found.attached.append(Attachment("source", *ends, SOURCE_OHMS, level))

    def _fed(self, text: str) -> str:
        """The part that a source feeds: named itself, or the one load of a function."""
        named = find_part(text.strip(), self.sheet)
        if named is None:
            wanted = text.strip().lower()
            for name, function in self.sheet.functions.items():
                if wanted in {name.lower(), name.lower().split()[-1]} and len(function.loads) == 1:
                    return function.loads[0]
        return named or self.part(text)

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

    # --- the four things ----------------------------------------------------------------

    def complete(self, reading: Reading, found: Parsed) -> Reading:
        """The reading with its setup; raises ReadingError with one problem for each thing missing."""
        missing: list[Problem] = []
        state_matters = reading.placed
        for control in self.sheet.controls.values():
            if control.name not in found.state:
                # What was done before is only said when something was.
                if state_matters and not control.remembered:
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
        reading = self._moved(self._without_leads(reading, found), found)
        return replace(reading, setup=setup, text=self.text)

    def _moved(self, reading: Reading, found: Parsed) -> Reading:
        """A number with the ends between which it moved, said after it."""
        if found.ends is None or not reading.numeric or reading.over_range:
            return reading
        low, high = found.ends
        return replace(reading, low=low, high=high, half_width=max(reading.half_width, (high - low) / 2))

    def _without_leads(self, reading: Reading, found: Parsed) -> Reading:
        """Ohms with the meter's own leads taken off, as far as they are known."""
        if reading.kind != "ohms" or not reading.numeric:
            return reading
        if found.zeroed:
            return replace(reading, leads=0.0)
        if found.leads is None or reading.over_range:
            return reading
        if reading.value < found.leads - 2 * max(reading.digit, 0.05):
            shown = f"{reading.value:g} ohm"
            message = f"is less than the leads alone ({found.leads:g} ohm)"
            raise self.fail("value", shown, message, "Hold the leads together again, then read again.")
        return replace(reading, value=max(reading.value - found.leads, 0.0), leads=found.leads)


def _seen(said: str) -> str:
    count = re.search(r"\d+", said)
    return f"{count[0]} flashes" if count else {"bright": "lit"}.get(said, said)

"""What a reading line says of operator state, plugs, what is attached and the meter's own leads."""

from __future__ import annotations

import re

from backprobe.circuit.setup import SOURCE_OHMS, Attachment, lamp_tester, target_at
from backprobe.readings.line_names import LineNames, Parsed
from backprobe.readings.points import find_part
from backprobe.readings.spoken import control_asked, plain_state
from backprobe.sheet.findings import nearest
from backprobe.sheet.parts import find_state

UNPLUGGED = re.compile(
    r"^(?:(.+?)\s+)?(unplugged|off|out|pulled|lifted|removed|disconnected)$|^unplug(?:ged)?\s+(.+)$", re.I
)
PLUGGED = re.compile(r"^(?:(.+?)\s+)?(plugged(?: in)?|on|in|back|fitted|connected)$|^all plugged$", re.I)
ATTACH = re.compile(r"^(jumper|test lamp|bridge)\s+(.+?)\s+to\s+(.+)$", re.I)
SOURCE = re.compile(r"^(?:source|feed)\s+(.+?)\s+from\s+(.+?)\s+to\s+(.+?)(?:\s+through\s+(.+))?$", re.I)
STEEL = re.compile(r"^(?:steel|target|magnet)\s+(?:held\s+)?(?:at|to)\s+(.+)$", re.I)
ZEROED = re.compile(r"^(?:(?:the\s+)?leads\s+(?:taken off|zeroed|subtracted|off)|(?:meter\s+)?zeroed)$", re.I)
LEADS = re.compile(
    r"^(?:with\s+)?(?:the\s+)?leads\s+(?:(?:held\s+)?together\s*:?\s*|touching\s*:?\s*)?([\d.].*)$", re.I
)
MOVED = re.compile(
    r"^(?:but\s+)?(?:moving|moves|jumps|jumping|varies|swings)\s+(?:from\s+|between\s+)?"
    r"([-+]?\.?\d.*?)\s*(?:\.\.|\bto\b|\band\b)\s*([-+]?\.?\d.*)$",
    re.I,
)

FITTED = frozenset({"fuse", "ring", "relay"})
"""Kinds of parts that come out of a holder or off a bolt."""


class LineConditions(LineNames):
    """Takes the parts of a line that say how something was seen, not what."""

    def condition(self, segment: str, found: Parsed) -> None:
        """Take one operator state, plug or attachment into `found`; raises ReadingError."""
        if self._state(segment, found) or self._held(segment, found):
            return
        if asked := control_asked(segment, self.sheet):
            choices = " or ".join(f"`{asked.name} {p}`" for p in asked.positions)
            raise self.fail("state", segment, f"is no position of {asked.name}", f"Write {choices}.")
        if off := UNPLUGGED.match(segment):
            found.unplugged |= {self._pluggable(n) for n in self._names(off[1] or off[3] or "")}
            found.plugs_known = True
            return
        if on := PLUGGED.match(segment):
            found.unplugged -= {self._pluggable(n) for n in self._names(on[1] or "")}
            found.plugs_known = True
            return
        plugs = self.sheet.connectors
        known = [f"{c.name} {p}" for c in self.sheet.controls.values() for p in c.positions]
        known += [f"{c} unplugged" for c in plugs] + [f"{c} plugged" for c in plugs]
        raise self.fail("state", segment, "is neither an operator state nor a plug", nearest(segment, known))

    def _state(self, segment: str, found: Parsed) -> bool:
        controls = self.sheet.controls
        state = find_state(segment, controls) or find_state(plain_state(segment), controls)
        if state is not None:
            found.state[state.control] = state.position
            return True
        if re.sub(r" in$", "", segment.lower()) in {"all plugged", "plugged", "everything plugged"}:
            found.unplugged.clear()
            found.plugs_known = True
            return True
        return False

    def _held(self, segment: str, found: Parsed) -> bool:
        """What is held to the circuit by hand, and what the leads were seen to have."""
        if source := SOURCE.match(segment):
            self._source(source, found)
        elif attach := ATTACH.match(segment):
            self._attach(attach, found)
        elif steel := STEEL.match(segment):
            found.attached.append(target_at(self.sheet, self.part(steel[1])))
        elif ZEROED.match(segment):
            found.zeroed = True
        elif moving := MOVED.match(segment):
            wide = self.ends(f"{moving[1]}..{moving[2]}")
            found.ends = (wide.low, wide.high)
        elif leads := LEADS.match(segment):
            found.leads = self.value(leads[1], "ohm", "leads").value
        else:
            return False
        return True

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
        if (
            part
            and self.sheet.parts[part].kind == "relay"
            and re.search(rf"{re.escape(name)}\s+(off|pulled|on|in)\b", self.text, re.I)
        ):
            message = "may be said of the relay's armature or of its socket"
            raise self.fail("plugged", name, message, f"Write `{name} out` or `{name} fitted`.")
        if part and self.sheet.parts[part].kind in FITTED:
            return part
        fitted = [p.name for p in self.sheet.parts.values() if p.kind in FITTED]
        plugs = [c.name for c in self.sheet.connectors.values() if part and c.part == part]
        if len(plugs) == 1:
            return plugs[0]
        raise self.fail(
            "plugged", name, "is nothing that unplugs", nearest(name, [*self.sheet.connectors, *fitted])
        )

    def _source(self, match: re.Match[str], found: Parsed) -> None:
        """``source 6 V from C2-3 to frame through 1k``: a bench source, red on the first point."""
        volts = self.value(match[1], "V", "source").value
        ohms = self.value(match[4], "ohm", "source").value if match[4] else SOURCE_OHMS
        red, black = (self.point(match[k], found).terminal for k in (2, 3))
        found.attached.append(Attachment("source", red, black, max(ohms, SOURCE_OHMS), volts))

    def _attach(self, match: re.Match[str], found: Parsed) -> None:
        red, black = (self.point(match[k], found).terminal for k in (2, 3))
        if match[1].lower() == "test lamp":
            found.attached.append(lamp_tester(red, black, self.sheet.system_volts))
        else:
            found.attached.append(Attachment("jumper", red, black))

"""A measurement that is only meant: ``ohms C2-1 to C3-1, key off, C2 unplugged``."""

from __future__ import annotations

import re

from backprobe.circuit.setup import Setup
from backprobe.readings.line_names import Parsed
from backprobe.readings.line_words import LineReader
from backprobe.readings.lines import Context, parsed_from
from backprobe.readings.model import Reading
from backprobe.readings.points import find_point
from backprobe.sheet.model import Sheet

_PLANNED = re.compile(
    r"^(?:(volts?|ohms?|continuity|measure|read)\s+)?(?:from\s+)?(.+?)\s+(?:to|against)\s+(.+?)$", re.I
)
_KINDS = {"o": "ohms", "c": "ohms"}
"""First letter of what is meant to be measured; any other means volts."""


def parse_planned(text: str, sheet: Sheet, context: Context | None = None) -> Reading:
    """Read a line that says where the leads will go; a whole reading is taken too.

    Controls that are not named stand at rest, and what is not said to be off is plugged.

    Parameters
    ----------
    context
        Operator state and plugs that hold unless the line says otherwise.

    Raises
    ------
    ReadingError
        For a line that is not understood.
    """
    reader = LineReader(text, sheet, "", 0)
    segments = reader.segments()
    found = parsed_from(context or Context())
    for segment in segments[1:]:
        reader.condition(segment, found)
    found.plugs_known = True
    for control in sheet.controls.values():
        found.state.setdefault(control.name, control.positions[0])
    reading = _leads(segments[0], sheet, found) or reader.observation(segments[0], found)
    return reader.complete(reading, found)


def _leads(segment: str, sheet: Sheet, found: Parsed) -> Reading | None:
    planned = _PLANNED.match(segment)
    if planned is None:
        return None
    red, black = (find_point(planned[k], sheet, found.unplugged) for k in (2, 3))
    if red is None or black is None:
        return None
    kind = _KINDS.get((planned[1] or "v")[0].lower(), "volts")
    nothing = float("nan")
    return Reading(kind, Setup(()), red.terminal, black.terminal, red.name, black.name, nothing)

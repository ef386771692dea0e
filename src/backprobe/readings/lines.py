"""Typed lines: ``C2-3 to battery-: 4.78 V, key on, gate shut, C2 plugged``.

The first part says what was seen; the others say in which operator state, what was plugged
and what was attached. A line that lacks one of the four things every reading must know
(red, black, plugged, state) is asked about, never guessed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from backprobe.errors import Problem, ReadingError
from backprobe.readings.line_words import LineReader, Parsed
from backprobe.readings.model import Reading
from backprobe.sheet.model import Sheet


@dataclass(frozen=True, slots=True)
class Context:
    """What earlier lines or answers have settled.

    Parameters
    ----------
    state, unplugged, plugs_known
        Positions, what is unplugged, and whether that was said.
    leads
        What the meter showed with its leads together [ohm]; None while nobody looked.
    """

    state: tuple[tuple[str, str], ...] = ()
    unplugged: frozenset[str] = frozenset()
    plugs_known: bool = False
    leads: float | None = None

    def after(self, reading: Reading) -> Context:
        """The same context, with what a reading of the leads alone has settled."""
        return replace(self, leads=reading.value) if reading.kind == "leads" else self


def parse_reading(
    text: str, sheet: Sheet, context: Context | None = None, *, file: str = "", line: int = 0
) -> Reading:
    """Read one line.

    Parameters
    ----------
    context
        Operator state and plugs that hold unless the line says otherwise.

    Raises
    ------
    ReadingError
        With one problem for what is not understood, or one for each thing that is missing.
    """
    context = context or Context()
    reader = LineReader(text, sheet, file, line)
    segments = reader.segments()
    found = parsed_from(context)
    for segment in segments[1:]:
        reader.condition(segment, found)
    reading = reader.observation(segments[0], found)
    return reader.complete(reading, found)


def parse_context(
    text: str, sheet: Sheet, context: Context | None = None, *, file: str = "", line: int = 0
) -> Context:
    """Read a line such as ``state: key on, gate shut, all plugged``."""
    context = context or Context()
    reader = LineReader(text, sheet, file, line)
    found = parsed_from(context)
    for segment in reader.segments():
        reader.condition(segment, found)
    state = tuple(sorted(found.state.items()))
    return Context(state, frozenset(found.unplugged), found.plugs_known, found.leads)


def parsed_from(context: Context) -> Parsed:
    """What a line starts from: all that its context has settled."""
    return Parsed(dict(context.state), set(context.unplugged), context.plugs_known, leads=context.leads)


def parse_readings(text: str, sheet: Sheet, *, file: str = "") -> list[Reading]:
    """Read a text of lines; ``#`` starts a comment, ``state:`` settles what holds from there on.

    Above the first ``state:`` a line takes over the operator state and plugs of the line before it, as the
    readings of a job do.

    Raises
    ------
    ReadingError
        With the problems of all lines.
    """
    context, settled = Context(), False
    readings: list[Reading] = []
    problems: list[Problem] = []
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.split("#", 1)[0].strip()
        if not line:
            continue
        try:
            if line.lower().startswith("state:"):
                context = parse_context(line[6:], sheet, context, file=file, line=number)
                settled = True
            else:
                readings.append(parse_reading(line, sheet, context, file=file, line=number))
                context = context.after(readings[-1]) if settled else context_after(readings)
        except ReadingError as error:
            problems += error.problems
    if problems:
        raise ReadingError(*problems)
    return readings


def context_after(readings: Iterable[Reading]) -> Context:
    """The context that readings leave: the last one's state and plugs, and the leads last held together."""
    listed = list(readings)
    leads = next((r.value for r in reversed(listed) if r.kind == "leads"), None)
    if not any(r.placed for r in listed):
        # A look or the leads alone says nothing of state and plugs: to be asked for, not taken as at rest.
        return Context(leads=leads)
    last = listed[-1]
    fuses = {a.kind for a in last.setup.attached} & {"ammeter"}
    unplugged = frozenset() if fuses else last.setup.unplugged
    return Context(last.setup.state, unplugged, True, leads)

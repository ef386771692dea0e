"""A recording meter's table: time, one or more channels, perhaps notes; units in the heading.

Comma, semicolon or tab between columns; with the latter two a decimal comma is understood. Time in
seconds (or as the heading says), as time of day, or as date and time. Empty cells, ``NaN`` and over-range
marks are no value. Lines before the heading, and after ``#``, are left out.
"""

from __future__ import annotations

import re
import warnings
from dataclasses import dataclass
from typing import NoReturn

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.errors import Problem, ReadingError
from backprobe.unit_tables import UNITS

TIME_NAMES = frozenset({"time", "t", "seconds", "elapsed", "timestamp", "clock", "date", "datetime"})
NOTE_NAMES = frozenset({"note", "notes", "remark", "remarks", "event", "events", "comment"})
TIME_UNITS = {"s": 1.0, "sec": 1.0, "ms": 1e-3, "us": 1e-6, "min": 60.0, "h": 3600.0}
MEASURED = frozenset({"V", "A", "ohm", "Hz", "%", "degC"})
"""What a channel may be in."""
SEARCHED = 60
"""Lines in which the first row of numbers must come."""
DAY = 86400.0
NO_VALUE = r"(?:O\.?L\.?|0L|overload|over[- ]?range|n/?a|null|none|-{2,})"
CLOCK = re.compile(r"\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?")
DATE = re.compile(r"\d{4}-\d{2}-\d{2}[T ]\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?")
REMEDY = "Head the columns such as: time [s],signal [V]."


@dataclass(frozen=True, slots=True)
class Note:
    """What somebody did or saw, and when [s]."""

    time: float
    text: str


@dataclass(frozen=True, slots=True, eq=False)
class Channel:
    """One column: ``(n,)`` values in base units, NaN where there is none."""

    name: str
    unit: str
    values: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """A recording.

    Parameters
    ----------
    times
        ``(n,)`` never falling [s]: as recorded, or since midnight of the first day.
    clock
        Whether the times are times of day.
    """

    file: str
    times: Floats
    channels: tuple[Channel, ...]
    notes: tuple[Note, ...] = ()
    clock: bool = False

    def channel(self, name: str = "") -> Channel:
        """The channel of a name; the first one when empty.

        Raises
        ------
        ReadingError
            When there is none of that name.
        """
        for channel in self.channels:
            if not name or channel.name.lower() == name.strip().lower():
                return channel
        known = ", ".join(c.name for c in self.channels)
        _refuse("channel", name, "is not in the recording", f"There are: {known}.", self.file)


@dataclass(frozen=True, slots=True)
class _Layout:
    """How a table is laid out: `start` is the index of its first row."""

    delimiter: str
    start: int
    time: int
    time_factor: float
    note: int | None
    names: tuple[str, ...]
    units: tuple[str, ...]
    factors: tuple[float, ...]
    columns: tuple[int, ...]


def parse_log(text: str, *, file: str = "") -> Recording:
    """Read a recording; a million rows take a second or two.

    Raises
    ------
    ReadingError
        With file, line, column and value of what cannot be read.
    """
    lines = text.splitlines()
    layout = _layout(lines, file)
    comma = layout.delimiter != "," and any("," in s for s in lines[layout.start : layout.start + 20])
    own = text.split("\n", layout.start)[-1] if layout.start else text
    rows = [s for s in _plain(own, layout.delimiter, comma).splitlines() if s.strip() and s[0] != "#"]
    first = _cells(rows[0], layout.delimiter)[layout.time].strip()
    timed = CLOCK.fullmatch(first) or DATE.fullmatch(first)
    wanted = layout.columns if timed else (layout.time, *layout.columns)
    try:
        table = np.loadtxt(rows, delimiter=layout.delimiter, usecols=wanted, ndmin=2, quotechar='"')
    except ValueError:
        _point_at(lines, layout, bool(timed), comma, file)
    if len(table) != len(rows):
        number = next((i for i, s in enumerate(lines, 1) if s.count('"') % 2), 0)
        message, remedy = "has a quotation mark that is not closed", "Close it in the same line."
        _refuse("recording", lines[number - 1][:60], message, remedy, file, number)
    if timed:
        times = _clock_times(lines, rows, layout, file)
    else:
        times, table = table[:, 0] * layout.time_factor, table[:, 1:]
    _check_times(times, lines, layout, file)
    channels = tuple(
        Channel(name, unit, table[:, i] * layout.factors[i])
        for i, (name, unit) in enumerate(zip(layout.names, layout.units, strict=True))
    )
    for channel in channels:
        if np.isfinite(channel.values).sum() < 2:
            _refuse("channel", channel.name, "has fewer than two values", "Leave the column out.", file)
    notes = _notes(lines, times, layout)
    return Recording(file, times, channels, notes, bool(timed))


def parse_notes(text: str, recording: Recording, *, file: str = "") -> tuple[Note, ...]:
    """Read notes with times: ``12.5 s: wiggled C2`` or ``14:03:20: door shut``, one a line.

    Raises
    ------
    ReadingError
        With the problems of all lines.
    """
    found: list[Note] = []
    problems: list[Problem] = []
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.split("#", 1)[0].strip()
        if not line:
            continue
        match = re.fullmatch(
            r"(\d{1,2}:\d{2}:\d{2}(?:\.\d+)?|\d+(?:\.\d+)?)\s*(?:s|sec)?\s*[:;,\t]\s*(.+)", line
        )
        if match is None or (":" in match[1]) != recording.clock:
            remedy = "Write such as 12.5 s: wiggled C2; where the recording has times of day, 14:03:20: ..."
            problems.append(Problem("note", line[:60], "has no time of this recording", remedy, file, number))
            continue
        time = _seconds(match[1]) if ":" in match[1] else float(match[1])
        found.append(Note(time, " ".join(match[2].split())))
    if problems:
        raise ReadingError(*problems)
    return tuple(sorted(found, key=lambda n: n.time))


def _layout(lines: list[str], file: str) -> _Layout:
    """Find the first row of numbers, the heading above it, and what each column is."""
    kept = [(i, s) for i, s in enumerate(lines[: SEARCHED * 2]) if s.strip() and not s.startswith("#")]
    for at, (start, line) in enumerate(kept[:SEARCHED]):
        delimiter = next((d for d in ";\t," if d in line), "")
        cells = _cells(line, delimiter) if delimiter else []
        numbers = [_number(c, delimiter != ",") for c in cells]
        if sum(numbers) >= 2:
            heads = _cells(kept[at - 1][1], delimiter) if at else []
            if len(heads) != len(cells):
                heads = ["time", *(f"channel {i}" for i in range(1, len(cells)))]
            return _columns([h.strip() for h in heads], delimiter, (start, at), file)
    shown = kept[0][1][:60] if kept else ""
    _refuse("recording", shown, "has no row with a time and a value", REMEDY, file)


def _columns(heads: list[str], delimiter: str, where: tuple[int, int], file: str) -> _Layout:
    split = [_head(h) for h in heads]
    time = next((i for i, (name, _) in enumerate(split) if name.lower() in TIME_NAMES), 0)
    note = next((i for i, (name, _) in enumerate(split) if name.lower() in NOTE_NAMES), None)
    unit = split[time][1]
    if unit and unit.lower() not in TIME_UNITS:
        _refuse(heads[time], unit, "is not a unit of time", "Use s, ms, min or h.", file, where[0])
    chosen: list[tuple[int, str, str, float]] = []
    for i, (name, text) in enumerate(split):
        if i in {time, note}:
            continue
        found = UNITS.get(text) if text else _unit_of_name(name)
        if found is None or found[0] not in MEASURED:
            message, remedy = "is not a unit of a channel", "Use V, mV, A, mA or ohm."
            _refuse(heads[i], text, message, remedy, file, where[0])
        chosen.append((i, name or f"channel {i}", found[0], 10.0 ** found[1]))
    columns, names, units, factors = zip(*chosen, strict=True)
    seconds = TIME_UNITS.get(unit.lower(), 1.0)
    return _Layout(delimiter, where[0], time, seconds, note, names, units, factors, columns)


def _unit_of_name(name: str) -> tuple[str, int]:
    """The unit that a heading without one ends in, such as ``signal mV`` or ``amps``; else volts."""
    word = name.rsplit(" ", 1)[-1]
    found = UNITS.get(word, ("V", 0))
    return found if found[0] in MEASURED and (len(word) > 1 or word.isupper()) else ("V", 0)


def _head(text: str) -> tuple[str, str]:
    """Name and unit of a heading: ``signal [mV]``, ``signal (mV)``, ``signal/mV`` or plain ``volts``."""
    match = re.fullmatch(r"\"?(.*?)\s*[\[(/]\s*([^\])]*?)\s*[\])]?\"?", text)
    return (match[1].strip(), match[2]) if match else (text.strip('" '), "")


def _cells(line: str, delimiter: str) -> list[str]:
    return line.rstrip("\r\n").split(delimiter)


def _number(cell: str, comma: bool) -> bool:
    """Whether a cell of a row is a number, a time or no value, as against a word of a heading."""
    text = cell.strip().strip('"')
    if re.fullmatch(NO_VALUE, text, re.IGNORECASE) or CLOCK.fullmatch(text) or DATE.fullmatch(text):
        return True
    try:
        float(text.replace(",", ".") if comma else text)
    except ValueError:
        return False
    return True


def _plain(text: str, delimiter: str, comma: bool) -> str:
    """The rows with every missing value as ``nan`` and every decimal comma as a point."""
    d = re.escape(delimiter)
    if comma:
        text = text.replace(",", ".")
    if re.search(rf"(?i){d}\s*{NO_VALUE}\s*(?:{d}|$)", text, re.MULTILINE):
        text = re.sub(rf"(?im)(?<={d})[ ]*{NO_VALUE}[ ]*(?={d}|\r?$)", "nan", text)
    if delimiter * 2 in text or re.search(rf"{d}[ ]*\r?$", text, re.MULTILINE):
        text = re.sub(rf"(?m)(?<={d})[ ]*(?={d}|\r?$)", "nan", text)
    return text


def _point_at(lines: list[str], layout: _Layout, timed: bool, comma: bool, file: str) -> NoReturn:
    """Say which cell of which line is the first that cannot be read."""
    names = dict(zip(layout.columns, layout.names, strict=True))
    wanted = names if timed else {layout.time: "time", **names}
    for number, line in enumerate(lines[layout.start :], layout.start + 1):
        if not line.strip() or line.startswith("#"):
            continue
        cells = _cells(line, layout.delimiter)
        for i, name in wanted.items():
            if i >= len(cells) or (i == layout.time and not cells[i].strip()):
                _refuse(name, line[:60], "is missing in this row", "Fill in the row.", file, number)
            if cells[i].strip() and not _number(cells[i], comma):
                message, remedy = "is no number", "Write a number, or leave the cell empty."
                _refuse(name, cells[i].strip()[:40], message, remedy, file, number)
    _refuse("recording", "", "cannot be read as a table", REMEDY, file)


def _clock_times(lines: list[str], rows: list[str], layout: _Layout, file: str) -> Floats:
    """Times of day, or dates with them, as seconds since midnight of the first day."""
    texts = [r.split(layout.delimiter, layout.time + 1)[layout.time].strip().strip('"') for r in rows]
    dated = DATE.fullmatch(texts[0]) is not None
    stamped = texts if dated else [f"1970-01-01T{t if t.find(':') == 2 else '0' + t}" for t in texts]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")  # a zone of time that would be dropped without a word
            moments = np.array(stamped, dtype="datetime64[us]")
    except (ValueError, UserWarning):
        form = DATE if dated else CLOCK
        for number, line in enumerate(lines[layout.start :], layout.start + 1):
            if line.strip() and not line.startswith("#"):
                cells = _cells(line, layout.delimiter)
                cell = cells[layout.time].strip() if layout.time < len(cells) else ""
                if not form.fullmatch(cell):
                    _refuse("time", cell[:40], "is no time like the first one", "Correct it.", file, number)
        _refuse("time", texts[0], "cannot be read as a time", "Write 14:03:20 or seconds.", file)
    seconds: Floats = (moments - moments[0].astype("datetime64[D]")) / np.timedelta64(1, "s")
    if not dated:
        # Past midnight the clock begins anew.
        seconds = seconds + DAY * np.cumsum(np.diff(seconds, prepend=seconds[0]) < -DAY / 2)
    return seconds


def _check_times(times: Floats, lines: list[str], layout: _Layout, file: str) -> None:
    back = np.flatnonzero(~(np.diff(times) >= 0))
    if not len(back) and np.isfinite(times[0]) and times[-1] > times[0]:
        return
    if not len(back):
        _refuse("time", "", "does not go on", "Give at least two different times.", file)
    at = int(back[0]) + 1
    numbers = [i for i, s in enumerate(lines[layout.start :], layout.start + 1) if s.strip() and s[0] != "#"]
    shown = _cells(lines[numbers[at] - 1], layout.delimiter)[layout.time]
    _refuse("time", shown, "is before the row above, or missing", "Sort the rows by time.", file, numbers[at])


def _notes(lines: list[str], times: Floats, layout: _Layout) -> tuple[Note, ...]:
    """What stands in the column of notes."""
    if layout.note is None:
        return ()
    rows = (s for s in lines[layout.start :] if s.strip() and s[0] != "#")
    found: list[Note] = []
    for i, line in enumerate(rows):
        cells = line.split(layout.delimiter, layout.note)
        text = cells[layout.note] if layout.note < len(cells) else ""
        text = (
            text.split(layout.delimiter)[0].strip().strip('"')
            if not text.startswith('"')
            else text.strip('" ')
        )
        if text:
            found.append(Note(float(times[i]), " ".join(text.split())))
    return tuple(found)


def _seconds(clock: str) -> float:
    hours, minutes, seconds = clock.split(":")
    return int(hours) * 3600 + int(minutes) * 60 + float(seconds)


def _refuse(field: str, value: str, message: str, remedy: str, file: str = "", line: int = 0) -> NoReturn:
    raise ReadingError(Problem(field, value, message, remedy, file, line))

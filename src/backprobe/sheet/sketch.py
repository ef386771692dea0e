"""From one typed line to a sheet: ``battery+ > fuse F1 7.5A > key > seat switch > relay coil K1 > frame``."""

from __future__ import annotations

from dataclasses import replace

from backprobe.errors import Problem, SheetError, UnitError
from backprobe.sheet.battery_typed import system_of
from backprobe.sheet.document import write_document
from backprobe.sheet.load_words import load_words
from backprobe.sheet.model import Sheet
from backprobe.sheet.open_ends import TYPED
from backprobe.sheet.parting import things
from backprobe.sheet.reader import parse_sheet
from backprobe.units import parse_quantity

MAX_TEXT = 8000


UNNAMED = "Sketch"


def sketch(text: str, *, name: str = "", system: str = "12 V") -> Sheet:
    """Make a sheet from typed runs.

    Parameters
    ----------
    text
        One run a line (or separated by ``;``): what the current meets from source to return, joined by
        ``>`` or by commas. A line may begin with the run's name and a colon.
    name
        The sheet's name; empty for one after what the circuit ends in.
    system
        Nominal volts of the machine; a battery of the runs that belongs to another machine goes before it.

    Returns
    -------
    Sheet
        With every value that was not typed filled by a documented default; `Sheet.unknown` asks
        for those that matter, and `Sheet.text` is the sheet as a file.

    Raises
    ------
    SheetError
        When a run cannot be understood.
    """
    written = sketch_text(text, name=name or UNNAMED, system=system)
    try:
        sheet = parse_sheet(written, file=TYPED)
    except SheetError as error:
        # The lines are those of a file that nobody has seen: the run's name says where it is.
        raise SheetError(*(replace(p, line=0) for p in error.problems)) from error
    load = next(iter(sheet.functions), "")
    called = f"Circuit of {load_words(load, sheet)}"
    return sheet if name or not load else sketch(text, name=called, system=system)


def sketch_text(text: str, *, name: str = UNNAMED, system: str = "12 V") -> str:
    """The sheet file that a typed sketch stands for.

    Raises
    ------
    SheetError
        When there is no run in the text.
    """
    if len(text) > MAX_TEXT:
        raise SheetError(
            Problem(
                "sketch",
                text[:40],
                f"is longer than {MAX_TEXT} characters",
                "Write a sheet file instead.",
                "sketch",
            )
        )
    runs: dict[str, list[str]] = {}
    lines = [line.strip() for chunk in text.split("\n") for line in chunk.split(";")]
    for number, line in enumerate((line for line in lines if line), 1):
        head, colon, tail = line.partition(":")
        titled = bool(colon) and not {">", ","} & set(head) and head.strip() != ""
        title = " ".join(head.split()) if titled else f"run {number}"
        items = things(_unbracketed(tail if titled else line))
        if len(items) < 2 or not all(items):
            raise SheetError(
                Problem(
                    f"runs.{title}",
                    line[:80],
                    "is no run: it needs at least two things joined by '>', none of them empty",
                    'Write such as "battery+ > fuse F1 7.5A > key > seat switch > coil Y1 8 ohm > frame".',
                    "sketch",
                    number,
                )
            )
        if title in runs:
            raise SheetError(
                Problem(
                    f"runs.{title}", title, "names two runs", "Give each run its own name.", "sketch", number
                )
            )
        runs[title] = list(items)
    if not runs:
        raise SheetError(
            Problem("sketch", "", "is empty", 'Write a run such as "battery+ > ... > frame".', "sketch")
        )
    return write_document({"sheet": name, "system": _system(system, runs), "runs": runs})


def _system(system: str, runs: dict[str, list[str]]) -> str:
    """The machine's volts: as given, unless a battery of the runs belongs to another machine."""
    try:
        given = parse_quantity(system, unit="V").value
    except UnitError:
        # The sheet's reader says what is wrong with it.
        return system
    found = system_of((item for items in runs.values() for item in items), given)
    return system if found == given else f"{found:g} V"


def _unbracketed(line: str) -> str:
    """A run as a sheet lists it, ``[battery+, ..., frame]``, without its brackets."""
    plain = line.strip()
    return plain[1:-1] if plain.startswith("[") and plain.endswith("]") else plain

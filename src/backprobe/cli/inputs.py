"""What commands are given: sheets as files, standard input or a typed sketch, and readings."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from backprobe.errors import BackprobeError, Problem

if TYPE_CHECKING:
    from backprobe.diagnosis.engine import Engine
    from backprobe.readings.lines import Context
    from backprobe.readings.model import Reading
    from backprobe.sheet.model import Sheet

F = TypeVar("F", bound=Callable[..., Any])
STDIN = "-"
SHAPE = '"battery+ > fuse F1 5 A > key > relay coil K1 > frame"'
MAX_BYTES = 5_000_000
"""Longest input that is read [byte]; a sheet has a few thousand."""


class WrongUseError(BackprobeError):
    """A command that cannot be understood as it was given."""


def wrong(field: str, value: str, message: str, remedy: str) -> WrongUseError:
    """The error of a command's argument: which one, what is wrong, what would be right."""
    return WrongUseError(Problem(field, value[:80], message, remedy))


def json_option(command: F) -> F:
    """Add ``--json``, which every command has."""
    return click.option("--json", "as_json", is_flag=True, help="Print JSON; see docs/json.md.")(command)


def circumstance_option(command: F) -> F:
    """Add ``--circumstance``, which shifts what is likely beforehand."""
    text = "What the complaint says besides: wet, after repair, rough ground, after storage. May be repeated."
    return click.option("--circumstance", "circumstances", multiple=True, metavar="WORD", help=text)(command)


def reading_options(command: F) -> F:
    """Add ``--reading`` and ``--state``."""
    command = click.option(
        "--state",
        metavar="STATE",
        default="",
        help='What holds for each --reading, such as "key on, gate shut, all plugged".',
    )(command)
    return click.option(
        "--reading",
        "typed",
        multiple=True,
        metavar="LINE",
        help='One reading, such as "C2-3 to battery-: 4.78 V, key on, all plugged". May be repeated.',
    )(command)


def read_text(source: str, what: str) -> str:
    """The text of a file, or of standard input for ``-``.

    Raises
    ------
    WrongUseError
        When it cannot be read as text.
    """
    try:
        data = _bytes(source)
    except OSError as error:
        reason = (error.strerror or "cannot be read").lower()
        raise wrong(
            what, source, f"cannot be read: {reason}", "Check the path, or give - for standard input."
        ) from None
    except ValueError:
        raise wrong(what, source, "is no path", "Give the name of a file, or - for standard input.") from None
    if len(data) > MAX_BYTES:
        raise wrong(what, source, f"is longer than {MAX_BYTES // 1_000_000} MB", "Give the right file.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise wrong(what, source, "is not UTF-8 text", "Save the file as UTF-8.") from None


def _bytes(source: str) -> bytes:
    if source != STDIN:
        with Path(source).open("rb") as file:
            return file.read(MAX_BYTES + 1)
    if sys.stdin.isatty():
        click.echo("reading standard input; end it with Ctrl-D", err=True)
    return sys.stdin.buffer.read(MAX_BYTES + 1)


def read_sheet(source: str | None, warmth: str = "") -> Sheet:
    """A sheet from a file, from standard input or from a typed sketch (which has a ``>`` in it).

    Parameters
    ----------
    warmth
        A temperature that stands in place of the sheet's own; empty for the sheet's.
    """
    from backprobe.sheet.reader import parse_sheet
    from backprobe.sheet.sketch import sketch

    if source is None or not source.strip():
        raise wrong("SHEET", "", "is missing", f"Give a sheet file, - or a typed circuit: {SHAPE}.")
    if ">" in source and not Path(source).exists():
        sheet = sketch(source)
    else:
        text = read_text(source, "SHEET")
        sheet = parse_sheet(text, file="standard input" if source == STDIN else source)
    if not warmth.strip():
        return sheet
    from backprobe.workbench.temperature import at_temperature

    return at_temperature(sheet, warmth)


def make_engine(sheet: Sheet, circumstances: Sequence[str] = ()) -> Engine:
    """The engine of a sheet, its circumstances checked."""
    from backprobe.diagnosis.engine import Engine
    from backprobe.faults.catalogue import CIRCUMSTANCES

    for word in circumstances:
        if word not in CIRCUMSTANCES:
            raise wrong("--circumstance", word, "is not known", f"Use {', '.join(CIRCUMSTANCES)}.")
    return Engine(sheet, tuple(dict.fromkeys(circumstances)))


def read_readings(sheet: Sheet, source: str | None, typed: Sequence[str], state: str) -> list[Reading]:
    """Readings from a file (or ``-``) and from ``--reading``.

    Raises
    ------
    BackprobeError
        With the problems of all lines.
    """
    from backprobe.readings.lines import parse_readings

    found: list[Reading] = []
    if source:
        name = "standard input" if source == STDIN else source
        found += parse_readings(read_text(source, "READINGS"), sheet, file=name)
    return found + _typed(sheet, typed, parse_state(sheet, state))


def parse_state(sheet: Sheet, state: str) -> Context:
    """The context that ``--state`` gives."""
    from backprobe.readings.lines import Context, parse_context

    return parse_context(state, sheet, file="--state") if state.strip() else Context()


def _typed(sheet: Sheet, typed: Sequence[str], context: Context) -> list[Reading]:
    from backprobe.errors import ReadingError
    from backprobe.readings.lines import context_after, parse_context, parse_reading

    found: list[Reading] = []
    problems: list[Problem] = []
    settled = bool(context.state or context.plugs_known)
    for number, line in enumerate(typed, 1):
        at = number if len(typed) > 1 else 0
        try:
            if line.strip().lower().startswith("state:"):
                context = parse_context(line.strip()[6:], sheet, context, file="--reading", line=at)
                settled = True
            else:
                found.append(parse_reading(line, sheet, context, file="--reading", line=at))
                context = context.after(found[-1]) if settled else context_after(found)
        except ReadingError as error:
            problems += error.problems
    if problems:
        raise ReadingError(*problems)
    return found

"""Find dropouts and changes in a recording of volts over time."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from backprobe.cli.inputs import STDIN, circumstance_option, json_option, read_sheet, wrong
from backprobe.cli.output import progress, say, say_json

MOST_BYTES = 300_000_000
"""Longest recording that is read [byte]: some ten million rows."""
NOTES_REMEDY = "Check the path, or give - for standard input."


@click.command(
    "log",
    epilog="Example: backprobe log seat.csv\n\n"
    "Example: backprobe log seat.csv --notes shaken.txt --sheet sprayer.yaml --red C2-2 "
    '--state "key on, gate shut, boom button pressed, all plugged"',
)
@click.argument("recording", metavar="RECORDING", required=False)
@click.option(
    "--channel", default="", metavar="NAME", help="The channel that is asked about; else the first."
)
@click.option("--notes", default="", metavar="FILE", help="Notes with times, such as: 12.5 s: wiggled C2.")
@click.option(
    "--within",
    type=float,
    default=None,
    metavar="SECONDS",
    help="How near to its beginning a note belongs to a dropout; else 3, less in a short recording.",
)
@click.option("--sheet", default="", metavar="SHEET", help="The circuit, to say what explains both levels.")
@click.option("--red", default="", metavar="POINT", help="Where the recorder's red lead was.")
@click.option("--black", default="battery-", show_default=True, metavar="POINT", help="And its black one.")
@click.option("--state", default="", metavar="STATE", help="Operator state and plugs while it recorded.")
@circumstance_option
@json_option
def run(
    *,
    recording: str | None,
    channel: str,
    notes: str,
    within: float | None,
    sheet: str,
    red: str,
    black: str,
    state: str,
    circumstances: tuple[str, ...],
    as_json: bool,
) -> int:
    """Find dropouts and changes in a recording of volts over time.

    RECORDING is a table, or - for standard input: a column of times, one or more channels,
    perhaps notes, headed such as: time [s],signal [V],note. It tells how often and how long
    the level drops out, what moved when, and whether notes fall together with it. With a
    sheet and the points it ranks what explains both levels.

    Exits 1 when there are dropouts or changes.
    """
    from backprobe.report.log_data import log_data
    from backprobe.report.log_words import log_text
    from backprobe.workbench.log import study_log
    from backprobe.workbench.log_suspects import log_suspects
    from backprobe.workbench.recording import parse_log, parse_notes

    if recording is None or not recording.strip():
        raise wrong("RECORDING", "", "is missing", "Give a table of times and volts, or -.")
    if bool(sheet) != bool(red):
        lacks = "--red" if sheet else "--sheet"
        raise wrong(lacks, "", "is missing", "Give --sheet and --red together.")
    circuit = read_sheet(sheet) if sheet else None
    name = "standard input" if recording == STDIN else recording
    with progress("reading"):
        found = parse_log(_read(recording, "RECORDING"), file=name)
    taken = parse_notes(_read(notes, "--notes"), found, file=notes) if notes else ()
    with progress("studying"):
        study = study_log(found, channel, notes=taken, within=within)
        suspects = None
        if circuit is not None and study.own.spans:
            suspects = log_suspects(circuit, study.own, red, black, state=state, circumstances=circumstances)
    say_json(log_data(study, suspects)) if as_json else say(log_text(study, suspects))
    return int(study.anything)


def _read(source: str, what: str) -> str:
    """The text of a recording, which may be far longer than any other input."""
    try:
        if source == STDIN:
            data = sys.stdin.buffer.read(MOST_BYTES + 1)
        else:
            with Path(source).open("rb") as file:
                data = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or "cannot be read").lower()
        raise wrong(what, source, f"cannot be read: {reason}", NOTES_REMEDY) from None
    if len(data) > MOST_BYTES:
        raise wrong(what, source, f"is longer than {MOST_BYTES // 1_000_000} MB", "Give a part of it.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise wrong(what, source, "is not UTF-8 text", "Save the file as UTF-8.") from None


COMMAND = run

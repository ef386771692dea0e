"""Make a sheet from a circuit typed as you follow it."""

from __future__ import annotations

import click

from backprobe.cli.inputs import STDIN, json_option, make_engine, read_text, wrong
from backprobe.cli.output import progress, say, say_json

SHAPE = "battery+ > fuse F1 7.5A > key > C1-2 > seat switch > C1-3 > relay coil K1 84 ohm > frame"

START = "battery+ > fuse F2 15 A > key start > brake switch > seat switch > relay coil K1 > frame"


@click.command(
    "sketch",
    epilog=f'Example: backprobe sketch "{SHAPE}"\n\nExample: backprobe sketch "{START}" --write mower.yaml',
)
@click.argument("text", metavar="RUNS", required=False)
@click.option(
    "--name",
    default="",
    metavar="TEXT",
    help="Name of the sheet: machine, circuit, build; else after its file or its load.",
)
@click.option("--system", default="12 V", show_default=True, help="Nominal volts of the machine.")
@click.option("--write", "file", metavar="FILE", default="", help="Write the sheet to a new file.")
@json_option
def run(text: str | None, name: str, system: str, file: str, as_json: bool) -> None:
    """Make a sheet from a circuit typed as you follow it, from source to return.

    RUNS is what the current meets, joined by >; further runs after a semicolon or on a line
    of their own; - for standard input. A key switch passes current in on and start; write key
    start for the wire that is live in start only. It prints the sheet, its guards, what was
    assumed and why, what it asks and what to do next, all as one sheet file; with --write that
    goes into FILE, and only what matters is printed.
    """
    from backprobe.diagnosis.states import try_states
    from backprobe.report.sheet_data import sketch_data
    from backprobe.report.sketch_words import sketch_report, written_report
    from backprobe.sheet.sketch import sketch

    if text is None:
        raise wrong(
            "RUNS", "", "is missing: type the circuit as you follow it, in quotes", f'Such as "{SHAPE}".'
        )
    typed = read_text(STDIN, "RUNS") if text == STDIN else text
    sheet = sketch(typed, name=name or _called(file), system=system)
    with progress("trying the operator states"):
        states = try_states(make_engine(sheet))
    if file:
        _write(file, sketch_report(sheet, states, file))
    if as_json:
        say_json(sketch_data(sheet, states, file))
    else:
        say(written_report(sheet, states, file) if file else sketch_report(sheet, states))


def _called(file: str) -> str:
    """A name for the sheet after the file that it is written to."""
    from pathlib import PurePath

    return " ".join(PurePath(file).stem.replace("-", " ").replace("_", " ").split())


def _write(file: str, text: str) -> None:
    from pathlib import Path

    try:
        with Path(file).open("x", encoding="utf-8") as out:
            out.write(text + "\n")
    except FileExistsError:
        raise wrong("--write", file, "exists already, and is left as it is", "Name a new file.") from None
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise wrong(
            "--write", file, f"cannot be written: {reason}", "Name a file in a folder you may write."
        ) from None


COMMAND = run

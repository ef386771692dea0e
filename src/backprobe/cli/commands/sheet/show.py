"""Draw the runs of a sheet and list all it says."""

from __future__ import annotations

import click

from backprobe.cli.inputs import STDIN, json_option, make_engine, read_sheet, wrong
from backprobe.cli.output import progress, say, say_json


@click.command("show", epilog="Example: backprobe sheet show sprayer.yaml --svg sprayer.svg")
@click.argument("sheet", metavar="SHEET", required=False)
@click.option(
    "--svg",
    "file",
    metavar="FILE",
    help="Write the circuit drawing, supply on top, as a new SVG file; - for standard output.",
)
@json_option
def run(sheet: str | None, file: str | None, as_json: bool) -> None:
    """Draw the runs of a sheet from source to return, and list all it says.

    Every value comes with its tolerance and where it is from; every function with its guard
    and a state in which it works. SHEET is a sheet file, - for standard input, or a typed
    circuit with > in it.
    """
    from backprobe.diagnosis.states import try_states
    from backprobe.report.sheet_data import sheet_data
    from backprobe.report.sheet_words import sheet_text

    if file == STDIN and as_json:
        raise wrong("--svg", file, "and --json both ask for standard output", "Name a file for the drawing.")
    found = read_sheet(sheet)
    if file is not None:
        from backprobe.report.drawing import draw

        _write(file, draw(found))
        if not as_json:
            if file != STDIN:
                say(f"{found.name}: drawing written to {file}; a browser shows it")
            return
    with progress("trying the operator states"):
        states = try_states(make_engine(found))
    say_json(sheet_data(found, states)) if as_json else say(sheet_text(found, states))


def _write(file: str, drawing: str) -> None:
    """Write a drawing to standard output or to a new file."""
    from pathlib import Path

    if file == STDIN:
        say(drawing.rstrip("\n"))
        return
    try:
        with Path(file).open("x", encoding="utf-8") as out:
            out.write(drawing)
    except FileExistsError:
        raise wrong("--svg", file, "exists already, and is left as it is", "Name a new file.") from None
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise wrong(
            "--svg", file, f"cannot be written: {reason}", "Name a file in a folder you may write."
        ) from None


COMMAND = run

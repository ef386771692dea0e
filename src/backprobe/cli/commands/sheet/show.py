"""Draw the runs of a sheet and list all it says."""

from __future__ import annotations

import click

from backprobe.cli.inputs import json_option, make_engine, read_sheet
from backprobe.cli.output import progress, say, say_json


@click.command("show", epilog="Example: backprobe sheet show sprayer.yaml")
@click.argument("sheet", metavar="SHEET", required=False)
@json_option
def run(sheet: str | None, as_json: bool) -> None:
    """Draw the runs of a sheet from source to return, and list all it says.

    Every value comes with its tolerance and where it is from; every function with its guard
    and a state in which it works. SHEET is a sheet file, - for standard input, or a typed
    circuit with > in it.
    """
    from backprobe.diagnosis.states import try_states
    from backprobe.report.sheet_data import sheet_data
    from backprobe.report.sheet_words import sheet_text

    found = read_sheet(sheet)
    with progress("trying the operator states"):
        states = try_states(make_engine(found))
    say_json(sheet_data(found, states)) if as_json else say(sheet_text(found, states))


COMMAND = run

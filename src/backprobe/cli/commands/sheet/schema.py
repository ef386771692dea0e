"""Print the JSON Schema of sheet files, for editors."""

from __future__ import annotations

import click

from backprobe.cli.inputs import json_option
from backprobe.cli.output import say_json


@click.command("schema", epilog="Example: backprobe sheet schema")
@json_option
def run(as_json: bool) -> None:
    """Print the JSON Schema of sheet files, for editors that help while typing.

    It is made from the same tables that the messages and defaults come from.
    """
    from backprobe.report.sheet_schema import sheet_schema

    say_json(sheet_schema())


COMMAND = run

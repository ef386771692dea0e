"""Print the JSON Schema of what a command prints with --json."""

from __future__ import annotations

import click

from backprobe.cli.inputs import json_option, wrong
from backprobe.cli.output import say, say_json


@click.command("schema", epilog="Example: backprobe schema rank\n\nExample: backprobe schema job show")
@click.argument("command", nargs=-1)
@json_option
def run(command: tuple[str, ...], as_json: bool) -> None:
    """Print the JSON Schema of what COMMAND prints with --json.

    Without COMMAND: the names of all of them. For sheet files: `backprobe sheet schema`.
    """
    from backprobe.report.schemas import SCHEMAS

    name = " ".join(command)
    if name and name not in SCHEMAS:
        raise wrong("COMMAND", name, "prints no JSON of its own", f"Use one of: {', '.join(SCHEMAS)}.")
    if name:
        say_json(SCHEMAS[name])
    elif as_json:
        say_json({key: schema["title"] for key, schema in SCHEMAS.items()})
    else:
        width = max(len(key) for key in SCHEMAS)
        say("\n".join(f"{key:<{width}}  {schema['title']}" for key, schema in SCHEMAS.items()))


COMMAND = run

"""Begin a sheet from a template, for when there is no book."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from backprobe.cli.inputs import STDIN, json_option, make_engine, wrong
from backprobe.cli.output import progress, say, say_json

if TYPE_CHECKING:
    from backprobe.sheet.templates import Template


@click.command("new", epilog="Example: backprobe sheet new --from start-chain")
@click.argument("file", metavar="FILE", required=False)
@click.option("--from", "source", metavar="NAME", default="", help="The template; else they are listed.")
@click.option("--name", default="", metavar="TEXT", help="Name of the sheet: machine, circuit, build.")
@json_option
def run(file: str | None, source: str, name: str, as_json: bool) -> None:
    """Begin a sheet from a template, for when there is no book.

    FILE is the new file, NAME.yaml in this folder when missing, - for standard output; one that
    exists is left as it is. It says what to read first and what is still unknown. Without --from
    it lists the templates.
    """
    from backprobe.report.template_words import templates_data, templates_text
    from backprobe.sheet.templates import template, templates

    if source.strip():
        chosen = template(source)
        chosen = chosen.named(name) if name.strip() else chosen
        _begin(chosen, file or f"{chosen.name}.yaml", as_json)
        return
    if file or name.strip():
        field, value = ("FILE", file) if file else ("--name", name)
        known = ", ".join(t.name for t in templates())
        raise wrong(field, value, "has no template to begin with", f"Add --from, one of {known}.")
    say_json(templates_data(templates())) if as_json else say(templates_text(templates()))


def _begin(chosen: Template, file: str, as_json: bool) -> None:
    from backprobe.api import plan
    from backprobe.report.template_words import begun_data, first_text, unknown_text, written_text

    if file == STDIN:
        if as_json:
            raise wrong("FILE", file, "and --json both ask for standard output", "Name a file for the sheet.")
        say(chosen.text.rstrip("\n"))
        return
    sheet = chosen.sheet(file)
    _write(file, chosen.text)
    if not as_json:
        # The plan takes seconds: all else is there to be read meanwhile.
        say(f"{written_text(sheet, file)}\n\n{unknown_text(sheet, file)}\n")
    with progress("planning what to read first"):
        made = plan(make_engine(sheet))
    say_json(begun_data(chosen, made, file)) if as_json else say(first_text(made))


def _write(file: str, text: str) -> None:
    try:
        with Path(file).open("x", encoding="utf-8") as out:
            out.write(text)
    except FileExistsError:
        raise wrong("FILE", file, "exists already, and is left as it is", "Name a new file.") from None
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise wrong(
            "FILE", file, f"cannot be written: {reason}", "Name a file in a folder you may write."
        ) from None


COMMAND = run

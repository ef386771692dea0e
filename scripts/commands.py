"""Write docs/commands.md and docs/json.md from the program itself; `--check` only compares.

Run it after a change of a command, an option or an output: ``.venv/bin/python scripts/commands.py``.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import click

from backprobe.cli.lazy import LazyGroup
from backprobe.cli.main import app
from backprobe.report.schema_words import Schema
from backprobe.report.schemas import (
    ANSWER,
    CHECK,
    ENTRY,
    JOB,
    PART,
    PROBLEM,
    READING,
    SCHEMAS,
    SETUP,
    SHEET,
    SUSPECT,
    VALUE,
)

DOCS = Path(__file__).resolve().parents[1] / "docs"
WIDTH = 80


def commands(group: LazyGroup, path: tuple[str, ...] = ()) -> Iterator[tuple[str, click.Command]]:
    """Every command with its whole name, groups before their own commands."""
    context = click.Context(group, info_name=" ".join(("backprobe", *path)))
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        if command is None or command.hidden:
            continue
        yield " ".join((*path, name)), command
        if isinstance(command, LazyGroup):
            yield from commands(command, (*path, name))


def help_text(name: str, command: click.Command) -> str:
    """What ``--help`` prints, without the trailing blanks."""
    context = click.Context(command, info_name=f"backprobe {name}".strip(), **app.context_settings)
    context.terminal_width = WIDTH
    return "\n".join(line.rstrip() for line in command.get_help(context).splitlines())


def commands_page() -> str:
    """The page of all commands."""
    out = [
        "# Commands\n",
        "Made by `scripts/commands.py` from the program's own help; a test compares the two.\n",
        "Exit codes: 0 done, 1 a problem was found (a sheet with errors, readings that no fault of the sheet",
        "explains), 2 wrong use, 3 a defect of the program (`BACKPROBE_DEBUG=1` shows where), 130 stopped.",
        "Messages go to standard error. What `--json` prints is described in [json.md](json.md).\n",
        "```text",
        help_text("", app),
        "```\n",
    ]
    for name, command in commands(app):
        out += [f"## backprobe {name}\n", "```text", help_text(name, command), "```\n"]
    return "\n".join(out)


SHAPES = {
    "answer": ANSWER,
    "suspect": SUSPECT,
    "reading": READING,
    "setup": SETUP,
    "check": CHECK,
    "sheet": SHEET,
    "part": PART,
    "value": VALUE,
    "problem": PROBLEM,
    "job": JOB,
    "entry": ENTRY,
}
"""Things that stand in several documents, each told once."""

INTRO = """# JSON

Made by `scripts/commands.py` from the schemas that the tests check every output against.
`backprobe schema COMMAND` prints a schema in full (JSON Schema 2020-12), `backprobe sheet
schema` that of sheet files. Values are in V, ohm, A and minutes; probabilities run from 0 to
1. JSON has no infinity: over-range and unsteady readings say so, and what has no value is
`null`. Without `-o`, `job export` prints the exchange format, which `job import` takes in.
"""


def json_page() -> str:
    """The page of all JSON documents, key by key."""
    out = [INTRO]
    for name, schema in SCHEMAS.items():
        out += [f"## backprobe {name} --json\n", f"{schema['title']}.\n", *table(schema)]
    for name, schema in SHAPES.items():
        out += [f"## {name.capitalize()}\n", *table(schema)]
    return "\n".join(out)


def table(schema: Schema) -> list[str]:
    """The keys of one thing; a thing that is told elsewhere is only named."""
    shape = shape_of({k: v for k, v in schema.items() if k not in {"$schema", "title"}})
    if shape and "title" in schema:
        return [f"One {link(shape)}.\n"]
    rows = [f"| `{key}` | {kind} | {about} |" for key, kind, about in keys(schema)]
    return ["| key | what | about |", "|---|---|---|", *rows, ""]


def bare(schema: Schema) -> Schema:
    """A schema without its description."""
    return {k: v for k, v in schema.items() if k != "description"}


def shape_of(schema: Schema) -> str:
    """The name of a thing that is told elsewhere; empty for all others."""
    return next((name for name, shape in SHAPES.items() if bare(schema) == bare(shape)), "")


def link(shape: str) -> str:
    """A link to where a thing is told."""
    return f"[{shape}](#{shape})"


def keys(schema: Schema, path: str = "") -> Iterator[tuple[str, str, str]]:
    """Every key of a schema: its path, its type and what it is about."""
    if path and shape_of(schema):
        return
    if "anyOf" in schema:
        yield from keys(schema["anyOf"][0], path)
        return
    if schema.get("type") == "array":
        yield from keys(schema["items"], f"{path}[]")
        return
    extra = schema.get("additionalProperties")
    if isinstance(extra, dict):
        yield from keys(extra, f"{path}.*")
        return
    for name, inner in schema.get("properties", {}).items():
        place = f"{path}.{name}" if path else name
        yield place, kind_of(inner), inner.get("description", "")
        yield from keys(inner, place)


def kind_of(schema: Schema) -> str:
    """The type of a schema in words."""
    if shape := shape_of(schema):
        return link(shape)
    if "anyOf" in schema:
        return " or ".join(kind_of(s) for s in schema["anyOf"])
    if "enum" in schema:
        return ", ".join(f"`{word}`" for word in schema["enum"])
    kind = schema["type"]
    if kind == "array":
        return f"list of {kind_of(schema['items'])}"
    if isinstance(schema.get("additionalProperties"), dict):
        return f"name to {kind_of(schema['additionalProperties'])}"
    return " or ".join(kind) if isinstance(kind, list) else str(kind)


def main() -> int:
    """Write the pages, or with ``--check`` say which are stale."""
    pages = {DOCS / "commands.md": commands_page(), DOCS / "json.md": json_page()}
    stale = [p for p, text in pages.items() if not p.exists() or p.read_text(encoding="utf-8") != text]
    if "--check" not in sys.argv[1:]:
        for path in stale:
            path.write_text(pages[path], encoding="utf-8")
        return 0
    for path in stale:
        print(f"{path.name} is stale: run scripts/commands.py", file=sys.stderr)
    return int(bool(stale))


if __name__ == "__main__":
    sys.exit(main())

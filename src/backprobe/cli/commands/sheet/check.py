"""Check sheet files and report everything that is wrong in one pass."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from backprobe.cli.inputs import STDIN, WrongUseError, json_option, make_engine, read_text
from backprobe.cli.output import progress, say, say_json, warn
from backprobe.errors import Problem, SheetError

if TYPE_CHECKING:
    from backprobe.diagnosis.engine import Engine
    from backprobe.diagnosis.states import States
    from backprobe.sheet.model import Sheet

Checked = tuple["Sheet", "Engine", "States"]


@click.command("check", epilog="Example: backprobe sheet check sprayer.yaml")
@click.argument("files", nargs=-1, required=True, metavar="FILE...")
@json_option
def run(files: tuple[str, ...], as_json: bool) -> int:
    """Check sheet files; - for standard input.

    A good one is counted: parts, points, faults, and how many values are measured,
    published, assumed or default; then what it asks, and what looks odd in it. Exits 1 when a
    sheet has problems, 2 when a file cannot be read.
    """
    from backprobe.report.sheet_data import check_file_data
    from backprobe.report.sheet_words import check_text, problems_text

    worst = 0
    documents: list[object] = []
    for file in files:
        name = "standard input" if file == STDIN else file
        checked: Checked | None = None
        problems: tuple[Problem, ...] = ()
        try:
            with progress(f"checking {name}"):
                checked = _check(file, name)
        except SheetError as error:
            problems, worst = error.problems, max(worst, 1)
        except WrongUseError as error:
            problems, worst = error.problems, 2
        documents.append(check_file_data(name, checked, problems))
        if as_json:
            continue
        if checked:
            say(check_text(*checked))
        else:
            warn(problems_text(problems))
    if as_json:
        say_json({"files": documents})
    return worst


def _check(file: str, name: str) -> Checked:
    from backprobe.diagnosis.states import try_states
    from backprobe.sheet.reader import parse_sheet

    sheet = parse_sheet(read_text(file, "FILE"), file=name)
    engine = make_engine(sheet)
    return sheet, engine, try_states(engine)


COMMAND = run

"""Find numbers that cannot be so."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from backprobe.cli.inputs import STDIN, json_option, read_text, wrong
from backprobe.cli.output import progress, say, say_json
from backprobe.errors import SheetError

if TYPE_CHECKING:
    from backprobe.workbench.finding import Finding

SHEET = re.compile(r"(?m)^(sheet|runs)\s*:")


@click.command(
    "sanity",
    epilog="Example: backprobe sanity sprayer.yaml\n\n"
    'Example: backprobe sanity "50 F is 10 C" "12 V 24 W 2 A"',
)
@click.argument("sources", nargs=-1, metavar="SHEET|CLAIMS...")
@json_option
def run(sources: tuple[str, ...], as_json: bool) -> int:
    """Find numbers that cannot be so: in a sheet, or in what somebody claims.

    Give a sheet file, a file of claims (one a line), - for either, or claims as they are:
    "68 F is 30 C", "5 V and 2 A trip below 40 ohm", "0.3 A drain flattened 60 Ah in
    2 months". Each finding shows its arithmetic and what would be right.

    Exits 1 when something cannot be so.
    """
    from backprobe.report.numbers_data import sanity_data
    from backprobe.report.sanity_words import sanity_text
    from backprobe.workbench.sanity import sanity

    text, name = _text(sources)
    claims = not SHEET.search(text)
    with progress("reckoning"):
        found = sanity(text, file=name) if claims else _sheet(text, name)
    shown = sanity_text(found, name, claims=claims)
    say_json(sanity_data(found, name, claims=claims)) if as_json else say(shown)
    return int(any(f.wrong for f in found))


def _text(sources: tuple[str, ...]) -> tuple[str, str]:
    if not sources:
        remedy = 'Give a sheet, a file of claims, - or a claim such as "68 F is 30 C".'
        raise wrong("SHEET|CLAIMS", "", "is missing", remedy)
    if len(sources) == 1 and (sources[0] == STDIN or _is_file(sources[0])):
        name = "standard input" if sources[0] == STDIN else sources[0]
        return read_text(sources[0], "SHEET|CLAIMS"), name
    return "\n".join(sources), "as typed"


def _is_file(source: str) -> bool:
    """Whether a source is a path rather than a claim; a path that is not there is asked for by name."""
    try:
        exists = Path(source).exists()
    except (OSError, ValueError):
        return False
    return exists or (" " not in source and bool(re.search(r"\.\w{2,5}$", source)))


def _sheet(text: str, name: str) -> tuple[Finding, ...]:
    from backprobe.sheet.reader import parse_sheet
    from backprobe.workbench.finding import Finding
    from backprobe.workbench.sanity import sanity

    try:
        sheet = parse_sheet(text, file=name)
    except SheetError as error:
        # What the reader refuses is wrong in the same sense: limits the wrong way round, bands that overlap.
        return tuple(Finding(p.field, p.value, p.message, p.remedy, line=p.line) for p in error.problems)
    return sanity(sheet)


COMMAND = run

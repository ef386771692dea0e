"""Judge everything that people propose as a cure, in one table."""

from __future__ import annotations

import click

from backprobe.cli.inputs import (
    STDIN,
    json_option,
    make_engine,
    read_readings,
    read_sheet,
    read_text,
    reading_options,
    wrong,
)
from backprobe.cli.output import progress, say, say_json


@click.command(
    "hearsay", epilog="Example: backprobe hearsay sprayer.yaml proposed.txt --readings readings.txt"
)
@click.argument("sheet", metavar="SHEET", required=False)
@click.argument("lines", metavar="FILE", required=False)
@click.option("--readings", metavar="FILE", help="Readings, one a line; the suspects follow from them.")
@reading_options
@json_option
def run(
    *,
    sheet: str | None,
    lines: str | None,
    readings: str | None,
    typed: tuple[str, ...],
    state: str,
    as_json: bool,
) -> int:
    """Judge everything that people propose as a cure, in one table.

    SHEET is a sheet file, or a typed circuit with > in it. FILE holds one proposed cure a line, as
    it was said, or is - for standard input. Below the table stands an answer that can be pasted as
    a reply, with the evidence and the cautions.

    Exits 1 when a line is not understood.
    """
    from backprobe.report.hearsay_words import answer_text, hearsay_text
    from backprobe.report.trial_data import hearsay_data
    from backprobe.workbench.hearsay import hearsay

    if lines is None:
        raise wrong("FILE", "", "is missing", "Give a file with one proposed cure a line, or -.")
    if [sheet, lines, readings].count(STDIN) > 1:
        raise wrong("FILE", STDIN, "is given twice", "Standard input can be one of them only.")
    found = read_sheet(sheet)
    taken = read_readings(found, readings, typed, state)
    name = "standard input" if lines == STDIN else lines
    text = read_text(lines, "FILE")
    with progress("trying"):
        result = hearsay(make_engine(found), text, taken, file=name)
    say_json(hearsay_data(result, answer_text(result))) if as_json else say(hearsay_text(result))
    return int(any(s.trial is None for s in result.said))


COMMAND = run

"""Show the checks most worth doing next."""

from __future__ import annotations

import click

from backprobe.cli.inputs import (
    circumstance_option,
    json_option,
    make_engine,
    read_readings,
    read_sheet,
    reading_options,
)
from backprobe.cli.output import progress, say, say_json
from backprobe.cli.whole import Whole


@click.command(
    "next",
    epilog="Example: backprobe next sprayer.yaml readings.txt --count 2",
)
@click.argument("sheet", metavar="SHEET", required=False)
@click.argument("readings", required=False)
@click.option("-n", "--count", default=3, show_default=True, type=Whole(1, 40), help="How many checks.")
@reading_options
@circumstance_option
@json_option
def run(
    *,
    sheet: str | None,
    readings: str | None,
    count: int,
    typed: tuple[str, ...],
    state: str,
    circumstances: tuple[str, ...],
    as_json: bool,
) -> None:
    """Show the checks that tell most for each minute, with their cautions.

    SHEET is a sheet file, - for standard input, or a typed circuit with > in it. READINGS is
    a file with one reading a line, or -.
    """
    from backprobe.api import next_checks, rank
    from backprobe.report.check_words import checks_text
    from backprobe.report.data import checks_data

    found = read_sheet(sheet)
    taken = read_readings(found, readings, typed, state)
    with progress("looking for checks"):
        answer = rank(make_engine(found, circumstances), taken)
        checks = next_checks(answer, count)
    say_json(checks_data(answer, checks)) if as_json else say(checks_text(checks, answer))


COMMAND = run

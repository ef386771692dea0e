"""Rank what can be wrong by what was read."""

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

CHECKS = 12
"""Checks to look through for one that tells the leading suspects apart."""


@click.command(
    "rank",
    epilog="Example: backprobe rank sprayer.yaml readings.txt\n\n"
    'Example: backprobe rank "battery+ > fuse F1 5 A > key > relay coil K1 > frame" '
    '--reading "relay K1 dead, key on"',
)
@click.argument("sheet", metavar="SHEET", required=False)
@click.argument("readings", required=False)
@reading_options
@circumstance_option
@click.option("--at", "warmth", default="", metavar="CELSIUS", help="How warm the circuit is, such as -15C.")
@json_option
def run(
    *,
    sheet: str | None,
    readings: str | None,
    typed: tuple[str, ...],
    state: str,
    circumstances: tuple[str, ...],
    warmth: str,
    as_json: bool,
) -> int:
    """Rank what can be wrong by what was read.

    SHEET is a sheet file, - for standard input, or a typed circuit with > in it. READINGS is
    a file with one reading a line, or -. Without readings it shows what fails most often,
    and what to read first.

    Exits 1 when no fault of this sheet explains the readings.
    """
    from backprobe.api import next_checks, rank
    from backprobe.report.data import answer_data
    from backprobe.report.words import answer_text, none_leads

    found = read_sheet(sheet, warmth)
    taken = read_readings(found, readings, typed, state)
    with progress("ranking"):
        answer = rank(make_engine(found, circumstances), taken)
        checks = next_checks(answer, CHECKS)
    say_json(answer_data(answer, checks)) if as_json else say(answer_text(answer, checks))
    return int(none_leads(answer))


COMMAND = run

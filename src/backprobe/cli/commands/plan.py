"""Print a decision tree of checks ahead of time."""

from __future__ import annotations

import click

from backprobe.cli.inputs import circumstance_option, json_option, make_engine, read_sheet
from backprobe.cli.output import progress, say, say_json
from backprobe.cli.whole import Whole


@click.command(
    "plan",
    epilog="Example: backprobe plan sprayer.yaml\n\n"
    'Example: backprobe plan "battery+ > fuse F1 5 A > key > relay coil K1 > frame" '
    '--when "relay K1 dead, key on"',
)
@click.argument("sheet", metavar="SHEET", required=False)
@click.option(
    "--when",
    "complaint",
    multiple=True,
    metavar="LINE",
    help="The complaint, and what was read already, one line each; else a function is taken to be dead.",
)
@click.option("--depth", default=5, show_default=True, type=Whole(1, 8), help="Most checks in a row.")
@click.option("--steps", default=8, show_default=True, type=Whole(1, 40), help="Most checks in all.")
@circumstance_option
@json_option
def run(
    *,
    sheet: str | None,
    complaint: tuple[str, ...],
    depth: int,
    steps: int,
    circumstances: tuple[str, ...],
    as_json: bool,
) -> None:
    """Print which check comes first, what each outcome leads to, and where repairing begins.

    SHEET is a sheet file, - for standard input, or a typed circuit with > in it. The plan is one
    page, to be printed before driving out to the machine.
    """
    from backprobe.api import plan
    from backprobe.readings.lines import parse_readings
    from backprobe.report.plan_data import plan_data
    from backprobe.report.plan_words import plan_text

    found = read_sheet(sheet)
    readings = parse_readings("\n".join(complaint), found, file="--when")
    with progress("planning"):
        made = plan(make_engine(found, circumstances), readings, depth=depth, steps=steps)
    say_json(plan_data(made)) if as_json else say(plan_text(made))


COMMAND = run

"""Reckon amperes against fuse, driver, feed and wire."""

from __future__ import annotations

import click

from backprobe.cli.inputs import json_option, make_engine, parse_state, read_sheet
from backprobe.cli.output import progress, say, say_json


@click.command("budget", epilog='Example: backprobe budget sprayer.yaml --state "key on, gate shut"')
@click.argument("sheet", metavar="SHEET", required=False)
@click.option(
    "--state",
    metavar="STATE",
    default="",
    help='Such as "key on, gate shut", the rest at rest; else a state in which it works.',
)
@click.option(
    "--capacity",
    default=70.0,
    show_default=True,
    type=click.FloatRange(0.1, 2000),
    help="Of the battery [Ah].",
)
@click.option("--at", "warmth", default="", metavar="CELSIUS", help="How warm the circuit is, such as -15C.")
@json_option
def run(*, sheet: str | None, state: str, capacity: float, warmth: str, as_json: bool) -> int:
    """Reckon what every fuse, driver, feed, load and run carries.

    SHEET is a sheet file, - for standard input, or a typed circuit with > in it. Amperes are
    given rested, running, and running with the lowest ohms that the sheet allows; fuses with
    the time they last, and the days until this circuit flattens a battery.

    Exits 1 when something is asked too much.
    """
    from backprobe.circuit.setup import make_setup
    from backprobe.report.budget_words import budget_text
    from backprobe.report.numbers_data import budget_data
    from backprobe.workbench.budget import budget

    found = read_sheet(sheet, warmth)
    with progress("solving"):
        engine = make_engine(found)
        context = parse_state(found, state)
        setup = make_setup(found, dict(context.state), context.unplugged) if state.strip() else None
        result = budget(engine, setup, capacity=capacity)
    say_json(budget_data(result)) if as_json else say(budget_text(result))
    return int(any(f.wrong for f in result.findings))


COMMAND = run

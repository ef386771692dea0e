"""Show what the meter should read at every point."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from backprobe.cli.inputs import json_option, make_engine, parse_state, read_sheet, wrong
from backprobe.cli.output import progress, say, say_json

if TYPE_CHECKING:
    from backprobe.circuit.setup import Setup
    from backprobe.diagnosis.engine import Engine


@click.command(
    "predict",
    epilog='Example: backprobe predict sprayer.yaml --state "key on, gate shut"\n\n'
    'Example: backprobe predict sprayer.yaml --fault "fuse F4: blown" --at C1-1 --at C2-1',
)
@click.argument("sheet", metavar="SHEET", required=False)
@click.option(
    "--state",
    metavar="STATE",
    default="",
    help='Such as "key on, gate shut", the rest of the controls at rest; else a state in which it works.',
)
@click.option("--fault", metavar="FAULT", default="", help='A fault to act out, such as "fuse F4: blown".')
@click.option(
    "--unplugged", multiple=True, metavar="NAME", help="A plug, fuse or ring that is off. May be repeated."
)
@click.option("--at", "points", multiple=True, metavar="POINT", help="Only this point. May be repeated.")
@click.option(
    "--black", default="battery-", show_default=True, metavar="POINT", help="Where the black lead is."
)
@json_option
def run(
    *,
    sheet: str | None,
    state: str,
    fault: str,
    unplugged: tuple[str, ...],
    points: tuple[str, ...],
    black: str,
    as_json: bool,
) -> None:
    """Show what the meter should read at every point that a lead can reach.

    SHEET is a sheet file, - for standard input, or a typed circuit with > in it.
    """
    from backprobe.api import predict
    from backprobe.diagnosis.coach import coach_setup
    from backprobe.diagnosis.states import works_with
    from backprobe.report.coach_words import advice_lines
    from backprobe.report.data import advice_data, expected_data
    from backprobe.report.expected_words import expected_text

    found = read_sheet(sheet)
    with progress("solving"):
        engine = make_engine(found)
        setup = _setup(engine, state, unplugged)
        _check_names(engine, setup, fault, (*points, black))
        expected = predict(engine, setup, points=points, black=black, fault=fault)
        works = works_with(engine, setup, fault)
        mind = coach_setup(engine, setup, black)
    if as_json:
        data = expected_data(found.name, setup, expected, fault=fault, works=works)
        say_json({**data, "mind": advice_data(mind)})
    else:
        say("\n".join([expected_text(expected, setup, found, fault=fault, works=works), *advice_lines(mind)]))


def _setup(engine: Engine, state: str, unplugged: tuple[str, ...]) -> Setup:
    from backprobe.circuit.setup import make_setup
    from backprobe.diagnosis.states import try_states

    words = ", ".join([state, *(f"{name} unplugged" for name in unplugged)]).strip(", ")
    context = parse_state(engine.sheet, words)
    positions = dict(context.state)
    if not positions:
        best = try_states(engine, every=False).best
        positions = dict(best.state) if best else {}
    return make_setup(engine.sheet, positions, context.unplugged)


def _check_names(engine: Engine, setup: Setup, fault: str, points: tuple[str, ...]) -> None:
    from backprobe.readings.points import find_point, known_points
    from backprobe.sheet.findings import nearest

    names = [m.name for m in engine.catalogue.modes]
    if fault and fault not in names:
        raise wrong("--fault", fault, "is not a fault of this sheet", nearest(fault, names))
    for point in points:
        if find_point(point, engine.sheet, setup.unplugged) is None:
            known = known_points(engine.sheet)
            raise wrong("--at", point, "is not a point of this sheet", nearest(point, known))


COMMAND = run

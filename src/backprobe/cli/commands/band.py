"""Find the bands of a controller input from a sweep."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from backprobe.cli.inputs import STDIN, json_option, read_sheet, read_text, wrong
from backprobe.cli.output import progress, say, say_json

if TYPE_CHECKING:
    from backprobe.workbench.sweep import SweepReading

EXAMPLE = 'backprobe band "3.1: off" "3.6: on" "6.9: code"'


@click.command(
    "band",
    epilog=f"Example: {EXAMPLE}\n\n"
    'Example: backprobe band "1.2: open" "2.4: open" "3.1: shut" "4.6: shut" --sheet sprayer.yaml '
    "--input gate",
)
@click.argument("sweep", nargs=-1, metavar="SWEEP...")
@click.option("--sheet", metavar="SHEET", default="", help="A sheet whose bands are held against these.")
@click.option(
    "--input",
    "name",
    metavar="NAME",
    default="",
    help="The input of that sheet, such as gate; not needed where there is one.",
)
@click.option(
    "--meter", metavar="ACCURACY", default="", help='As in the meter\'s leaflet, such as "0.5 % + 3".'
)
@click.option("--on", metavar="DAY", default="", help="Day of the measurement, for the sheet's line.")
@json_option
def run(*, sweep: tuple[str, ...], sheet: str, name: str, meter: str, on: str, as_json: bool) -> int:
    """Find the bands of a controller input from a sweep of its volts.

    SWEEP is a file, - for standard input, or answers in the order they were taken, each typed
    as volts and what the controller took them for: "4.2: off", "4.6 up: on". A file holds such
    lines, or a table headed volts,answer (and direction, count).

    Exits 1 when an edge of the sheet disagrees.
    """
    from backprobe.readings.meter import parse_accuracy
    from backprobe.report.band_data import band_data
    from backprobe.report.band_words import band_text
    from backprobe.workbench.band import band
    from backprobe.workbench.band_sheet import banded_pin, compare_bands

    readings = _read(sweep)
    if name and not sheet:
        raise wrong("--input", name, "belongs to no sheet", "Give --sheet FILE too.")
    pin = banded_pin(read_sheet(sheet), name) if sheet else None
    accuracy = parse_accuracy(meter) if meter.strip() else None
    with progress("estimating"):
        answer = band(readings, accuracy=accuracy)
    stated = compare_bands(answer, pin) if pin else ()
    shown = pin.name if pin else ""
    if as_json:
        say_json(band_data(answer, stated, pin=shown, on=on))
    else:
        say(band_text(answer, stated, pin=shown, on=on))
    return int(any(s.verdict == "disagrees" for s in stated))


def _read(sweep: tuple[str, ...]) -> tuple[SweepReading, ...]:
    from backprobe.workbench.sweep import parse_sweep

    if not any(s.strip() for s in sweep):
        raise wrong("SWEEP", "", "is missing", f"Write such as: {EXAMPLE}.")
    if len(sweep) == 1 and (sweep[0] == STDIN or Path(sweep[0]).exists()):
        name = "standard input" if sweep[0] == STDIN else sweep[0]
        return parse_sweep(read_text(sweep[0], "SWEEP"), file=name)
    if len(sweep) == 1 and ":" not in sweep[0]:
        message = "is neither a file nor an answer"
        raise wrong("SWEEP", sweep[0], message, f"Check the path, or write such as: {EXAMPLE}.")
    return parse_sweep(sweep)


COMMAND = run

"""Find which of three unlabelled pins is feed, ground and signal."""

from __future__ import annotations

from pathlib import Path

import click

from backprobe.cli.inputs import STDIN, json_option, read_text, wrong
from backprobe.cli.output import progress, say, say_json

MACHINE = 'backprobe pin-out "A open 8.02 V" "B open 0.00 V" "C open 0.01 V" "B with 1k to A 7.79 V"'


@click.command(
    "pin-out",
    epilog=f'Example: {MACHINE}\n\nExample: backprobe pin-out --part "B+ A- 2.4 V" "A+ C- 0.61 V"\n\n'
    "Example: backprobe pin-out --part",
)
@click.argument("lines", nargs=-1, metavar="READINGS...")
@click.option("--part", is_flag=True, help="The pins of a sensor on the bench, not those of the machine.")
@click.option("--system", default="12 V", show_default=True, metavar="VOLTS", help="Of the machine.")
@click.option("--pins", default="", metavar="A,B,C", help="Names of the pins, if the readings lack one.")
@click.option("--bench", default="9 V", show_default=True, metavar="VOLTS", help="With --part: the source.")
@click.option("--limit", default="", metavar="OHMS", help="With --part: the resistor in its plus lead.")
@click.option("--sheet", "with_sheet", is_flag=True, help="Print nothing but the sheet that it makes.")
@json_option
def run(
    *,
    lines: tuple[str, ...],
    part: bool,
    system: str,
    pins: str,
    bench: str,
    limit: str,
    with_sheet: bool,
    as_json: bool,
) -> int:
    """Find which of three unlabelled pins is feed, ground and signal, and what hangs on each.

    READINGS are lines, a file of them or -: "A open 8.02 V", "B with 1k to ground 0.74 V", "B with 1k
    to A 7.8 V releases", "A to B 7.98 V", "C to ground 0.4 ohm" (key off). With --part "A+ B- 2.4 V".
    It says which reading is missing; exit code 1 while the answer is not sure.
    """
    from backprobe.report.pinout_data import part_data, pinout_data
    from backprobe.report.pinout_words import part_text, pinout_text
    from backprobe.workbench.pinout import pin_out
    from backprobe.workbench.pinout_part import part_pins
    from backprobe.workbench.pinout_sheet import sheet_text

    text, file = _text(lines)
    named = tuple(p for p in pins.split(",") if p.strip())
    if part:
        if with_sheet:
            raise wrong("--sheet", "", "has no place beside --part", "Leave one of them out.")
        volts = _number("--bench", bench, "V")
        ohms = _number("--limit", limit, "ohm") if limit else None
        with progress("solving"):
            sensor = part_pins(text, volts=volts, ohms=ohms, pins=named, file=file)
        say_json(part_data(sensor)) if as_json else say(part_text(sensor))
        return int(bool(sensor.readings) and not sensor.found)
    with progress("weighing"):
        found = pin_out(text, system_volts=_number("--system", system, "V"), pins=named, file=file)
    made = sheet_text(found) if found.readings else ""
    if as_json:
        say_json(pinout_data(found, made))
    else:
        say(made.rstrip() if with_sheet else pinout_text(found, made if found.found else ""))
    return int(bool(found.readings) and not found.found)


def _number(field: str, text: str, unit: str) -> float:
    from backprobe.errors import UnitError
    from backprobe.units import parse_quantity

    try:
        return parse_quantity(text, unit=unit).value
    except UnitError as error:
        first = error.problems[0]
        raise wrong(field, text, first.message, first.remedy) from None


def _text(lines: tuple[str, ...]) -> tuple[str, str]:
    """The readings, typed or those of a file, and what a message calls them."""
    if len(lines) == 1 and (lines[0] == STDIN or _is_file(lines[0])):
        return read_text(lines[0], "READINGS"), "standard input" if lines[0] == STDIN else lines[0]
    return "\n".join(lines), "as typed"


def _is_file(source: str) -> bool:
    try:
        return " " not in source and (Path(source).exists() or source.endswith((".txt", ".lines")))
    except (OSError, ValueError):
        return False


COMMAND = run

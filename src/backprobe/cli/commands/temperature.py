"""Bring ohms of copper from one temperature to another."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from backprobe.cli.amounts import read_amounts, refuse_others
from backprobe.cli.inputs import json_option, wrong
from backprobe.cli.output import say, say_json

if TYPE_CHECKING:
    from backprobe.workbench.claims import Claim

EXAMPLE = "backprobe temperature 19.4 ohm at -15 C to 20 C"


@click.command(
    "temperature",
    context_settings={"ignore_unknown_options": True},
    epilog=f'Example: {EXAMPLE} --leads 0.3 --window "20..25 ohm"\n\n'
    "Example: backprobe temperature 20..25 ohm at 20 C to -15 C\n\nExample: backprobe temperature -15 C",
)
@click.argument("amounts", nargs=-1, metavar="AMOUNTS...")
@click.option(
    "--leads", default="0 ohm", metavar="OHMS", help="What the meter shows with its leads together."
)
@click.option("--window", default="", metavar="LIMITS", help="Limits that hold at the second temperature.")
@click.option(
    "--convention",
    default="alpha",
    show_default=True,
    metavar="WORD",
    help="alpha (0.00393 at 20 C), table (IEC 60228 trade table), textbook (0.004041).",
)
@json_option
def run(*, amounts: tuple[str, ...], leads: str, window: str, convention: str, as_json: bool) -> int:
    """Bring ohms of copper to another temperature, with the meter's leads taken off.

    AMOUNTS are ohms (or limits such as 20..25 ohm), the temperature they belong to, and the
    one they are brought to (else 20 C). A temperature alone tells what a battery still gives.

    Exits 1 when the reading is outside its window.
    """
    from backprobe.report.numbers_data import temperature_data, window_data
    from backprobe.report.temperature_words import battery_text, reading_text, window_text
    from backprobe.sheet.cold_battery import cold_battery
    from backprobe.sheet.copper import find_convention
    from backprobe.units import parse_quantity, parse_range
    from backprobe.workbench.temperature import copper_reading, move_window

    claim = read_amounts(amounts, "AMOUNTS", EXAMPLE)
    refuse_others(claim, "AMOUNTS", "ohm", "degC", "F")
    degrees = _celsius(claim)
    ohms, limits = claim.of("ohm"), [r for r in claim.ranges() if r.unit == "ohm"]
    if not ohms and not limits and len(degrees) == 1:
        battery = cold_battery(degrees[0])
        say_json(temperature_data(battery=battery)) if as_json else say(battery_text(battery))
        return 0
    if len(ohms) + len(limits) != 1 or not 1 <= len(degrees) <= 2:
        message = "does not hold one resistance and one or two temperatures"
        raise wrong("AMOUNTS", claim.text, message, f"Write such as: {EXAMPLE}.")
    celsius, reference = degrees[0], degrees[1] if len(degrees) > 1 else 20.0
    if limits:
        low, high = limits[0].value, limits[0].high or 0.0
        moved = move_window(low, high, celsius, reference, convention)
        ends, name = (celsius, reference), find_convention(convention).name
        if as_json:
            say_json(temperature_data(window=window_data(low, high, moved, ends, name)))
        else:
            say(window_text(low, high, moved, ends, name))
        return 0
    reading = copper_reading(
        ohms[0].value,
        celsius,
        reference,
        leads=parse_quantity(leads, unit="ohm").value,
        window=parse_range(window, unit="ohm") if window.strip() else None,
        convention=convention,
    )
    say_json(temperature_data(reading=reading)) if as_json else say(reading_text(reading))
    return int(reading.good is False)


def _celsius(claim: Claim) -> list[float]:
    """Temperatures in order, both ends of ``-15 C to 20 C``; Fahrenheit is turned into Celsius [degC]."""
    found: list[float] = []
    for amount in claim.amounts:
        if amount.unit in {"degC", "F"}:
            ends = [amount.value] if amount.high is None else [amount.value, amount.high]
            found += [(x - 32) * 5 / 9 if amount.unit == "F" else x for x in ends]
    return found


COMMAND = run

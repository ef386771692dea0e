"""Reckon what a wire or a joint loses, or the size that would do."""

from __future__ import annotations

import click

from backprobe.cli.amounts import only, read_amounts, refuse_others
from backprobe.cli.inputs import json_option, wrong
from backprobe.cli.output import say, say_json

EXAMPLE = "backprobe wire 6 m 1.5 mm2 8 A"


@click.command(
    "wire",
    context_settings={"ignore_unknown_options": True},
    epilog=f"Example: {EXAMPLE}\n\nExample: backprobe wire 6 m 8 A --there-and-back\n\n"
    "Example: backprobe wire 0.7 V 8 A",
)
@click.argument("amounts", nargs=-1, metavar="AMOUNTS...")
@click.option("--system", default="12 V", show_default=True, metavar="VOLTS", help="What the shares are of.")
@click.option("--at", "warmth", default="20 C", show_default=True, metavar="CELSIUS", help="How warm it is.")
@click.option(
    "--there-and-back",
    is_flag=True,
    help="The length is the distance; else it is all the copper.",
)
@click.option(
    "--table",
    default="class 5",
    show_default=True,
    metavar="TABLE",
    help="Whose ohms: class 5, class 5 tinned, class 2, vehicle, solid.",
)
@click.option(
    "--convention",
    default="alpha",
    show_default=True,
    metavar="WORD",
    help="Copper and temperature: alpha, table, textbook.",
)
@json_option
def run(
    *,
    amounts: tuple[str, ...],
    system: str,
    warmth: str,
    there_and_back: bool,
    table: str,
    convention: str,
    as_json: bool,
) -> None:
    """Reckon what a wire loses, what a bad joint burns, or the size that would do.

    AMOUNTS are a length, a size (mm2 or AWG) and a current: what the wire loses. Length and
    current alone: the least size. Volts and a current: the ohms and watts of a joint that
    loses them.
    """
    from backprobe.report.numbers_data import wire_data
    from backprobe.report.wire_words import joint_text, sizes_text, wire_text
    from backprobe.units import parse_quantity
    from backprobe.workbench.wire import CRITICAL, ORDINARY, WireSpec, joint, least_size, wire_drop
    from backprobe.workbench.wire_tables import gauge_area

    claim = read_amounts(amounts, "AMOUNTS", EXAMPLE)
    refuse_others(claim, "AMOUNTS", "m", "mm2", "AWG", "A", "V")
    length, amps, volts = (only(claim, u, "AMOUNTS") for u in ("m", "A", "V"))
    size, gauge = only(claim, "mm2", "AMOUNTS"), only(claim, "AWG", "AMOUNTS")
    nominal = parse_quantity(system, unit="V").value
    celsius = parse_quantity(warmth, unit="degC").value
    spec = WireSpec(table.strip().lower(), celsius, convention, there_and_back)
    if amps is None or (size and gauge) or (length is None) == (volts is None):
        raise wrong(
            "AMOUNTS",
            claim.text,
            "does not say what to reckon",
            f"Give a current with a length, or with the volts lost: {EXAMPLE}.",
        )
    if volts is not None:
        found = joint(volts.value, amps.value)
        say_json(wire_data(joint=found)) if as_json else say(joint_text(found))
    elif length is not None and (size or gauge):
        area = size.value if size else gauge_area(gauge.value if gauge else 0)
        drop = wire_drop(length.value, area, amps.value, system=nominal, spec=spec)
        say_json(wire_data(drop=drop)) if as_json else say(wire_text(drop))
    elif length is not None:
        one, other = (least_size(length.value, amps.value, s * nominal, spec) for s in (CRITICAL, ORDINARY))
        shown = sizes_text(length.value, amps.value, nominal, (one, other))
        say_json(wire_data(sizes=(one, other))) if as_json else say(shown)


COMMAND = run

"""Find resistors that stand in for a sensor, for testing only."""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from backprobe.cli.inputs import STDIN, json_option, read_sheet, read_text, wrong
from backprobe.cli.output import progress, say, say_json
from backprobe.cli.whole import Whole

if TYPE_CHECKING:
    from backprobe.sheet.anatomy import Value
    from backprobe.sheet.model import Sheet
    from backprobe.workbench.standin_input import InputPort
    from backprobe.workbench.standin_parts import Parts

T = TypeVar("T")
BARE = "backprobe stand-in --feed 8.6 --band 4.8..6.6 --pull-down 40k"


@click.command(
    "stand-in",
    epilog=f'Example: backprobe stand-in sprayer.yaml "gate input" shut --series E96\n\nExample: {BARE}\n\n'
    "Example: backprobe stand-in --feed 8.6 --band ..2.7 --drawer 1k,2.2k,4.7k,10k\n\n"
    "Example: backprobe stand-in --two-wire 1k,12k",
)
@click.argument("sheet", metavar="[SHEET", required=False)
@click.argument("name", metavar="INPUT", required=False)
@click.argument("meaning", metavar="MEANING]", required=False)
@click.option(
    "--feed", default="", metavar="VOLTS", help="Without a sheet: the feed, such as 8.6 or 8.6 V +-2 %."
)
@click.option("--band", default="", metavar="BAND", help="Without a sheet: 4.8..6.6, ..2.7 or 4.8.. .")
@click.option("--pull-down", default="", metavar="OHMS", help="Of the input, such as 40k.")
@click.option(
    "--pull-up", default="", metavar="OHMS", help="Of the input, to the feed if nothing else is said."
)
@click.option("--pull-up-volts", default="", metavar="VOLTS", help="Where the pull-up goes.")
@click.option(
    "--codes", default="", metavar="RANGE", help="The controller sets a code outside of this: 0.7..7.4."
)
@click.option(
    "--series", "series_name", default="E24", show_default=True, metavar="E", help="E12, E24, E48, E96."
)
@click.option(
    "--drawer", default="", metavar="FILE|LIST", help="Only these resistors: a file, - or 1k,4.7k,10k."
)
@click.option("--tolerance", default="", metavar="PERCENT", help="Of the resistors, such as 1%.")
@click.option(
    "--made", default="", metavar="OHMS,OHMS", help="Judge a divider: to feed, to ground; - for none."
)
@click.option(
    "--source-ohms", default="", metavar="OHMS", help="Of a sensor, for the volts that are accepted."
)
@click.option("--two-wire", default="", metavar="OHMS,OHMS", help="8.2 V/1 kohm: series, parallel; or any.")
@click.option("--count", default=5, show_default=True, type=Whole(1, 40), help="How many to offer.")
@json_option
def run(
    *,
    sheet: str | None,
    name: str | None,
    meaning: str | None,
    feed: str,
    band: str,
    pull_down: str,
    pull_up: str,
    pull_up_volts: str,
    codes: str,
    series_name: str,
    drawer: str,
    tolerance: str,
    made: str,
    source_ohms: str,
    two_wire: str,
    count: int,
    as_json: bool,
) -> int:
    """Find resistors that stand in for a sensor on the bench, for testing only.

    With SHEET, INPUT and MEANING: for the sensor of that input, such as "gate input" shut. Without
    them --feed and --band say what is wanted. It also says which sensors the input accepts.
    Exit code 1 when nothing at hand stays inside the band.
    """
    from backprobe.report.standin_data import standin_data
    from backprobe.report.standin_words import made_text, standin_text
    from backprobe.workbench.standin import judge_pair, stand_in, stand_in_for, temperatures_of
    from backprobe.workbench.standin_backwards import SOURCE_OHMS

    if two_wire:
        return _pairs(two_wire, series_name, tolerance, as_json=as_json)
    found = read_sheet(sheet) if sheet else None
    parts = _parts(series_name, drawer, tolerance, temperatures_of(found))
    sources = (_plain(source_ohms, "ohm", "--source-ohms"),) if source_ohms else SOURCE_OHMS
    with progress("trying resistors"):
        if found is not None:
            _only_one_way(feed, band, pull_down, pull_up, pull_up_volts)
            words = _named(found, name, meaning)
            bench = stand_in_for(found, *words, parts, count=count, source_ohms=sources)
        else:
            port = _port((feed, band, pull_down, pull_up, pull_up_volts, codes))
            bench = stand_in(port, parts, count=count, source_ohms=sources)
        pair = judge_pair(bench.port, parts, *_two(made, "--made")) if made else None
    text = made_text(pair, bench) if pair else standin_text(bench)
    say_json(standin_data(bench, pair)) if as_json else say(text)
    return int((pair.verdict == "fails") if pair else bench.best is None)


def _named(sheet: Sheet, name: str | None, meaning: str | None) -> tuple[str, str]:
    inputs = {p.name: p for part in sheet.parts.values() for p in part.pins.values() if p.role == "input"}
    if not name or not meaning:
        shown = "; ".join(f'"{n}" {" or ".join(b.meaning for b in p.bands)}' for n, p in inputs.items())
        missing = "INPUT and MEANING are" if not name else f"the meaning beside INPUT '{name}' is"
        raise wrong("stand-in", "", f"{missing} missing", f"This sheet has: {shown or 'no input'}.")
    return name, meaning


def _only_one_way(*given: str) -> None:
    first = next((g for g in given if g), "")
    if first:
        raise wrong("SHEET", first, "stands beside a sheet that already says it", "Leave one of them out.")


def _port(texts: tuple[str, str, str, str, str, str]) -> InputPort:
    from backprobe.units import parse_range
    from backprobe.workbench.standin import parse_band
    from backprobe.workbench.standin_input import InputPort

    feed, band, pull_down, pull_up, pull_up_volts, codes = texts
    volts = _value(feed, "V", "--feed")
    if volts is None or not band:
        raise wrong("SHEET|--feed --band", feed or band, "is not enough", f"Write such as: {BARE}.")
    if pull_up_volts and not pull_up:
        raise wrong("--pull-up-volts", pull_up_volts, "needs --pull-up", "Give both.")
    return InputPort(
        volts,
        _read("--band", band, parse_band),
        _value(pull_down, "ohm", "--pull-down"),
        _value(pull_up, "ohm", "--pull-up"),
        _value(pull_up_volts, "V", "--pull-up-volts"),
        _read("--codes", codes, lambda t: parse_range(t, unit="V")) if codes else (-inf, inf),
    )


def _value(text: str, unit: str, field: str) -> Value | None:
    """A value as typed, with the tolerance that a sheet would give it."""
    from backprobe.sheet.anatomy import Origin, Value
    from backprobe.sheet.values import DEFAULT_TOLERANCE
    from backprobe.units import parse_toleranced

    if not text:
        return None
    got = _read(field, text, lambda t: parse_toleranced(t, unit=unit))
    if got.low <= 0:
        raise wrong(field, text, "is not above zero", "Give what was measured.")
    share = 0.0 if got.given else DEFAULT_TOLERANCE[unit]
    return Value(
        got.value, got.low * (1 - share), got.high * (1 + share), unit, Origin("assumed", "as typed")
    )


def _read(field: str, text: str, read: Callable[[str], T]) -> T:
    """What was read, or an error that names the option."""
    from backprobe.errors import UnitError

    try:
        return read(text)
    except UnitError as error:
        first = error.problems[0]
        raise wrong(field, text, first.message, first.remedy) from None


def _plain(text: str, unit: str, field: str) -> float:
    from backprobe.units import parse_quantity

    got = _read(field, text, lambda t: parse_quantity(t.strip(), unit=unit))
    if got.over_range or got.value < 0:
        raise wrong(field, text, "is no value to use", "Give a number from 0 up.")
    return got.value


def _parts(series_name: str, drawer: str, tolerance: str, warmth: tuple[float, float]) -> Parts:
    from backprobe.workbench.standin_parts import parts_of_drawer, parts_of_series

    share = _plain(tolerance, "%", "--tolerance") / 100 if tolerance else None
    if not drawer:
        return parts_of_series(_series(series_name), share, warmth)
    is_file = drawer == STDIN or Path(drawer).exists() or drawer.endswith((".txt", ".csv", ".list"))
    text = read_text(drawer, "--drawer") if is_file else drawer
    return parts_of_drawer(text, share, warmth, drawer if is_file else "--drawer")


def _series(text: str) -> int:
    plain = text.strip().upper().removeprefix("E")
    if not plain.isdigit():
        raise wrong("--series", text, "is no series of preferred values", "Write E12, E24, E48 or E96.")
    return int(plain)


def _two(text: str, field: str) -> tuple[float, float]:
    words = [w.strip() for w in text.split(",")]
    if len(words) != 2 or words == ["-", "-"]:
        raise wrong(field, text, "are not two resistors", "Write such as 4.7k,8.2k.")
    one, other = (inf if w == "-" else _plain(w, "ohm", field) for w in words)
    return one, other


def _pairs(text: str, series_name: str, tolerance: str, *, as_json: bool) -> int:
    from backprobe.report.standin_data import pairs_data
    from backprobe.report.standin_words import pairs_text
    from backprobe.workbench.supervision import supervise, supervising_pairs

    share = _plain(tolerance, "%", "--tolerance") / 100 if tolerance else 0.01
    if text.strip().lower() == "any":
        found = supervising_pairs(number=_series(series_name), tolerance=share)
    else:
        found = (supervise(*_two(text, "--two-wire"), tolerance=share),)
    say_json(pairs_data(found)) if as_json else say(pairs_text(found, f", {100 * share:g} % resistors"))
    return int(not found or found[0].verdict == "fails")


COMMAND = run

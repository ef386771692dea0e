"""Stand in for a sensor on the bench: resistors that put a signal in a band, for testing only.

A stand-in tells whether the machine side is sound. It takes the sensor's place and with it the guard:
whatever the gate does, the controller believes it shut. So it is built, used with the guard truly
shut, read, and taken out.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from backprobe.errors import Problem, UnitError
from backprobe.sheet.model import Sheet
from backprobe.units import parse_quantity, parse_toleranced
from backprobe.workbench.standin_backwards import SOURCE_OHMS, Accepted, accepted
from backprobe.workbench.standin_input import InputPort
from backprobe.workbench.standin_parts import MILD, Parts, StandIn, aim, candidates, judged, parts_of_series
from backprobe.workbench.standin_pot import Adjustable, adjustable
from backprobe.workbench.standin_sheet import (
    Released,
    Site,
    band_of,
    find_site,
    input_pin,
    port_of,
    releases,
    solved_volts,
)

OF_A_FORM = 2
"""Stand-ins of each form among those that are offered, after the best."""


@dataclass(frozen=True, slots=True)
class Bench:
    """What to build, what it does, and what a real sensor may be.

    Parameters
    ----------
    port
        Feed, input and band.
    parts
        The resistors at hand.
    name, meaning
        Of the input and its band; empty without a sheet.
    aim
        Where the signal should be [V].
    stand_ins
        Best first; the first of them fits where any does.
    adjustable
        The one that can be turned; None where nothing safe can be made.
    accepts
        What a sensor may be on this input.
    site, released, checked
        With a sheet: the plug, the functions that the best would let go, and the volts that the whole
        circuit gives with each of `stand_ins` [V].
    """

    port: InputPort
    parts: Parts
    name: str
    meaning: str
    aim: float
    stand_ins: tuple[StandIn, ...]
    adjustable: Adjustable | None
    accepts: tuple[Accepted, ...]
    site: Site | None = None
    released: tuple[Released, ...] = ()
    checked: tuple[float, ...] = ()

    @property
    def best(self) -> StandIn | None:
        """The best one that is not beyond an edge at its worst corner; None where there is none."""
        return next((s for s in self.stand_ins if s.verdict != "fails"), None)


def stand_in(
    port: InputPort,
    parts: Parts | None = None,
    *,
    count: int = 5,
    source_ohms: tuple[float, ...] = SOURCE_OHMS,
) -> Bench:
    """Stand-ins for an input of which only the numbers are known.

    Parameters
    ----------
    port
        Feed, input and band.
    parts
        The resistors at hand; E24 of 5 % when None.
    count
        How many to offer.
    source_ohms
        Output resistances of a sensor for which accepted volts are asked [ohm].
    """
    parts = parts or parts_of_series()
    wanted = aim(port, parts)
    found = _varied(candidates(port, parts), count)
    return Bench(
        port, parts, "", "", wanted, found, adjustable(port, parts, wanted), accepted(port, source_ohms)
    )


def stand_in_for(
    sheet: Sheet,
    name: str,
    meaning: str,
    parts: Parts | None = None,
    *,
    count: int = 5,
    source_ohms: tuple[float, ...] = SOURCE_OHMS,
) -> Bench:
    """Stand-ins for the sensor of a sheet's input, and what they would let go.

    Parameters
    ----------
    name, meaning
        The input and the band that is wanted, such as ``gate input`` and ``shut``.
    parts, count, source_ohms
        As for `stand_in`.

    Raises
    ------
    SheetError
        When the sheet has no such input or band, or no plug to put a stand-in in.
    """
    _, pin = input_pin(sheet, name)
    band = band_of(sheet, pin, meaning)
    site = find_site(sheet, name)
    port = port_of(sheet, site, pin, band)
    bench = stand_in(port, parts, count=count, source_ohms=source_ohms)
    offered = bench.stand_ins
    return Bench(
        port,
        bench.parts,
        pin.name,
        band.meaning,
        bench.aim,
        offered,
        bench.adjustable,
        bench.accepts,
        site,
        releases(site, offered[0]) if offered else (),
        tuple(solved_volts(site, s) for s in offered),
    )


def judge_pair(port: InputPort, parts: Parts, upper: float, lower: float) -> StandIn:
    """A divider that somebody has already made, judged in the same way.

    Parameters
    ----------
    upper, lower
        To feed and to ground [ohm]; infinite for none.
    """
    for name, ohms in (("upper", upper), ("lower", lower)):
        if not ohms > 0:
            raise UnitError(Problem(name, f"{ohms:g} ohm", "is no resistor", "Write such as 4.7k."))
    if upper == inf:
        return judged(port, parts, "to ground", "single", [lower])
    if lower == inf:
        return judged(port, parts, "to feed", "single", [upper])
    return judged(port, parts, "divider", "single", [upper, lower])


def parse_band(text: str) -> tuple[float, float]:
    """A wanted band as typed: ``4.8..6.6 V``, ``..2.7 V`` or ``4.8 V..``; infinite where no end is given [V].

    An end at or below 0 V is none: no resistors can put a signal below ground.

    Raises
    ------
    UnitError
        For anything else.
    """
    plain = text.strip()
    if plain.startswith(".."):
        return -inf, parse_quantity(plain[2:], unit="V").value
    if plain.endswith(".."):
        return parse_quantity(plain[:-2], unit="V").value, inf
    got = parse_toleranced(plain, unit="V")
    if not got.given or got.low >= got.high:
        raise UnitError(Problem("band", text, "is not a band", "Write 4.8..6.6 V, ..2.7 V or 4.8 V.. ."))
    return (got.low if got.low > 0 else -inf), got.high


def temperatures_of(sheet: Sheet | None) -> tuple[float, float]:
    """Coldest and warmest that a stand-in should stay good at: the sheet's own with what is mild [degC]."""
    own = sheet.temperature if sheet is not None else None
    return MILD if own is None else (min(MILD[0], own.low), max(MILD[1], own.high))


def _varied(found: list[StandIn], count: int) -> tuple[StandIn, ...]:
    """The best few, no more than some of one form before other forms had their turn."""
    seen: dict[tuple[str, str], int] = {}
    first: list[StandIn] = []
    rest: list[StandIn] = []
    for stand in found:
        form = (stand.place, stand.joining)
        seen[form] = seen.get(form, 0) + 1
        early = seen[form] <= OF_A_FORM and (stand.verdict != "fails" or not first)
        (first if early else rest).append(stand)
    return tuple([*first, *rest][:count])

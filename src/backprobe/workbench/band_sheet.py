"""A measured band against the one that a sheet states, and as a line to paste into a sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from backprobe.errors import Problem, SheetError
from backprobe.sheet.anatomy import Band
from backprobe.sheet.model import Pin, Sheet
from backprobe.workbench.band import BandAnswer, Crossing, FoundBand

Verdict = Literal["holds", "open", "disagrees", "not tried"]


@dataclass(frozen=True, slots=True)
class StatedEdge:
    """One edge as a sheet states it, against the measured one.

    Parameters
    ----------
    meaning
        What the stated band means.
    end
        ``from`` for its lower end, ``up to`` for its upper, ``left below`` for its end going down.
    stated
        Volts in the sheet [V].
    answer
        The measured band that it was held against; empty where none lies there.
    low, high
        95 % interval of the measured edge [V]; None where it was not found.
    verdict
        ``disagrees`` when part of the stated band surely means something else, ``holds`` when surely
        none does, ``open`` when the interval leaves it open, ``not tried`` where nothing was measured.
    """

    meaning: str
    end: str
    stated: float
    answer: str
    low: float | None
    high: float | None
    verdict: Verdict


def banded_pin(sheet: Sheet, name: str) -> Pin:
    """The controller terminal of a sheet that a name means; the only one with bands where it is empty.

    Raises
    ------
    SheetError
        When there is none of that name with bands.
    """
    pins = {f"{p.name}.{pin.name}": pin for p in sheet.parts.values() for pin in p.pins.values() if pin.bands}
    wanted = " ".join(name.lower().split())
    if not wanted and len(pins) == 1:
        return next(iter(pins.values()))
    for full, pin in pins.items():
        if wanted in {full.lower(), pin.name.lower(), pin.name.lower().rsplit(" ", 1)[0]}:
            return pin
    known = ", ".join(pins) or "none"
    raise SheetError(
        Problem("input", name, "is not an input with bands in this sheet", f"There are: {known}.", sheet.file)
    )


def compare_bands(answer: BandAnswer, pin: Pin) -> tuple[StatedEdge, ...]:
    """Hold every stated edge against the measured ones.

    A stated band is held against the measured band of the same name, or else the one it overlaps most.
    Volts between two stated bands are nobody's, so a measured band may be wider than the stated one.
    """
    found: list[StatedEdge] = []
    for stated in pin.bands:
        own = _partner(stated, answer.bands)
        if own is None:
            found += [
                StatedEdge(stated.meaning, end, volts, "", None, None, "not tried")
                for end, volts in (("from", stated.low), ("up to", stated.high))
            ]
            continue
        found += _ends(stated, own)
    return tuple(found)


def _ends(stated: Band, own: FoundBand) -> list[StatedEdge]:
    """Both ends of a stated band, and its end going down where it has one of its own."""
    ends: list[tuple[str, float, Crossing | None, str, bool]] = []
    if stated.low > 0 or own.low is not None:
        ends.append(("from", stated.low, own.low, "up", True))
    ends.append(("up to", stated.high, own.high, "up", False))
    if stated.falling is not None and stated.falling[0] < stated.low:
        ends.append(("left below", stated.falling[0], own.low, "down", True))
    found: list[StatedEdge] = []
    for end, volts, crossing, way, is_low in ends:
        if crossing is None:
            inside = own.tried[0] <= volts if is_low else volts <= own.tried[1]
            verdict: Verdict = "holds" if inside else "not tried"
            found.append(StatedEdge(stated.meaning, end, volts, own.answer, None, None, verdict))
            continue
        edge = crossing.edge(way)
        wrong, right = edge.low > volts, edge.high <= volts
        if not is_low:
            wrong, right = edge.high < volts, edge.low >= volts
        verdict = "disagrees" if wrong else "holds" if right else "open"
        found.append(StatedEdge(stated.meaning, end, volts, own.answer, edge.low, edge.high, verdict))
    return found


def _partner(stated: Band, bands: Sequence[FoundBand]) -> FoundBand | None:
    """The measured band that a stated one is about."""
    named = [b for b in bands if b.answer.lower() == stated.meaning.lower()]
    ranked = sorted(((_overlap(stated, b), i) for i, b in enumerate(bands)), reverse=True)
    if named:
        return max(named, key=lambda b: _overlap(stated, b))
    return bands[ranked[0][1]] if ranked and ranked[0][0] > 0 else None


def _overlap(stated: Band, band: FoundBand) -> float:
    """Volts that a stated and a measured band share; below 0 how far they are apart [V]."""
    low = band.low.edges[0].best if band.low else band.tried[0]
    high = band.high.edges[0].best if band.high else band.tried[1]
    return min(stated.high, high) - max(stated.low, low) + 1e-6


def bands_line(answer: BandAnswer, *, on: str = "") -> str:
    """The bands as a line of a sheet: what is surely inside, with where it comes from.

    Bands of which nothing is sure yet are left out. Where an edge lies elsewhere going down, the band
    says where it is left.

    Parameters
    ----------
    on
        Day of the measurement; empty to leave it out.
    """
    pieces: list[str] = []
    for i, band in enumerate(answer.bands):
        sure = _going_up(band)
        if sure is None:
            continue
        down = band.low.edge("down") if band.low else None
        left = down is not None and down.way == "down" and i > 0
        low, high = sure
        meaning = f"{{means: {band.answer}, left below: {down.low:.2f} V}}" if left and down else band.answer
        pieces.append(f"{low:.2f}..{high:.2f} V: {meaning}")
    count = sum(r.count for r in answer.readings)
    note = f"# origin: measured{f', on: {on}' if on else ''}, count: {count}"
    return f"bands: {{{', '.join(pieces)}}}  {note}"


def _going_up(band: FoundBand) -> tuple[float, float] | None:
    """Volts surely inside for who comes from below [V]; ends rounded inwards to 10 mV."""
    low = band.low.edge("up").high if band.low else band.tried[0]
    high = band.high.edge("up").low if band.high else band.tried[1]
    low, high = -(-low * 100 // 1) / 100, high * 100 // 1 / 100
    return (low, high) if low < high else None

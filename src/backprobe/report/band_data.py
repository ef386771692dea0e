"""A sweep as plain JSON values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

from backprobe.report.data import Json, Object, number
from backprobe.workbench.band import BandAnswer, Crossing, FoundBand
from backprobe.workbench.band_sheet import StatedEdge, bands_line


def band_data(
    answer: BandAnswer, stated: Sequence[StatedEdge] = (), *, pin: str = "", on: str = ""
) -> Object:
    """Edges, bands, what to try next, and a sheet's edges against them."""
    n = answer.next
    return {
        "readings": [asdict(r) for r in answer.readings],
        "accuracy": {"percent": answer.accuracy.percent, "counts": answer.accuracy.counts},
        "crossings": [_crossing(c) for c in answer.crossings],
        "bands": [_band(b) for b in answer.bands],
        "take_again": list(answer.misfits),
        "next": None
        if n is None
        else {"volts": n.volts, "way": n.way, "bits": number(n.bits), "between": n.why},
        "input": pin,
        "stated": [asdict(s) for s in stated],
        "line": bands_line(answer, on=on),
    }


def _crossing(crossing: Crossing) -> Json:
    return {
        "below": crossing.below,
        "above": crossing.above,
        "edges": [asdict(e) for e in crossing.edges],
        "hysteresis": None if crossing.apart is None else number(crossing.apart),
        "meter": number(crossing.meter),
    }


def _band(band: FoundBand) -> Json:
    return {
        "answer": band.answer,
        "tried": _ends(band.tried),
        "sure": _ends(band.sure),
        "middle": number(band.middle) if band.middle is not None else None,
        "margin": number(band.margin) if band.margin is not None else None,
    }


def _ends(ends: tuple[float, float] | None) -> Json:
    return None if ends is None else {"low": number(ends[0]), "high": number(ends[1])}

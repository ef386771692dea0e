"""A sweep in words: edges with their intervals, bands with middle and margin, what to try next."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.report.layout import FIRST, count, joined, percent, quantity, wrap
from backprobe.workbench.band import BandAnswer, Crossing, Edge, FoundBand
from backprobe.workbench.band_sheet import StatedEdge, bands_line

MIND = (
    "CAUTION  Attachment on the ground or blocked: a voltage that the controller takes for shut may release "
    "its function. Sensor unplugged, never more volts than the sensor's own feed. For testing only: take the "
    "source off, plug the sensor in again, and prove the guard."
)
WAYS = {"up": "going up", "down": "going down", "both": "up and down"}
SAYS = {
    "holds": "holds",
    "open": "cannot be told yet",
    "disagrees": "DISAGREES",
    "not tried": "not tried",
}


def band_text(answer: BandAnswer, stated: Sequence[StatedEdge] = (), *, pin: str = "", on: str = "") -> str:
    """The whole answer for a terminal of 80 columns.

    Parameters
    ----------
    stated
        Edges of a sheet held against the measured ones.
    pin
        The input of the sheet that they are of.
    on
        Day of the measurement, for the line to paste.
    """
    blocks = [wrap(_headline(answer))]
    blocks += [_crossing(c) for c in answer.crossings]
    blocks += [[line for b in answer.bands for line in _band(b)], _again(answer), _next(answer)]
    if stated:
        blocks.append(_stated(stated, pin))
    if any(b.sure for b in answer.bands) and answer.crossings:
        blocks.append([f"For a sheet, under the input{f' {pin}' if pin else ''}:", bands_line(answer, on=on)])
    blocks += [wrap(MIND), wrap(FIRST)]
    return joined(*blocks)


def _headline(answer: BandAnswer) -> str:
    total = sum(r.count for r in answer.readings)
    meter = f"{answer.accuracy.percent:g} % + {answer.accuracy.counts:g}"
    if not answer.crossings:
        return f"{count(total, 'answer')}, all {answer.bands[0].answer}: no edge found yet."
    edges = count(len(answer.crossings), "edge")
    return f"{edges} from {count(total, 'answer')}. Intervals are 95 %, with the meter's error of {meter}."


def _crossing(crossing: Crossing) -> list[str]:
    lines = wrap(f"Edge {crossing.below} | {crossing.above}")
    for edge in crossing.edges:
        lines += wrap(_edge(edge), "   ", "     ")
    if crossing.apart is None:
        other = "down" if crossing.edges[0].way == "up" else "up"
        lines += wrap(f"Going {other} was not tried: whether it lies elsewhere then is not known.", "   ")
    elif len(crossing.edges) > 1:
        words = f"Up and down differ ({percent(crossing.apart)}): the input has hysteresis."
        lines += wrap(words, "   ")
    else:
        lines += wrap(f"Hysteresis: {percent(crossing.apart)} probable.", "   ")
    return lines


def _edge(edge: Edge) -> str:
    return (
        f"{WAYS[edge.way]}: {quantity(edge.best, 'V')} ({_span(edge.low, edge.high)}), "
        f"unsharp by {quantity(edge.width, 'V', 2)}, from {count(edge.readings, 'answer')}"
    )


def _band(band: FoundBand) -> list[str]:
    tried = _span(*band.tried)
    words = f"{band.answer}: tried {tried}"
    if band.sure is None:
        words += "; nothing is surely inside yet"
    elif band.middle is not None and band.margin is not None:
        words += (
            f"; surely {_span(*band.sure)}, middle {quantity(band.middle, 'V')}, "
            f"margin {quantity(band.margin, 'V', 2)} either way"
        )
    else:
        end = "lower" if band.low is None else "upper"
        words += f"; surely {_span(*band.sure)}, its {end} end was not found"
    return wrap(words, "", "   ")


def _again(answer: BandAnswer) -> list[str]:
    lines: list[str] = []
    for i in answer.misfits:
        reading = answer.readings[i]
        words = f"Take again: {quantity(reading.volts, 'V')} {reading.answer} does not fit its place."
        lines += wrap(words, "", "   ")
    return lines


def _next(answer: BandAnswer) -> list[str]:
    n = answer.next
    if n is None:
        return wrap("Enough: the meter's own error is now wider than what more answers could narrow.")
    side = "from below" if n.way == "up" else "from above"
    if n.bits != n.bits:
        return wrap(f"Next: {quantity(n.volts, 'V')}, to find an edge at all.")
    words = f"Next: {quantity(n.volts, 'V')}, come to {side}; it tells most about the edge between {n.why}."
    return wrap(words, "", "   ")


def _stated(stated: Sequence[StatedEdge], pin: str) -> list[str]:
    lines = wrap(f"The sheet's bands of {pin}:")
    for s in stated:
        words = f"{s.meaning} {s.end} {quantity(s.stated, 'V')}: {SAYS[s.verdict]}"
        if s.low is not None and s.high is not None:
            words += f" (measured {_span(s.low, s.high)}, answer {s.answer})"
        lines += wrap(words, "   ", "     ")
    return lines


def _span(low: float, high: float) -> str:
    """An interval of volts to 10 mV, its unit once."""
    ends = [f"{v:.2f}" for v in (low, high)]
    return f"{ends[0]} V" if ends[0] == ends[1] else f"{ends[0]} to {ends[1]} V"

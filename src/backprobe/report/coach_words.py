"""The measurement as a suspect, in words: kinds of slip with their arithmetic, and what to mind."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.coach import Advice
from backprobe.diagnosis.doubts import Doubt, LiveOhms, Slip, doubtful, doubts, live_ohms
from backprobe.diagnosis.drops import DropFinding
from backprobe.readings.model import Reading
from backprobe.report.layout import percent, quantity, span, wrap
from backprobe.report.reading_words import UNITS, with_place

WORN_LEADS = 1.0
"""Resistance from which meter leads are replaced [ohm]; a published meter guide."""
TEST_AMPS = (0.1e-3, 1.5e-3)
"""Test current of an ohmmeter [A]; common practice, no source."""

AGAIN = {
    "cavity": "Put the lead where it belongs, say the cavity aloud, read again.",
    "state": "Set the state again, one control after the other, then read.",
    "black": "Move black to battery-, scratch through paint and rust, read again.",
    "plugs": (
        "Push the plug home and read at its rear: an output exists only while its controller is plugged in "
        "and powered, a pin that pulls up shows its open volts, a lifted return shows supply."
    ),
    "ghost": (
        "Load it: a test lamp from there to battery-, or 1 kohm across the leads at a controller's pin; "
        "ghost volts fall to nothing."
    ),
    "leads": "Hold the leads together, note what they show, and take it off.",
    "live": "Key off, unplug, then read the ohms again.",
    "decimal": "Look at the range and the prefix on the display, then read again.",
    "sign": "Look at the sign on the display and at which lead is where.",
    "average": "A meter shows the average of pulses: use a test lamp, or read it with the function held on.",
    "other": "Take it again, slowly.",
}
"""What to do about each kind of slip."""

TAKE_FIRST = "Take this one again first, both points and the state said aloud"
DETAILED = {
    "ghost": "ghost volts on an open wire",
    "leads": "leads not taken off",
    "live": "the circuit is live there",
    "average": "the average of pulses",
}
"""Kinds of slip that come with a number of their own."""


def doubt_lines(answer: Answer) -> list[str]:
    """Readings to take again, each with what kind of slip it may be, and ohms that are none."""
    lines: list[str] = []
    found = live_ohms(answer)
    live_ones = {live.reading for live in found}
    for doubt in doubts(answer):
        lines += wrap(doubt_words(answer, doubt), "Take again: ", "  ")
        for k, slip in enumerate(told_slips(doubt)):
            reading = answer.readings.all[doubt.reading]
            words = slip_words(slip, reading)
            # What to do stands beside the likeliest kind only: one thing at a time.
            said_below = slip.kind == "live" and doubt.reading in live_ones
            words += f" {AGAIN[slip.kind]}" if k == 0 and slip.kind in AGAIN and not said_below else ""
            lines += wrap(words, f"{percent(slip.chance):>11}  ")
    for live in found:
        lines += wrap(live_words(answer, live), "", "  ")
    return lines


def told_slips(doubt: Doubt) -> tuple[Slip, ...]:
    """The kinds of slip worth saying: none where it is none of those that are known."""
    return () if doubt.slips and doubt.slips[0].kind == "other" else doubt.slips


def doubt_words(answer: Answer, doubt: Doubt) -> str:
    """One reading in doubt, with its chance and what the others make one expect."""
    reading = answer.readings.all[doubt.reading]
    expected = quantity(doubt.expected, UNITS[reading.kind])
    return (
        f"{with_place(answer, reading)} ({percent(doubt.probability)} likely a slip; by the other readings "
        f"{expected} is expected)"
    )


def slip_words(slip: Slip, reading: Reading) -> str:
    """One kind of slip and the number that it predicts, as a sentence."""
    shows = f": would show {quantity(slip.value, UNITS[reading.kind])}" if isfinite(slip.value) else ""
    if slip.kind in DETAILED:
        return f"{DETAILED[slip.kind]}{_detail(slip)}{shows if slip.kind == 'live' else ''}."
    said = {
        "sign": "leads turned round",
        "decimal": "range or prefix misread",
        "state": f"{slip.where} instead of {_position(slip, reading)}",
        "other": "something else",
    }
    return f"{said.get(slip.kind, slip.where)}{shows}."


def _detail(slip: Slip) -> str:
    """The number that goes with a kind of slip: what the leads, the leak or the volts would be."""
    if not isfinite(slip.detail):
        return ""
    match slip.kind:
        case "ghost":
            return f", through about {quantity(slip.detail, 'ohm', 2)} of leakage"
        case "leads":
            worn = " (above 1 ohm they are worn out)" if slip.detail > WORN_LEADS else ""
            return f": they would have {quantity(slip.detail, 'ohm', 2)}{worn}"
        case "live":
            volts = quantity(abs(slip.detail), "V", 2)
            known = isfinite(slip.value)
            return f", {volts} between the leads" if known else f": some {volts} between the leads explain it"
        case _:
            return f", on for {percent(slip.detail)} of the time"


def _position(slip: Slip, reading: Reading) -> str:
    control = next((c for c, _ in reading.setup.state if slip.where.startswith(f"{c} ")), "")
    return f"{control} {reading.setup.position(control)}" if control else "what was said"


def live_words(answer: Answer, live: LiveOhms) -> str:
    """A reading of ohms that is no resistance, with the arithmetic."""
    reading = answer.readings.all[live.reading]
    low, high = (abs(live.volts) / amps for amps in reversed(TEST_AMPS))
    shown = (
        f"{quantity(reading.value, 'ohm')} is" if reading.numeric and not reading.over_range else "that is"
    )
    return (
        f"The circuit is live there: {shown} not a resistance. {with_place(answer, reading)}: about "
        f"{quantity(abs(live.volts), 'V', 2)} stand between the leads, and a test current of 0.1 to 1.5 mA "
        f"reads them as {span(low, high, 'ohm')} more or less. {AGAIN['live']}"
    )


def drop_words(answer: Answer, found: DropFinding) -> str:
    """Drops that do not add up, and which of them to take again first."""
    in_doubt = [answer.readings.all[i] for i, _ in doubtful(answer)]
    again = next(
        (t for t in (r.text or r.words() for r in in_doubt) if t in found.readings), found.readings[-1]
    )
    said = f"{str(found)[:1].upper()}{str(found)[1:]}."
    return f"{said} {TAKE_FIRST}: {again.replace(';', ',').split(',')[0].strip()}."


def advice_lines(advice: Sequence[Advice]) -> list[str]:
    """What to mind, one paragraph each."""
    return [line for a in advice for line in wrap(a.text, "   MIND     ")]

"""What the meter should show, point by point, as a table that fits a phone held upright."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.api import Expected
from backprobe.circuit.setup import Setup
from backprobe.report.layout import FIRST, joined, span, volts, wrap
from backprobe.report.setup_words import setup_words
from backprobe.sheet.model import Sheet

NAME = 40


def expected_text(
    expected: Sequence[Expected], setup: Setup, sheet: Sheet, *, fault: str = "", works: Sequence[str] = ()
) -> str:
    """Expected volts with the interval that 95 of 100 sound machines show.

    Parameters
    ----------
    works
        Functions that work in this setup.
    """
    black = expected[0].black if expected else "battery-"
    head = wrap(sheet.name) + wrap(f"with {setup_words(setup, sheet)}")
    head += wrap(f"fault acted out: {fault}") if fault else []
    head += wrap(f"then works: {', '.join(works) or 'nothing'}")
    table = [f"{'red on':<{NAME}}volts, black on {black}"]
    for e in expected:
        table += _row(e)
    return joined(head, table, wrap(f"The width is what tolerances leave open. {FIRST}"))


def _row(e: Expected) -> list[str]:
    shown = f"{volts(e.volts):<9} {span(e.low, e.high, 'V')}"
    if len(e.point) < NAME:
        return [f"{e.point:<{NAME}}{shown}"]
    return [*wrap(e.point), " " * NAME + shown]

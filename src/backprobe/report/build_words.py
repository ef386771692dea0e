"""Which build it is, where the sheet leaves values open."""

from __future__ import annotations

from backprobe.diagnosis.answer import Answer
from backprobe.report.layout import percent, wrap

SHOWN = 0.005
"""Probability below which a value has no place in the line [1]."""


def build_lines(answer: Answer) -> list[str]:
    """A line for each value that may be one of a few: ``feed volts: 8 V (99 %)``."""
    chances: dict[str, dict[str, float]] = {}
    for build in answer.builds:
        for name, value in build.choices:
            values = chances.setdefault(name, {})
            values[value] = values.get(value, 0.0) + build.probability
    return [line for name, values in chances.items() for line in wrap(_line(name, values), "Build: ", "  ")]


def _line(name: str, values: dict[str, float]) -> str:
    ordered = sorted(values, key=lambda v: -values[v])
    shown = [v for v in ordered if values[v] >= SHOWN] or ordered[:1]
    return f"{name}: " + ", ".join(f"{v} ({percent(values[v])})" for v in shown)

"""How long a mechanic waits: each reading of the demo jobs, ranked again with its next checks."""

from __future__ import annotations

import statistics
from functools import partial

import backprobe as bp
from backprobe.demo.story import demo_jobs
from backprobe.readings.lines import context_after
from backprobe.readings.points import reachable_points
from bench.figures import Figures, median_seconds, print_table

REPEATS = 3


def rank() -> Figures:
    """Time `rank` and `next_checks` after every reading of every demo job, engine warm."""
    ranked: list[float] = []
    chosen: list[float] = []
    points = 0
    for story in demo_jobs():
        points = max(points, len(reachable_points(story.sheet)))
        engine = bp.Engine(story.sheet, story.circumstances)
        readings: list[bp.Reading] = []
        for step in story.steps:
            readings.append(bp.parse_reading(step.line, engine.sheet, context_after(readings)))
            answer = bp.rank(engine, readings)
            ranked.append(1e3 * median_seconds(partial(bp.rank, engine, tuple(readings)), REPEATS))
            chosen.append(1e3 * median_seconds(partial(bp.next_checks, answer), REPEATS))
    both = [a + b for a, b in zip(ranked, chosen, strict=True)]
    rows: list[tuple[str, ...]] = [("after a reading, engine warm", "median ms", "worst ms")]
    for name, times in (("rank", ranked), ("next checks", chosen), ("both", both)):
        rows.append((name, f"{statistics.median(times):.0f}", f"{max(times):.0f}"))
    print_table(f"{len(ranked)} readings of three demo jobs, up to {points} points", rows)
    return {
        "rank_points": points,
        "rank_median_ms": statistics.median(ranked),
        "rank_worst_ms": max(ranked),
        "next_median_ms": statistics.median(chosen),
        "next_worst_ms": max(chosen),
        "rank_and_next_median_ms": statistics.median(both),
        "rank_and_next_worst_ms": max(both),
    }

"""How long a mechanic waits: each reading posted to a job, ranked again with its next checks."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from functools import partial

import backprobe as bp
from backprobe.demo.story import demo_jobs
from backprobe.readings.lines import context_after
from backprobe.readings.points import reachable_points
from bench.figures import Figures, median_seconds, peak_megabytes, print_table, seconds_of
from bench.long_chain import chain_job

REPEATS = 3
LONG = 60
"""Points of the generated sheet."""


def rank() -> Figures:
    """Time `rank` and `next_checks` after every reading of every demo job, and of one on a long chain."""
    demos = [(bp.Engine(s.sheet, s.circumstances), [step.line for step in s.steps]) for s in demo_jobs()]
    figures = _posted("rank", "demo jobs", demos)
    long = chain_job(LONG)
    figures |= _posted("long_rank", "job on a generated chain", [(bp.Engine(long.sheet), long.lines)])
    return figures | {"rank_peak_mb": peak_megabytes()}


def _posted(key: str, name: str, jobs: Sequence[tuple[bp.Engine, Sequence[str]]]) -> Figures:
    """Post each line to its job: as it comes, where its setup may be new, and again with all kept."""
    fresh: list[float] = []
    ranked: list[float] = []
    chosen: list[float] = []
    for engine, lines in jobs:
        readings: list[bp.Reading] = []
        for line in lines:
            readings.append(bp.parse_reading(line, engine.sheet, context_after(readings)))
            posted = tuple(readings)
            fresh.append(1e3 * seconds_of(partial(_answered, engine, posted)))
            ranked.append(1e3 * median_seconds(partial(bp.rank, engine, posted), REPEATS))
            answer = bp.rank(engine, posted)
            chosen.append(1e3 * median_seconds(partial(bp.next_checks, answer), REPEATS))
    both = [a + b for a, b in zip(ranked, chosen, strict=True)]
    rows: list[tuple[str, ...]] = [("after a reading", "median ms", "worst ms")]
    told = {"rank": ranked, "next": chosen, "rank_and_next": both, "first_time": fresh}
    for what, times in told.items():
        rows.append((what.replace("_", " "), f"{statistics.median(times):.0f}", f"{max(times):.0f}"))
    points = max(len(reachable_points(engine.sheet)) for engine, _ in jobs)
    print_table(f"{len(ranked)} readings of {len(jobs)} {name}, up to {points} points", rows)
    figures: Figures = {f"{key}_points": points}
    for what, times in told.items():
        stem = key if what == "rank" else f"{key}_{what.removeprefix('rank_')}"
        figures |= {f"{stem}_median_ms": statistics.median(times), f"{stem}_worst_ms": max(times)}
    return figures


def _answered(engine: bp.Engine, readings: tuple[bp.Reading, ...]) -> None:
    bp.next_checks(bp.rank(engine, readings))

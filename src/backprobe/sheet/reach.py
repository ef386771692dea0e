"""What the runs join to what, through every part they pass, whatever its state."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from itertools import pairwise

from backprobe.sheet.model import Run


def reached(runs: Mapping[str, Run], start: str) -> frozenset[str]:
    """Terminals that can be reached from a terminal along the runs, `start` among them."""
    beside: defaultdict[str, set[str]] = defaultdict(set)
    for one, other in _steps(runs.values()):
        beside[one].add(other)
        beside[other].add(one)
    found, waiting = {start}, [start]
    while waiting:
        fresh = beside[waiting.pop()] - found
        found |= fresh
        waiting.extend(fresh)
    return frozenset(found)


def _steps(runs: Iterable[Run]) -> Iterable[tuple[str, str]]:
    for run in runs:
        yield from ((item.enter, item.leave) for item in run.items)
        yield from ((one.leave, other.enter) for one, other in pairwise(run.items))

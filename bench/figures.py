"""Figures that a stage measured: shown as lines, and kept as a file beside other results."""

from __future__ import annotations

import json
import resource
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

BUILD = Path(__file__).resolve().parents[1] / "build"

Figure = float | int | str
Figures = dict[str, Figure]


def write_figures(name: str, figures: Figures) -> Path:
    """Print each figure as ``name: value`` and write all of them to ``build/NAME.json``."""
    for key, value in figures.items():
        print(f"{key}: {shown(value)}")
    BUILD.mkdir(exist_ok=True)
    path = BUILD / f"{name}.json"
    path.write_text(json.dumps(figures, indent=2) + "\n", encoding="utf-8")
    return path


def shown(value: Figure) -> str:
    """A figure as text, four digits where it is a fraction."""
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def print_table(title: str, rows: list[tuple[str, ...]]) -> None:
    """Print rows with their first column on the left and the others on the right."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    print(f"\n{title}")
    for row in rows:
        cells = [row[0].ljust(widths[0]), *(c.rjust(w) for c, w in zip(row[1:], widths[1:], strict=True))]
        print("  " + "   ".join(cells).rstrip())


def seconds_of(action: Callable[[], object]) -> float:
    """Wall time of one call [s]."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def median_seconds(action: Callable[[], object], times: int) -> float:
    """Median wall time over several calls [s]."""
    return statistics.median(seconds_of(action) for _ in range(times))


def peak_megabytes() -> float:
    """Most memory that this process has held so far [MB]."""
    try:
        # Linux: what the kernel reports for a process's resources counts its parent's peak too.
        lines = Path("/proc/self/status").read_text(encoding="utf-8").splitlines()
        return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) * 1024 / 1e6
    except (OSError, StopIteration):
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        # Bytes on macOS, kibibytes elsewhere.
        return peak / 1e6 if sys.platform == "darwin" else peak * 1024 / 1e6

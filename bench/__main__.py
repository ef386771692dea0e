"""Measure and print: ``python -m bench`` for everything, ``python -m bench NAME ...`` for some stages."""

from __future__ import annotations

import sys
from collections.abc import Callable

from bench.batch import batch, opened
from bench.engine import engine
from bench.figures import Figures, peak_megabytes, write_figures
from bench.machine import machine
from bench.peak import memory
from bench.rank import rank
from bench.shell import shell
from bench.trial import trial
from bench.web import web

STAGES: tuple[Callable[[], Figures], ...] = (machine, batch, opened, memory, engine, rank, web, shell, trial)
"""Each prints its table and gives its figures. A new stage is one function in this list."""


def main(names: list[str]) -> int:
    """Run the stages named, or all."""
    known = {stage.__name__: stage for stage in STAGES}
    unknown = [name for name in names if name not in known]
    if unknown:
        print(f"'{unknown[0]}' is not a stage. Stages: {', '.join(known)}", file=sys.stderr)
        return 2
    figures: Figures = {}
    for name in names or known:
        figures |= known[name]()
    figures["peak_of_bench_process_mb"] = peak_megabytes()
    print()
    # Some stages alone leave the full record as it is.
    write_figures("bench" if not names else "bench-" + "-".join(names), figures)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

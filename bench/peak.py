"""Memory of one way of solving, in a process of its own: ``python -m bench.peak WAY``."""

from __future__ import annotations

import subprocess
import sys

from bench.figures import Figures, peak_megabytes, print_table

WAYS = ("nothing", "dense", "all_nodes", "probed")


def memory() -> Figures:
    """Peak memory of a process that only draws the circuits, and of one for each way [MB]."""
    figures: Figures = {}
    for way in WAYS:
        run = subprocess.run(
            [sys.executable, "-m", "bench.peak", way], check=True, capture_output=True, text=True
        )
        figures[f"peak_{way}_mb"] = float(run.stdout)
    rows: list[tuple[str, ...]] = [("circuits drawn, nothing solved", f"{figures['peak_nothing_mb']:.0f} MB")]
    rows += [(way.replace("_", " "), f"{figures[f'peak_{way}_mb']:.0f} MB") for way in WAYS[1:]]
    print_table("Peak memory of a process of its own", rows)
    return figures


def main(way: str) -> None:
    """Do it once and print the peak [MB]."""
    from bench.batch import CHUNKS, solve_dense, solve_ours
    from bench.circuits import make_fleet

    fleet = make_fleet()
    kept: object = None
    match way:
        case "dense":
            kept = solve_dense(fleet, CHUNKS[0])
        case "all_nodes":
            kept = solve_ours(fleet, None)
        case "probed":
            kept = solve_ours(fleet, fleet.probes)
        case "nothing":
            pass
        case _:
            raise SystemExit(f"'{way}' is not one of: {', '.join(WAYS)}")
    print(peak_megabytes())
    del kept


if __name__ == "__main__":
    main(sys.argv[1])

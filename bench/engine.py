"""The engine on whole sheets: from the file to all faults solved, warm and from a cold start."""

from __future__ import annotations

import json
import statistics
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

from bench.figures import Figures, median_seconds, peak_megabytes, print_table

HERE = Path(__file__).resolve().parent
SHEETS: dict[str, dict[str, str]] = {
    "sprayer": {"key": "on", "gate": "shut", "boom button": "pressed"},
}
"""Sheet files beside this one, and the operator state in which their circuits are solved."""
REPEATS = 15
AGREE = 1e-9
"""Largest difference between updated and fully solved circuits [V]."""


def engine() -> Figures:
    """Read, compile and solve all faults of each sheet; stops where updates and full solves disagree."""
    figures: Figures = {}
    for name in SHEETS:
        figures |= _warm(name) | _cold(name)
    return figures


def _warm(name: str) -> Figures:
    from backprobe.circuit.compiled import compile_sheet
    from backprobe.circuit.full import solve_full
    from backprobe.circuit.setup import make_setup
    from backprobe.circuit.solve import solve_changes
    from backprobe.circuit.stage import make_stage
    from backprobe.faults.catalogue import make_catalogue
    from backprobe.sheet.reader import load_sheet

    path = HERE / f"{name}.yaml"
    sheet = load_sheet(path)
    circuit = compile_sheet(sheet)
    setup = make_setup(sheet, SHEETS[name])
    changes = make_catalogue(circuit).changes
    values = changes.values(circuit.nominal)
    stage = make_stage(circuit, setup)
    updated, full = solve_changes(stage, changes), solve_full(stage, values)
    worst = float(np.abs(updated.volts - full.volts).max())
    if not worst < AGREE or (updated.modes != full.modes).any():
        raise SystemExit(f"{path.name}: updated and full solutions differ by {worst:.3g} V, or in modes.")
    seconds = {
        "parse": median_seconds(lambda: load_sheet(path), REPEATS),
        "compile": median_seconds(lambda: compile_sheet(sheet), REPEATS),
        "make_stage": median_seconds(lambda: make_stage(circuit, setup), REPEATS),
        # A new stage each time: what is factorised once per setup is part of the figure.
        "stage_and_changes": median_seconds(
            lambda: solve_changes(make_stage(circuit, setup), changes), REPEATS
        ),
        "solve_full": median_seconds(lambda: solve_full(make_stage(circuit, setup), values), REPEATS),
    }
    rows: list[tuple[str, ...]] = [
        ("sheet file read and checked", f"{seconds['parse'] * 1e3:.2f} ms"),
        ("compiled", f"{seconds['compile'] * 1e3:.2f} ms"),
        ("placed in a setup", f"{seconds['make_stage'] * 1e3:.2f} ms"),
        (
            f"that and all {changes.count} circuits, by changes",
            f"{seconds['stage_and_changes'] * 1e3:.2f} ms",
        ),
        ("the same, each in full", f"{seconds['solve_full'] * 1e3:.2f} ms"),
    ]
    print_table(
        f"Sheet '{name}': {circuit.size} nodes, {len(circuit.branches)} branches, "
        f"{len(circuit.modes)} modes, {int(full.chatters.sum())} circuits chatter; medians of {REPEATS}",
        rows,
    )
    figures: Figures = {f"{name}_circuits": changes.count, f"{name}_nodes": circuit.size}
    figures |= {f"{name}_{key}_ms": value * 1e3 for key, value in seconds.items()}
    return figures | {f"{name}_largest_difference_v": worst}


def _cold(name: str) -> Figures:
    """A new process each time, up to all faults of one setup solved."""
    whole, inside, peak = [], [], []
    for _ in range(5):
        begun = time.perf_counter()
        run = subprocess.run(
            [sys.executable, "-m", "bench.engine", name], check=True, capture_output=True, text=True
        )
        whole.append(time.perf_counter() - begun)
        told = json.loads(run.stdout)
        inside.append(told["seconds"])
        peak.append(told["megabytes"])
    figures: Figures = {
        f"{name}_cold_open_s": statistics.median(whole),
        f"{name}_cold_open_without_imports_s": statistics.median(inside),
        f"{name}_peak_mb": statistics.median(peak),
    }
    rows: list[tuple[str, ...]] = [
        ("process, imports, sheet, all faults", f"{statistics.median(whole):.3f} s"),
        ("the sheet and all faults alone", f"{statistics.median(inside):.3f} s"),
        ("peak memory", f"{statistics.median(peak):.0f} MB"),
    ]
    print_table(f"Sheet '{name}' opened cold, medians of 5", rows)
    return figures


def main(name: str) -> None:
    """Open one sheet and solve all its faults once; tell how long it took after the imports."""
    from backprobe.circuit.compiled import compile_sheet
    from backprobe.circuit.setup import make_setup
    from backprobe.circuit.solve import solve_changes
    from backprobe.circuit.stage import make_stage
    from backprobe.faults.catalogue import make_catalogue
    from backprobe.sheet.reader import load_sheet

    begun = time.perf_counter()
    sheet = load_sheet(HERE / f"{name}.yaml")
    circuit = compile_sheet(sheet)
    stage = make_stage(circuit, make_setup(sheet, SHEETS[name]))
    solve_changes(stage, make_catalogue(circuit).changes)
    print(json.dumps({"seconds": time.perf_counter() - begun, "megabytes": peak_megabytes()}))


if __name__ == "__main__":
    main(sys.argv[1])

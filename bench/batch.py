"""All faulted circuits at once: a batched dense solve against our closed form, like with like."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.lowrank import SINGULAR
from backprobe.circuit.perturb import perturb_one
from bench.circuits import DRAWS, Fleet, assemble, make_fleet
from bench.figures import Figures, print_table, seconds_of

CHUNKS = (500, 1000, 2000, 4000)
REPEATS = 5
AGREE = 1e-6
"""Largest difference between the two ways that is still called agreement [V]: a millionth of a volt
is a thousandth of a meter's last digit."""


@dataclass(slots=True)
class Dense:
    """What a dense solve of all faulted circuits took [s], and its result ``(circuits, n)`` [V]."""

    assembly: float
    solving: float
    volts: Floats


def solve_dense(fleet: Fleet, chunk: int, start: int = 0, stop: int | None = None) -> Dense:
    """Assemble and solve every faulted circuit in chunks, with numpy's batched solver."""
    stop = fleet.count if stop is None else stop
    dense = Dense(0.0, 0.0, np.empty((stop - start, fleet.right.shape[1])))
    for at in range(start, stop, chunk):
        begun = time.perf_counter()
        flat = np.arange(at, min(at + chunk, stop))
        matrix, right = assemble(fleet, flat)
        assembled = time.perf_counter()
        dense.volts[flat - start] = np.linalg.solve(matrix, right)[:, :, 0]
        dense.assembly += assembled - begun
        dense.solving += time.perf_counter() - assembled
    return dense


def solve_ours(fleet: Fleet, probes: Floats | None, part: slice = slice(None)) -> Floats:
    """Factorise the unchanged circuits and perturb them; the factorisation is part of the time."""
    matrix, right = fleet.matrix[part], fleet.right[part]
    inverse = np.asarray(np.linalg.inv(matrix), np.float64)
    volts: Floats = (inverse @ right[:, :, None])[:, :, 0]
    return perturb_one(inverse, volts, fleet.branch, fleet.change[part], probes, matrix=matrix, right=right)


def in_two_threads(work: Callable[[int], object]) -> None:
    """Do the two halves of a task at the same time."""
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(work, (0, 1)))


def batch() -> Figures:
    """Time both ways, single-threaded and in two threads, and check that they agree."""
    fleet = make_fleet()
    half, circuits = fleet.count // 2, len(fleet.matrix)
    halves = (slice(0, circuits // 2), slice(circuits // 2, None))
    sample = fleet.count // 8
    trial = {c: seconds_of(lambda c=c: solve_dense(fleet, c, stop=sample)) for c in CHUNKS}  # type: ignore[misc]
    best = min(trial, key=trial.__getitem__)
    times: dict[str, list[float]] = {}

    def timed(name: str, action: Callable[[], object]) -> None:
        times.setdefault(name, []).append(seconds_of(action))

    for _ in range(REPEATS):
        begun = time.perf_counter()
        dense = solve_dense(fleet, best)
        times.setdefault("dense", []).append(time.perf_counter() - begun)
        times.setdefault("assembly", []).append(dense.assembly)
        times.setdefault("solving", []).append(dense.solving)
        timed("every", lambda: solve_ours(fleet, None))
        timed("probed", lambda: solve_ours(fleet, fleet.probes))
        timed("dense2", lambda: in_two_threads(lambda k: solve_dense(fleet, best, k * half, (k + 1) * half)))
        timed("every2", lambda: in_two_threads(lambda k: solve_ours(fleet, None, halves[k])))
        timed("probed2", lambda: in_two_threads(lambda k: solve_ours(fleet, fleet.probes, halves[k])))
    median = {name: statistics.median(values) for name, values in times.items()}
    figures = _figures(fleet, median, best)
    figures |= _agreement(fleet, dense.volts)
    _show(figures)
    return figures


def _figures(fleet: Fleet, median: dict[str, float], chunk: int) -> Figures:
    return {
        "circuits": fleet.count,
        "dense_chunk": chunk,
        "dense_assembly_s": median["assembly"],
        "dense_solve_only_s": median["solving"],
        "dense_s": median["dense"],
        "all_nodes_s": median["every"],
        "probed_s": median["probed"],
        "all_nodes_ratio": median["dense"] / median["every"],
        "probed_ratio": median["dense"] / median["probed"],
        "all_nodes_ratio_without_assembly": median["solving"] / median["every"],
        "probed_ratio_without_assembly": median["solving"] / median["probed"],
        "dense_2_threads_s": median["dense2"],
        "all_nodes_2_threads_s": median["every2"],
        "probed_2_threads_s": median["probed2"],
        "all_nodes_ratio_2_threads": median["dense2"] / median["every2"],
        "probed_ratio_2_threads": median["dense2"] / median["probed2"],
    }


def _agreement(fleet: Fleet, dense: Floats) -> Figures:
    """Largest differences [V]; stops the run where the two ways disagree."""
    shape = (*fleet.change.shape, fleet.right.shape[1])
    expected = dense.reshape(shape)
    worst = float(np.abs(solve_ours(fleet, None) - expected).max())
    probed = float(np.abs(solve_ours(fleet, fleet.probes) - expected @ fleet.probes.T).max())
    if not (worst < AGREE and probed < AGREE):
        raise SystemExit(f"The two ways disagree by {worst:.3g} V (all nodes), {probed:.3g} V (probed).")
    return {"largest_difference_v": worst, "largest_probed_difference_v": probed}


def _show(figures: Figures) -> None:
    def row(name: str, key: str, ratio: str, ratio2: str) -> tuple[str, ...]:
        return (name, f"{figures[f'{key}_s']:.3f}", ratio, f"{figures[f'{key}_2_threads_s']:.3f}", ratio2)

    rows = [
        ("", "1 thread [s]", "ratio", "2 threads [s]", "ratio"),
        row("dense, assembled and solved", "dense", "1", "1"),
    ]
    for name, key in (("ours, all 24 nodes", "all_nodes"), ("ours, 8 probed points", "probed")):
        rows.append(
            row(name, key, f"{figures[f'{key}_ratio']:.0f}", f"{figures[f'{key}_ratio_2_threads']:.0f}")
        )
    print_table(
        f"{figures['circuits']:,} circuits of 24 nodes: 300 faults x 8 setups x {DRAWS} draws, "
        f"medians of {REPEATS}",
        rows,
    )
    print(
        f"  dense: {figures['dense_assembly_s']:.3f} s assembly, {figures['dense_solve_only_s']:.3f} s "
        f"solving, chunks of {figures['dense_chunk']}; largest difference "
        f"{figures['largest_difference_v']:.2g} V"
    )


def opened() -> Figures:
    """The same with a full break as each part's last severity: what the solve in full costs us."""
    fleet = make_fleet(opened=True)
    inverse = np.linalg.inv(fleet.matrix)
    seen = np.einsum("fi,mij,fj->mf", fleet.branch, inverse, fleet.branch)
    lost = np.abs(1 + fleet.change * seen[:, :, None]) < SINGULAR
    dense = statistics.median(seconds_of(lambda: solve_dense(fleet, 1000)) for _ in range(3))
    ours = statistics.median(seconds_of(lambda: solve_ours(fleet, None)) for _ in range(3))
    figures: Figures = {
        "opened_solved_in_full": int(lost.sum()),
        "opened_dense_s": dense,
        "opened_all_nodes_s": ours,
        "opened_all_nodes_ratio": dense / ours,
    }
    rows: list[tuple[str, ...]] = [("dense", f"{dense:.3f} s"), ("ours, all 24 nodes", f"{ours:.3f} s")]
    print_table(f"With full breaks, {lost.sum():,} of them solved in full (medians of 3)", rows)
    return figures

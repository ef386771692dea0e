"""Every join of a plug of six cavities under every single fault in every operator state."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np

from backprobe.diagnosis.engine import Engine
from backprobe.workbench.join_sweep import Sweep, middle_rows, sweep
from bench.figures import Figures, print_table, seconds_of

SHEET = Path(__file__).resolve().parents[1] / "tests" / "workbench" / "six_cavities.yaml"
PLUG = "C2"
SAMPLE = 6
SEED = 20260406


def trial() -> Figures:
    """Time one sweep with one and with two threads; stops where a sample disagrees with full solves."""
    from backprobe.sheet.reader import load_sheet

    engine = Engine(load_sheet(SHEET))
    found: list[Sweep] = []
    one = seconds_of(lambda: found.append(sweep(engine, PLUG, threads=1)))
    two = seconds_of(lambda: found.append(sweep(engine, PLUG, threads=2)))
    if not np.array_equal(found[0].severity, found[1].severity):
        raise SystemExit("One thread and two give different verdicts.")
    _agreement(engine, found[0])
    states, joins, faults = found[0].severity.shape
    rows: list[tuple[str, ...]] = [("one thread", f"{one:.2f} s"), ("two threads", f"{two:.2f} s")]
    title = f"{joins} joins x {faults} circuits, sound and with each fault, x {states} operator states"
    print_table(title, rows)
    return {
        "trial_circuits": int(found[0].severity.size),
        "trial_all_joins_1_thread_s": one,
        "trial_all_joins_2_threads_s": two,
        "trial_microseconds_each": 1e6 * two / found[0].severity.size,
    }


def _agreement(engine: Engine, found: Sweep) -> None:
    """Compare a drawn sample of states and joins, all faults of each, with a solve in full."""
    from backprobe.circuit.setup import Attachment, Setup
    from backprobe.circuit.solve import solve_full
    from backprobe.circuit.stage import make_stage
    from backprobe.workbench import verdict as v
    from backprobe.workbench.claim import Cure
    from backprobe.workbench.trial_effects import Watch

    watch = Watch(engine)
    values = middle_rows(engine)[1].values(engine.circuit.nominal)
    draw = np.random.default_rng(SEED)
    for _ in range(SAMPLE):
        s, j = int(draw.integers(len(found.states))), int(draw.integers(len(found.joins)))
        state = found.states[s]
        ends = [pair for block in found.joins[j] for pair in pairwise(block)]
        leads = tuple(Attachment("jumper", f"{a}.machine", f"{b}.machine") for a, b in ends)
        joined = solve_full(make_stage(engine.circuit, Setup(state.state, frozenset({PLUG}), leads)), values)
        before = watch.see(solve_full(engine.stage(state), values), state)
        full = v.severity(watch.see(joined, state, Cure("", "join", leads)), before, before.released[0])
        wrong = np.flatnonzero(full != found.severity[s, j])
        if wrong.size:
            raise SystemExit(f"The sweep and full solves disagree on {found.faults[int(wrong[0])]}.")

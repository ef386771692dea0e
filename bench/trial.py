"""Every join of a plug of six cavities under every single fault in every operator state."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from time import process_time

import numpy as np

from backprobe.diagnosis.engine import Engine
from backprobe.workbench.join_sweep import Sweep, middle_rows, sweep
from bench.figures import Figures, print_table, seconds_of

SHEET = Path(__file__).resolve().parents[1] / "tests" / "workbench" / "six_cavities.yaml"
PLUG = "C2"
SAMPLE = 6
SEED = 20260406


def trial() -> Figures:
    """Time sweeps with the plug off and on; stops where a sample disagrees with full solves."""
    from backprobe.sheet.reader import load_sheet

    engine = Engine(load_sheet(SHEET))
    figures: Figures = {}
    rows: list[tuple[str, ...]] = [("plug", "one thread", "two threads", "of processors")]
    for unplugged, key in ((True, "trial"), (False, "trial_plugged")):
        found: list[Sweep] = []
        spent = process_time()
        one = seconds_of(lambda: found.append(sweep(engine, PLUG, unplugged=unplugged, threads=1)))  # noqa: B023
        spent = process_time() - spent
        two = seconds_of(lambda: found.append(sweep(engine, PLUG, unplugged=unplugged, threads=2)))  # noqa: B023
        if not np.array_equal(found[0].severity, found[1].severity):
            raise SystemExit("One thread and two give different verdicts.")
        _agreement(engine, found[0], unplugged=unplugged)
        states, joins, faults = found[0].severity.shape
        rows.append(("off" if unplugged else "on", f"{one:.2f} s", f"{two:.2f} s", f"{spent:.2f} s"))
        figures |= {
            f"{key}_circuits": int(found[0].severity.size),
            f"{key}_all_joins_1_thread_s": one,
            f"{key}_all_joins_2_threads_s": two,
            f"{key}_processor_s": spent,
            f"{key}_microseconds_each": 1e6 * two / found[0].severity.size,
        }
    title = f"{joins} joins x {faults} circuits, sound and with each fault, x {states} operator states"
    print_table(title, rows)
    return figures


def _agreement(engine: Engine, found: Sweep, *, unplugged: bool) -> None:
    """Compare a drawn sample of states and joins, all faults of each, with a solve in full."""
    from backprobe.circuit.full import solve_full
    from backprobe.circuit.setup import Attachment, Setup
    from backprobe.circuit.stage import make_stage
    from backprobe.workbench import verdict as v
    from backprobe.workbench.claim import Cure
    from backprobe.workbench.trial_effects import Watch

    watch, off = Watch(engine), frozenset({PLUG} if unplugged else ())
    values = middle_rows(engine)[1].values(engine.circuit.nominal)
    draw = np.random.default_rng(SEED)
    for _ in range(SAMPLE):
        s, j = int(draw.integers(len(found.states))), int(draw.integers(len(found.joins)))
        state = found.states[s]
        ends = [pair for block in found.joins[j] for pair in pairwise(block)]
        leads = tuple(Attachment("jumper", f"{a}.machine", f"{b}.machine") for a, b in ends)
        joined = solve_full(make_stage(engine.circuit, Setup(state.state, off, leads)), values)
        before = watch.see(solve_full(engine.stage(state), values), state)
        full = v.severity(watch.see(joined, state, Cure("", "join", leads)), before, before.released[0])
        wrong = np.flatnonzero(full != found.severity[s, j])
        if wrong.size:
            raise SystemExit(f"The sweep and full solves disagree on {found.faults[int(wrong[0])]}.")

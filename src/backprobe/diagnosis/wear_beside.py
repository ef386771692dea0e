"""Wear beside an explanation, all joints at once.

Wear is everywhere: three joints may each lose a little while a fourth is what stops the relay. Grown one
by one such a set is climbed over hills that explain each step better. But a few ohms in a joint move
every reading in proportion, and never below nothing: so all joints together are a non-negative least
squares problem (C. L. Lawson, R. J. Hanson: Solving Least Squares Problems, chapter 23 [mem]), whose
solution leaves most of them at zero.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.explain import SLIPPED, Explanations
from backprobe.diagnosis.given import Readings

PER_OHM = 1.0
"""What an ohm of wear in one joint costs: little wear in few joints is likeliest [nat/ohm]."""
RIDGE = 1e-6
SEEN = 1.0
"""Meter spreads that a joint must move some reading by to be counted [1]."""
MOST = 5
"""Joints added at most."""


def wear_beside(
    engine: Engine, readings: Readings, alike: Mapping[int, list[int]], found: Explanations, e: int
) -> tuple[int, ...]:
    """Catalogue rows of the joints that, worn beside explanation `e`, explain best what it leaves over.

    Empty where none is needed.

    Parameters
    ----------
    alike
        As `alike_joints` gives it: of joints that show the same the likeliest stands for all.
    """
    # Only where it is asked for: a command that never gets here need not wait for it.
    from scipy.optimize import nnls

    circuit, catalogue = engine.circuit, engine.catalogue
    mine = {int(catalogue.mode_of[r]) for r in found.rows[e]}
    joints = [m for m in _likeliest(engine, alike) if m not in mine]
    if not joints or not readings.numbers:
        return ()
    keys = [circuit.parameter_of[next(iter(catalogue.modes[m].changes))] for m in joints]
    moved = circuit.coordinates(found.values[e]) - circuit.coordinates(found.start[e])
    # From the prior's centre: what the tolerances were stretched to explain is open again.
    left = found.residual[e] + found.loading[e] @ moved
    scaled = found.loading[e] * found.spread[e]
    meter = readings.noise.copy()
    if found.slip[e] >= 0:
        meter[found.slip[e], found.slip[e]] += SLIPPED
    white = np.linalg.cholesky(np.linalg.inv(scaled @ scaled.T + meter)).T
    slope = found.loading[e][:, keys] / found.values[e, keys]
    # Half the square of what is left over and the penalty together, as one least squares problem.
    square = (white @ slope).T @ (white @ slope)
    root = np.linalg.cholesky(square + RIDGE * np.eye(len(joints))).T
    wanted = (white @ slope).T @ (white @ left) - PER_OHM
    ohms, _ = nnls(root, np.linalg.solve(root.T, wanted))
    effect = np.abs(slope * ohms).T / np.sqrt(np.diag(meter))
    seen = effect.max(axis=1)
    chosen = [int(j) for j in np.argsort(-seen, kind="stable")[:MOST] if seen[j] > SEEN]
    rows: list[int] = []
    for j in chosen:
        cells = engine.rows_of_mode[joints[j]]
        gap = np.abs(np.log(catalogue.changes.value[cells, 0] / ohms[j]))
        rows.append(int(cells[int(np.argmin(gap))]))
    return tuple(rows)


def _likeliest(engine: Engine, alike: Mapping[int, list[int]]) -> list[int]:
    """The joint most often met of each set that shows the same."""
    best = {max(members, key=lambda m: (engine.log_extra_of_mode[m], -m)) for members in alike.values()}
    return sorted(best)

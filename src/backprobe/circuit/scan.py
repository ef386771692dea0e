"""Look at many changes of one solved circuit at once, with its modes held as they are.

A quick look that ranks which further fault would explain what is left over; whatever it
picks is solved properly afterwards.
"""

from __future__ import annotations

import numpy as np

from backprobe.circuit.compiled import Bools, Floats, Ints
from backprobe.circuit.full import solve_full
from backprobe.circuit.lowrank import factorise, update
from backprobe.circuit.solve import Changes, touched_branches
from backprobe.circuit.stage import Stage


def scan_changes(
    stage: Stage, changes: Changes, values: Floats, selectors: Floats, modes: Bools | None = None
) -> tuple[Floats, Floats]:
    """Volts and resistance between pairs of points under every change.

    Parameters
    ----------
    changes
        ``c`` changes of the circuit whose parameter values are `values` ``(p,)``.
    selectors
        ``(r, n)``, as made by `Circuit.pair`.
    modes
        ``(d,)`` of the circuit before the change, where they are known.

    Returns
    -------
    volts, ohms
        ``(c, r)`` [V] and ``(c, r)`` [ohm].
    """
    if modes is None:
        modes = solve_full(stage, values[None]).modes[0]
    base = factorise(stage, values, modes, keep=False)
    touched = touched_branches(stage, changes)
    siemens, driven = stage.held(stage.closed(changes.values(values)), stage.conducting(modes[None]))
    seen = np.empty((changes.count, selectors.shape[0]))
    ohms = np.empty_like(seen)
    plain = ((selectors @ base.inverse) * selectors).sum(axis=1)
    lost: list[Ints] = []
    # Most faults touch one branch; they need no room for the others'.
    narrow = (touched < stage.branch_count).sum(axis=1) <= 1
    for rows, width in ((np.flatnonzero(narrow), 1), (np.flatnonzero(~narrow), touched.shape[1])):
        if not rows.size:
            continue
        some = touched[rows, :width]
        volts, factor, poor = update(stage, base, some, siemens[rows], driven[rows], quick=True)
        inner = base.columns[some] @ selectors.T
        ohms[rows] = plain - ((factor @ inner) * inner).sum(axis=1)
        seen[rows] = volts @ selectors.T
        lost.append(rows[poor])
    again = np.concatenate(lost)
    if again.size:
        factors = stage.plan.factor(siemens[again])
        seen[again] = (selectors @ stage.eliminated(factors, siemens[again], driven[again])).T
        for r, selector in enumerate(selectors):
            ohms[again, r] = selector @ factors.solve(factors.each(selector))
    return seen, ohms

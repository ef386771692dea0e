"""Look at many changes of one solved circuit at once, with its modes held as they are.

A quick look that ranks which further fault would explain what is left over; whatever it
picks is solved properly afterwards.
"""

from __future__ import annotations

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.lowrank import factorise, update
from backprobe.circuit.solve import Changes, solve_full, touched_branches
from backprobe.circuit.stage import Stage


def scan_changes(stage: Stage, changes: Changes, values: Floats, selectors: Floats) -> tuple[Floats, Floats]:
    """Volts and resistance between pairs of points under every change.

    Parameters
    ----------
    changes
        ``c`` changes of the circuit whose parameter values are `values` ``(p,)``.
    selectors
        ``(r, n)``, as made by `Circuit.pair`.

    Returns
    -------
    volts, ohms
        ``(c, r)`` [V] and ``(c, r)`` [ohm].
    """
    modes = solve_full(stage, values[None]).modes
    base = factorise(stage, values, modes[0], keep=False)
    touched = touched_branches(stage, changes)
    full = changes.values(values)
    siemens, driven = stage.conductances(full, np.repeat(modes, changes.count, axis=0))
    volts, factor, poor = update(stage, base, touched, siemens, driven, quick=True)
    columns = base.columns[touched]
    inner = columns @ selectors.T
    plain = np.einsum("rn,nm,rm->r", selectors, base.inverse, selectors)
    ohms = plain[None] - np.einsum("cir,cij,cjr->cr", inner, factor, inner)
    seen = volts @ selectors.T
    lost = np.flatnonzero(poor)
    if lost.size:
        exact, inverse = stage.solve(siemens[lost], driven[lost])
        seen[lost] = exact @ selectors.T
        ohms[lost] = np.einsum("rn,cnm,rm->cr", selectors, inverse, selectors)
    return seen, ohms

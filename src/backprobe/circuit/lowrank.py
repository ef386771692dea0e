"""Low-rank changes of one factorised setup, where every circuit changes a few branches of its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Bools, Floats, Ints
from backprobe.circuit.stage import REFINEMENTS, SETTLED, Stage

SINGULAR = 1e-3
"""Below this |det(I + D M)| a circuit is not updated from its base, but from one with the branch open,
or solved in full.

M is a difference of large resistances, so it carries about 1e-11 of relative error; dividing by a
small determinant turns that into volts. At 1e-3 one step of refinement brings it below 1e-12 V.
"""

NEARLY_SINGULAR = 1e-9
"""The same for a quick look, where a hundredth of relative error does not matter."""


@dataclass(slots=True, eq=False)
class Base:
    """One factorised setup with one set of modes."""

    inverse: Floats
    volts: Floats
    columns: Floats
    """``(b + 1, n)``: incidence times inverse."""
    seen: Floats
    """``(b + 1, b + 1)``: resistance between any two branches' ends."""
    drops: Floats
    """``(b + 1,)`` volts across each branch."""
    siemens: Floats
    driven: Floats


def factorise(stage: Stage, nominal: Floats, pattern: Bools, *, keep: bool = True) -> Base:
    """The circuit at one set of values and modes, ready for `update`; kept with its stage if asked to."""
    key = b"base" + nominal.tobytes() + pattern.tobytes()
    kept = stage.cache.get(key)
    if isinstance(kept, Base):
        return kept
    siemens, driven = stage.conductances(nominal[None], pattern[None])
    volts, inverse = stage.solve(siemens, driven)
    # One row of zeros past the last branch stands for "no branch".
    incidence = np.vstack([stage.incidence, np.zeros((1, stage.circuit.size))])
    columns = incidence @ inverse[0].T
    base = Base(
        inverse[0],
        volts[0],
        columns,
        columns @ incidence.T,
        incidence @ volts[0],
        np.append(siemens[0], 0.0),
        np.append(driven[0], 0.0),
    )
    if keep:
        stage.cache[key] = base
    return base


def update(
    stage: Stage, base: Base, touched: Ints, siemens: Floats, driven: Floats, *, quick: bool = False
) -> tuple[Floats, Floats, Bools]:
    """Volts ``(c, n)``, the factor ``(I + D M)^-1 D`` ``(c, k, k)``, and which lost too many digits.

    A `quick` update is not refined and puts up with a hundredth of relative error (`NEARLY_SINGULAR`).
    """
    rows = np.arange(touched.shape[0])[:, None]
    width = touched.shape[1]
    last = siemens.shape[1] - 1
    real = touched <= last
    inside = np.minimum(touched, last)
    change = np.where(real, siemens[rows, inside] - base.siemens[inside], 0.0)
    pushed = np.where(real, driven[rows, inside] - base.driven[inside], 0.0)
    seen = base.seen[touched[:, :, None], touched[:, None, :]]
    columns = base.columns[touched]
    system = change[:, :, None] * seen
    system[:, np.arange(width), np.arange(width)] += 1.0
    # Each row by its own size, so that an added short cannot hide a conductance taken away.
    size = 1.0 + np.abs(change) * seen[:, np.arange(width), np.arange(width)]
    scaled = system / size[:, :, None]
    poor = np.abs(scaled[:, 0, 0] if width == 1 else np.linalg.det(scaled)) < (
        NEARLY_SINGULAR if quick else SINGULAR
    )
    system[poor] = np.eye(width)
    if width == 1:
        factor = change[:, :, None] / system
    else:
        factor = np.asarray(np.linalg.solve(system, change[:, :, None] * np.eye(width)[None]), np.float64)
    # Volts across the touched branches once their changed sources act, before they change.
    across = base.drops[touched] - np.einsum("cjk,ck->cj", seen, pushed)
    weight = pushed + np.einsum("cij,cj->ci", factor, across)
    volts = base.volts - np.einsum("ck,ckn->cn", weight, columns)
    if quick:
        return volts, factor, poor

    def nearly(left: Ints | slice, residual: Floats) -> Floats:
        near = columns[left]
        weight = np.einsum("cij,cj->ci", factor[left], np.einsum("ckn,cn->ck", near, residual))
        step: Floats = residual @ base.inverse.T - np.einsum("ck,ckn->cn", weight, near)
        return step

    return volts, factor, _refine(stage, volts, siemens, driven, poor, nearly)


def _refine(
    stage: Stage,
    volts: Floats,
    siemens: Floats,
    driven: Floats,
    poor: Bools,
    nearly: Callable[[Ints | slice, Floats], Floats],
) -> Bools:
    """Refine volts in place; gives which circuits were `poor` before or do not come to rest.

    `nearly` multiplies some of the circuits' residuals with their approximate inverses.
    """
    left: Ints | slice = slice(None)
    for _ in range(REFINEMENTS):
        step = nearly(left, stage.residual(volts[left], siemens[left], driven[left]))
        volts[left] += step
        moved = np.abs(step).max(axis=1) > SETTLED
        left = np.flatnonzero(moved & ~poor) if isinstance(left, slice) else left[moved]
        if not left.size:
            break
    poor[left] = True
    return poor

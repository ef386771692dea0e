"""Solve batches of circuits: in full, or as low-rank changes of one factorised setup."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Bools, Floats, Ints
from backprobe.circuit.settle import Electrical, settle
from backprobe.circuit.stage import REFINEMENTS, SETTLED, Stage

SINGULAR = 1e-3
"""Below this |det(I + D M)| an update is solved in full instead.

M is a difference of large resistances, so it carries about 1e-11 of relative error; dividing by a
small determinant turns that into volts. At 1e-3 one step of refinement brings it below 1e-12 V.
"""


@dataclass(slots=True, eq=False)
class Solution:
    """Solved circuits of one setup.

    Parameters
    ----------
    values
        ``(c, p)`` parameter values.
    volts
        ``(c, n)`` node volts to the battery's negative post [V].
    siemens, driven, currents
        ``(c, b)`` conductances [S], driving currents and branch currents [A].
    modes, chatters, alternating
        ``(c, d)``, ``(c,)`` and ``(c, d)``: device modes, and what did not come to rest.
    """

    stage: Stage
    values: Floats
    volts: Floats
    siemens: Floats
    driven: Floats
    currents: Floats
    modes: Bools
    chatters: Bools
    alternating: Bools
    transfer: Callable[[Floats], Floats]
    """Maps a selector ``(n,)`` to ``(c, n)``: each circuit's inverse matrix times it [ohm]."""

    @property
    def count(self) -> int:
        """Number of circuits."""
        return self.volts.shape[0]

    def across(self, a: str, b: str) -> Floats:
        """``(c,)`` volts from terminal `a` to terminal `b` [V]."""
        circuit = self.stage.circuit
        result: Floats = self.volts @ circuit.pair(circuit.node(a), circuit.node(b))
        return result

    def through(self, branch: str) -> Floats:
        """``(c,)`` current through a branch [A]."""
        result: Floats = self.currents[:, self.stage.circuit.branch_of[branch]]
        return result


def solve_full(stage: Stage, values: Floats) -> Solution:
    """Solve every circuit of a batch with its own factorisation.

    Parameters
    ----------
    values
        ``(c, p)`` parameter values, own units.
    """
    inverses = np.zeros((values.shape[0], stage.circuit.size, stage.circuit.size))
    found = np.zeros((values.shape[0], stage.circuit.size))

    def solver(modes: Bools, rows: Ints) -> Electrical:
        siemens, driven = stage.conductances(values[rows], modes)
        volts, inverse = stage.solve(siemens, driven)
        inverses[rows], found[rows] = inverse, volts
        return Electrical(values[rows], volts, stage.currents(volts, siemens, driven))

    settled = settle(stage, values.shape[0], solver)
    unsettled = np.flatnonzero(settled.chatters)
    if unsettled.size:
        solver(settled.modes[unsettled], unsettled)
    siemens, driven = stage.conductances(values, settled.modes)
    return Solution(
        stage,
        values,
        found,
        siemens,
        driven,
        stage.currents(found, siemens, driven),
        settled.modes,
        settled.chatters,
        settled.alternating,
        lambda selector: inverses @ selector,
    )


@dataclass(slots=True, eq=False)
class Changes:
    """Circuits that differ from the nominal one in a few parameters.

    Parameters
    ----------
    index, value
        ``(c, k)``: parameter indices (-1 pads) and their values.
    """

    index: Ints
    value: Floats

    @property
    def count(self) -> int:
        """Number of circuits."""
        return self.index.shape[0]

    def values(self, nominal: Floats) -> Floats:
        """``(c, p)`` full parameter values."""
        full = np.repeat(nominal[None], self.count, axis=0)
        for k in range(self.index.shape[1]):
            rows = np.flatnonzero(self.index[:, k] >= 0)
            full[rows, self.index[rows, k]] = self.value[rows, k]
        return full


def no_changes(count: int = 1) -> Changes:
    """`count` nominal circuits."""
    return Changes(np.full((count, 1), -1, np.int64), np.zeros((count, 1)))


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


def solve_changes(stage: Stage, changes: Changes, nominal: Floats | None = None) -> Solution:
    """Solve circuits that differ from one nominal circuit by a few conductances or sources.

    Woodbury's identity: with ``A = A0 + U D U'`` and ``M = U' A0^-1 U``,
    ``A^-1 = A0^-1 - A0^-1 U (I + D M)^-1 D U' A0^-1``. Where ``|det(I + D M)|`` falls
    below `SINGULAR` (a conductance that alone held a node is taken away) the circuit is solved in full.
    """
    nominal = stage.circuit.nominal if nominal is None else nominal
    values = changes.values(nominal)
    touched = touched_branches(stage, changes)
    count, size = changes.count, stage.circuit.size
    factors = np.zeros((count, touched.shape[1], touched.shape[1]))
    bases: list[Base] = []
    number_of: dict[bytes, int] = {}
    base_of = np.zeros(count, np.int64)
    in_full: dict[int, Floats] = {}

    def solver(modes: Bools, rows: Ints) -> Electrical:
        siemens, driven = stage.conductances(values[rows], modes)
        volts = np.empty((rows.size, size))
        patterns, group = np.unique(modes, axis=0, return_inverse=True)
        group = group.reshape(-1)
        for g, pattern in enumerate(patterns):
            key = pattern.tobytes()
            if key not in number_of:
                number_of[key] = len(bases)
                bases.append(factorise(stage, nominal, pattern))
            base = bases[number_of[key]]
            inside = np.flatnonzero(group == g)
            found, factor, poor = update(stage, base, touched[rows[inside]], siemens[inside], driven[inside])
            volts[inside] = found
            factors[rows[inside]] = factor
            base_of[rows[inside]] = number_of[key]
            lost = inside[poor]
            if lost.size:
                volts[lost], inverse = stage.solve(siemens[lost], driven[lost])
                base_of[rows[lost]] = -1
                in_full.update(zip(rows[lost].tolist(), inverse, strict=True))
        return Electrical(values[rows], volts, stage.currents(volts, siemens, driven))

    settled = settle(stage, count, solver)
    siemens, driven = stage.conductances(values, settled.modes)
    last = solver(settled.modes, np.arange(count))

    def transfer(selector: Floats) -> Floats:
        out = np.empty((count, size))
        for number, base in enumerate(bases):
            rows = np.flatnonzero(base_of == number)
            if rows.size:
                columns = base.columns[touched[rows]]
                weight = np.einsum("cij,cj->ci", factors[rows], columns @ selector)
                out[rows] = base.inverse @ selector - np.einsum("ci,cin->cn", weight, columns)
        for i in np.flatnonzero(base_of < 0):
            out[i] = in_full[int(i)] @ selector
        return out

    return Solution(
        stage,
        values,
        last.volts,
        siemens,
        driven,
        last.currents,
        settled.modes,
        settled.chatters,
        settled.alternating,
        transfer,
    )


def touched_branches(stage: Stage, changes: Changes) -> Ints:
    """``(c, k)`` branches whose conductance or source a circuit changes; past the last one for none."""
    circuit = stage.circuit
    users: dict[int, list[int]] = {-1: []}
    for links in (circuit.ohms_of, circuit.emf_of, circuit.amps_of):
        for branch, parameter in enumerate(links.tolist()):
            if parameter >= 0:
                users.setdefault(parameter, []).append(branch)
    rows = [
        list(dict.fromkeys(b for p in indices for b in users.get(p, ()))) for indices in changes.index.tolist()
    ]
    width = max((len(r) for r in rows), default=1) or 1
    none = stage.branch_count
    return np.array([r + [none] * (width - len(r)) for r in rows], np.int64).reshape(len(rows), width)


def factorise(stage: Stage, nominal: Floats, pattern: Bools, *, keep: bool = True) -> Base:
    """The circuit at one set of values and modes, ready for `update`; kept with its stage unless told not to."""
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
    stage: Stage, base: Base, touched: Ints, siemens: Floats, driven: Floats
) -> tuple[Floats, Floats, Bools]:
    """Volts ``(c, n)``, the factor ``(I + D M)^-1 D`` ``(c, k, k)``, and which lost too many digits."""
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
    poor = np.abs(np.linalg.det(system / size[:, :, None])) < SINGULAR
    system[poor] = np.eye(width)
    factor = np.linalg.solve(system, change[:, :, None] * np.eye(width)[None])
    # Volts across the touched branches once their changed sources act, before they change.
    across = base.drops[touched] - np.einsum("cjk,ck->cj", seen, pushed)
    weight = pushed + np.einsum("cij,cj->ci", factor, across)
    volts = base.volts - np.einsum("ck,ckn->cn", weight, columns)
    left: Ints | slice = slice(None)
    for _ in range(REFINEMENTS):
        residual = stage.residual(volts[left], siemens[left], driven[left])
        near = columns[left]
        weight = np.einsum("cij,cj->ci", factor[left], np.einsum("ckn,cn->ck", near, residual))
        step = residual @ base.inverse.T - np.einsum("ck,ckn->cn", weight, near)
        volts[left] += step
        moved = np.abs(step).max(axis=1) > SETTLED
        left = np.flatnonzero(moved & ~poor) if isinstance(left, slice) else left[moved]
        if not left.size:
            break
    poor[left] = True
    return volts, factor, poor

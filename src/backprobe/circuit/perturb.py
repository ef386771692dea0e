"""Low-rank changes of many factorised circuits at once, in closed form.

A fault adds a conductance ``d`` across a branch with incidence vector ``u``. With ``Z`` the
inverse of the nodal matrix and ``v`` the node volts, Sherman and Morrison's identity (Golub and
Van Loan, Matrix Computations, 2.1.4 [mem]) gives the new volts without another factorisation::

    v' = v - Z u * d (u'v) / (1 + d u'Z u)

``u'v`` and ``u'Z u`` belong to the branch alone, so all severities of a fault share them.

Axes: ``m`` circuits, ``n`` nodes, ``f`` branches, ``s`` severities, ``q`` pairs, ``r`` probes.
Results are views whose memory runs probe by probe: every elementary step then passes over long
rows, and a reader of one probe finds its numbers side by side.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from backprobe.circuit.compiled import Floats, Ints
from backprobe.circuit.lowrank import SINGULAR

CACHED = 1 << 15
"""Numbers of one intermediate array that are worked on together; 256 KiB stay in a core's own cache."""

SOLVED_TOGETHER = 1024
"""Circuits solved in full at a time: 24 nodes of each are 4.5 MiB."""


def perturb_one(  # noqa: PLR0913  (the last two serve only where a circuit is solved in full)
    inverse: Floats,
    volts: Floats,
    branch: Floats,
    change: Floats,
    probes: Floats | None = None,
    *,
    matrix: Floats | None = None,
    right: Floats | None = None,
) -> Floats:
    """Volts of every circuit after each fault at each severity, one conductance changed.

    Costs ``m n f r`` multiplications in one matrix product and ``m f s r`` in elementary steps.
    Where ``|1 + d u'Z u|`` falls below `SINGULAR` (a conductance that alone held a node is taken
    away) the circuit is solved in full from `matrix`; its digits are then those that the
    subtraction leaves, about 1e-16 times the conductance removed over the one that remains.

    Parameters
    ----------
    inverse
        ``(m, n, n)`` inverse nodal matrices [ohm].
    volts
        ``(m, n)`` node volts [V].
    branch
        ``(f, n)`` incidence vectors: +1 where a branch begins, -1 where it ends. The branches
        carry no source.
    change
        ``(f, s)``, or ``(m, f, s)`` where circuits differ: added conductance [S]; negative takes away.
    probes
        ``(r, n)`` selectors whose product with the node volts is what a probe shows; without
        them every node is given.
    matrix, right
        ``(m, n, n)`` nodal matrices [S] and ``(m, n)`` currents into the nodes [A], needed only
        where a circuit must be solved in full.

    Returns
    -------
    ndarray
        ``(m, f, s, r)`` probed volts, or ``(m, f, s, n)`` node volts [V].

    Raises
    ------
    ValueError
        When shapes do not fit, or a circuit must be solved in full and `matrix` or `right` is
        missing.
    """
    _check(inverse, volts, branch, probes)
    change = _of_each("change", change, len(volts), len(branch))
    out = _room(inverse, probes, *change.shape[1:])
    for part in _parts(len(volts), change.shape[1] * change.shape[2]):
        looks = _views(inverse[part], branch, probes)
        severe = np.ascontiguousarray(change[part].transpose(2, 0, 1))
        divisor = severe * _seen(inverse[part], branch, branch)
        divisor += 1.0
        lost = np.nonzero(np.abs(divisor) < SINGULAR) if divisor.min(initial=1.0) < SINGULAR else None
        if lost is not None:
            divisor[lost] = 1.0
        # From here on `divisor` holds the current through the added conductance.
        np.divide(severe, divisor, out=divisor)
        divisor *= volts[part] @ branch.T
        target = out[:, :, part]
        np.multiply(looks[:, None], divisor, out=target)
        np.subtract(_probed(volts[part], probes)[:, None, :, None], target, out=target)
        if lost is not None and lost[0].size:
            s, m, f = lost
            found = _in_full(m + part.start, [(branch[f], severe[s, m, f])], matrix, right)
            target[:, s, m, f] = _probed(found, probes)
    return out.transpose(2, 3, 1, 0)


def perturb_source(
    inverse: Floats, volts: Floats, branch: Floats, amps: Floats, probes: Floats | None = None
) -> Floats:
    """Volts of every circuit after each branch drives another current.

    Parameters
    ----------
    inverse, volts, branch, probes
        As for `perturb_one`.
    amps
        ``(f, s)`` or ``(m, f, s)`` added current from a branch's beginning to its end [A].

    Returns
    -------
    ndarray
        ``(m, f, s, r)`` probed volts, or ``(m, f, s, n)`` node volts [V].
    """
    _check(inverse, volts, branch, probes)
    amps = _of_each("amps", amps, len(volts), len(branch))
    out = _room(inverse, probes, *amps.shape[1:])
    for part in _parts(len(volts), amps.shape[1] * amps.shape[2]):
        target = out[:, :, part]
        pushed = np.ascontiguousarray(amps[part].transpose(2, 0, 1))
        np.multiply(_views(inverse[part], branch, probes)[:, None], pushed, out=target)
        np.subtract(_probed(volts[part], probes)[:, None, :, None], target, out=target)
    return out.transpose(2, 3, 1, 0)


def perturb_two(  # noqa: PLR0913  (as for perturb_one)
    inverse: Floats,
    volts: Floats,
    branch: Floats,
    pairs: Ints,
    change: Floats,
    probes: Floats | None = None,
    *,
    matrix: Floats | None = None,
    right: Floats | None = None,
) -> Floats:
    """Volts of every circuit after each pair of faults, two conductances changed.

    Woodbury's identity with the two-by-two system written out: for the currents ``i`` through
    the added conductances ``D``, ``(I + D M) i = D (u'v)`` with ``M = u'Z u``.

    Parameters
    ----------
    inverse, volts, branch, probes, matrix, right
        As for `perturb_one`.
    pairs
        ``(q, 2)`` indices of branches.
    change
        ``(q, 2)`` added conductance of each [S].

    Returns
    -------
    ndarray
        ``(m, q, r)`` probed volts, or ``(m, q, n)`` node volts [V].

    Raises
    ------
    ValueError
        As for `perturb_one`; here ``|det(I + D M)|`` decides.
    """
    _check(inverse, volts, branch, probes)
    if pairs.ndim != 2 or pairs.shape[1] != 2 or change.shape != pairs.shape:
        raise ValueError(f"pairs, change: shapes {pairs.shape} and {change.shape} are not both (q, 2)")
    first, second = branch[pairs[:, 0]], branch[pairs[:, 1]]
    d1, d2 = change.T
    out = _room(inverse, probes, len(pairs), 1)[:, 0]
    for part in _parts(len(volts), len(pairs)):
        z, across = inverse[part], volts[part] @ branch.T
        x1, x2 = d1 * across[:, pairs[:, 0]], d2 * across[:, pairs[:, 1]]
        one = 1.0 + d1 * _seen(z, first, first)
        two = 1.0 + d2 * _seen(z, second, second)
        cross, back = d1 * _seen(z, first, second), d2 * _seen(z, second, first)
        det = one * two - cross * back
        lost = np.abs(det) < SINGULAR
        det[lost] = 1.0
        looks = _views(z, branch, probes)
        target = out[:, part]
        target[:] = _probed(volts[part], probes)[:, :, None]
        target -= looks[:, :, pairs[:, 0]] * ((two * x1 - cross * x2) / det)
        target -= looks[:, :, pairs[:, 1]] * ((one * x2 - back * x1) / det)
        if lost.any():
            m, q = np.nonzero(lost)
            added = [(first[q], d1[q]), (second[q], d2[q])]
            found = _in_full(m + part.start, added, matrix, right)
            target[:, m, q] = _probed(found, probes)
    return out.transpose(1, 2, 0)


def _check(inverse: Floats, volts: Floats, branch: Floats, probes: Floats | None) -> None:
    count, size = volts.shape if volts.ndim == 2 else (-1, -1)
    if inverse.shape != (count, size, size):
        raise ValueError(f"inverse: shape {inverse.shape} does not fit volts of shape {volts.shape}")
    for name, selectors in (("branch", branch), ("probes", probes)):
        if selectors is not None and (selectors.ndim != 2 or selectors.shape[1] != size):
            raise ValueError(f"{name}: shape {selectors.shape} does not select from {size} nodes")


def _of_each(name: str, change: Floats, circuits: int, faults: int) -> Floats:
    """``(m, f, s)`` changes, the same numbers for every circuit where they were given once."""
    if change.ndim not in {2, 3} or change.shape[:-1] not in {(faults,), (circuits, faults)}:
        raise ValueError(f"{name}: shape {change.shape} does not fit {circuits} circuits, {faults} branches")
    return np.broadcast_to(change, (circuits, faults, change.shape[-1]))


def _room(inverse: Floats, probes: Floats | None, faults: int, severities: int) -> Floats:
    """Room for ``(r, s, m, f)`` results."""
    count = inverse.shape[1] if probes is None else probes.shape[0]
    return np.empty((count, severities, inverse.shape[0], faults))


def _parts(count: int, width: int) -> Iterator[slice]:
    """Slices of circuits whose intermediate arrays, `width` numbers for each, stay in the cache."""
    step = max(1, CACHED // max(width, 1))
    return (slice(start, min(start + step, count)) for start in range(0, count, step))


def _terminals(selectors: Floats) -> Iterator[tuple[Ints, Floats]]:
    """The nodes that selectors touch, one per row at a time, and their weights."""
    order = np.argsort(selectors == 0, axis=1, kind="stable")
    for k in range(int((selectors != 0).sum(axis=1).max(initial=0))):
        node = order[:, k]
        yield node, selectors[np.arange(len(node)), node]


def _seen(inverse: Floats, begin: Floats, end: Floats) -> Floats:
    """``(m, f)`` resistance ``begin' Z end``, picked from the few entries that a branch touches [ohm]."""
    count, size = inverse.shape[:2]
    flat = inverse.reshape(count, size * size)
    seen = np.zeros((count, len(begin)))
    for a, weight_a in _terminals(begin):
        for b, weight_b in _terminals(end):
            seen += np.take(flat, a * size + b, axis=1) * (weight_a * weight_b)
    return seen


def _views(inverse: Floats, branch: Floats, probes: Floats | None) -> Floats:
    """``(r, m, f)`` volts at each probe for one ampere through each branch: ``p'Z u`` [ohm]."""
    by_node = inverse.transpose(1, 0, 2)
    if probes is None:
        rows = np.ascontiguousarray(by_node)
    else:
        rows = np.zeros((len(probes), *by_node.shape[1:]))
        for node, weight in _terminals(probes):
            rows += by_node[node] * weight[:, None, None]
    result: Floats = (rows.reshape(-1, rows.shape[2]) @ branch.T).reshape(*rows.shape[:2], len(branch))
    return result


def _probed(volts: Floats, probes: Floats | None) -> Floats:
    """``(r, m)`` volts at the probes before any change [V]."""
    return volts.T if probes is None else probes @ volts.T


def _in_full(
    rows: Ints, added: list[tuple[Floats, Floats]], matrix: Floats | None, right: Floats | None
) -> Floats:
    """``(k, n)`` node volts of circuits solved with their own factorisation [V].

    `added` holds incidence vectors ``(k, n)`` and what is added there ``(k,)`` [S].
    """
    if matrix is None or right is None:
        missing = "matrix" if matrix is None else "right"
        raise ValueError(f"{missing}: needed, since {len(rows)} circuits lose what alone held a node")
    found = np.empty((len(rows), right.shape[1]))
    for start in range(0, len(rows), SOLVED_TOGETHER):
        some = slice(start, start + SOLVED_TOGETHER)
        full = matrix[rows[some]]
        for branch, change in added:
            full += (branch[some] * change[some, None])[:, :, None] * branch[some, None, :]
        found[some] = np.linalg.solve(full, right[rows[some]][:, :, None])[:, :, 0]
    return found

"""What one ampere at one pair of points puts on all the others, circuit by circuit."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from backprobe.circuit.compiled import Floats, Ints
from backprobe.circuit.eliminate import Factors

OFTEN = 4
"""Selectors up to which solving for each is quicker than for all nodes at once."""


KEPT_NODES = 64
"""Nodes up to which inverse matrices are kept for a few pairs of points: they grow with the square [1]."""
CACHED = 150
"""Circuits inverted at once: the matrices of more of them no longer fit a processor's cache."""


class Transfer:
    """Each circuit's inverse matrix times a selector, from the elimination that solved it.

    Parameters
    ----------
    whole
        A batch of circuits with their nodes eliminated.
    circuits
        Those of them that are meant.
    """

    def __init__(self, whole: Factors, circuits: slice) -> None:
        self.whole, self.circuits = whole, circuits
        self._inverse: Floats | None = None
        self._asked = 0

    def __call__(self, selector: Floats) -> Floats:
        """``(c, n)``: what one ampere through a selector ``(n,)`` puts on every node [ohm]."""
        self._asked += 1
        if self._inverse is None and self._asked <= OFTEN:
            return np.ascontiguousarray(self.factors.solve(self.factors.each(selector)).T)
        found: Floats = self.of_inverse(selector[None])[0]
        return found

    def of_inverse(self, selectors: Floats) -> Floats:
        """``(k, c, n)``: the same for several selectors ``(k, n)``, by the inverse matrices [ohm]."""
        z, place = self.inverse, self.whole.plan.place[:-1]
        placed = np.zeros((len(selectors), len(z)))
        placed[:, place] = selectors
        found = (placed @ z.reshape(len(z), -1)).reshape(len(selectors), *z.shape[1:])
        return np.ascontiguousarray(found[:, place].transpose(0, 2, 1))

    def between(self, red: Ints, black: Ints) -> Floats:
        """``(c, k)`` resistance between pairs of nodes [ohm]; -1 for the datum."""
        # Asked in many setups: what is as large as all inverse matrices is not kept for it.
        place, z = self.whole.plan.place, self.factors.inverse() if self._inverse is None else self._inverse
        one, other = place[red], place[black]
        result: Floats = (z[one, one] + z[other, other] - 2 * z[one, other]).T
        return result

    @property
    def factors(self) -> Factors:
        """The circuits with their nodes eliminated."""
        return self.whole.at(self.circuits)

    @staticmethod
    def invert(several: Sequence[Transfer]) -> None:
        """Make the inverse matrices of several transfers at once, to be asked for many pairs of points."""
        batches: list[list[Transfer]] = []
        for transfer in several:
            size = transfer.whole.rows[:1, transfer.circuits].size
            last = batches[-1] if batches else []
            fits = (len(last) + 1) * size <= CACHED
            if last and last[0].whole is transfer.whole and fits:
                last.append(transfer)
            else:
                batches.append([transfer])
        for members in batches:
            number = np.arange(members[0].whole.rows.shape[1])
            columns = [number[t.circuits] for t in members]
            found = members[0].whole.at(np.concatenate(columns)).inverse()
            ends = np.cumsum([c.size for c in columns])
            for transfer, mine, end in zip(members, columns, ends.tolist(), strict=True):
                transfer._inverse = found[..., end - mine.size : end]

    @property
    def inverse(self) -> Floats:
        """See `Factors.inverse`."""
        if self._inverse is None:
            self._inverse = self.factors.inverse()
        return self._inverse


def transfers_at_once(asked: Sequence[tuple[Transfer, Floats]]) -> list[Floats]:
    """For each of several transfers its selectors' ``(k, c, n)`` [ohm], solved together where one batch is.

    Parameters
    ----------
    asked
        Transfers, each with selectors ``(k, n)``.
    """
    few = [t for t, s in asked if len(s) > OFTEN and t._inverse is None and t.whole.plan.size <= KEPT_NODES]
    Transfer.invert(few)
    batches: dict[int, list[int]] = {}
    found: list[Floats] = [np.zeros(0)] * len(asked)
    for i, (transfer, selectors) in enumerate(asked):
        if transfer._inverse is None:
            batches.setdefault(id(transfer.whole), []).append(i)
        else:
            found[i] = transfer.of_inverse(selectors)
    for members in batches.values():
        whole = asked[members[0]][0].whole
        columns: list[Ints] = []
        rights: list[Floats] = []
        for i in members:
            transfer, selectors = asked[i]
            mine = np.arange(whole.rows.shape[1])[transfer.circuits]
            columns.append(np.tile(mine, len(selectors)))
            rights.append(np.repeat(selectors.T, mine.size, axis=1))
        solved = whole.at(np.concatenate(columns)).solve(np.concatenate(rights, axis=1)).T
        begin = 0
        for i, mine in zip(members, columns, strict=True):
            selectors = asked[i][1]
            part = np.ascontiguousarray(solved[begin : begin + mine.size])
            found[i] = part.reshape(len(selectors), mine.size // len(selectors), -1)
            begin += mine.size
    return found

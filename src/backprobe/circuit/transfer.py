"""What one ampere at one pair of points puts on all the others, circuit by circuit."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from backprobe.circuit.compiled import Floats, Ints
from backprobe.circuit.eliminate import Factors

OFTEN = 4
"""Selectors up to which solving for each is quicker than for all nodes at once."""


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
        place = self.whole.plan.place
        nodes = np.flatnonzero(selector)
        found = np.tensordot(selector[nodes], self.inverse[place[nodes]], axes=1)
        return np.ascontiguousarray(found[place[:-1]].T)

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
        batches: dict[int, list[Transfer]] = {}
        for transfer in several:
            batches.setdefault(id(transfer.whole), []).append(transfer)
        for members in batches.values():
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
    batches: dict[int, list[int]] = {}
    for i, (transfer, _) in enumerate(asked):
        batches.setdefault(id(transfer.whole), []).append(i)
    found: list[Floats] = [np.zeros(0)] * len(asked)
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

"""What one ampere at one pair of points puts on all the others, circuit by circuit."""

from __future__ import annotations

import numpy as np

from backprobe.circuit.compiled import Floats, Ints
from backprobe.circuit.eliminate import Factors
from backprobe.circuit.stage import Stage

OFTEN = 4
"""Selectors up to which solving for each is quicker than for all nodes at once."""


class Transfer:
    """Each circuit's inverse matrix times a selector, for which the nodes are eliminated when first asked."""

    def __init__(self, stage: Stage, siemens: Floats) -> None:
        self.stage, self.siemens = stage, siemens
        self._factors: Factors | None = None
        self._inverse: Floats | None = None
        self._asked = 0

    def __call__(self, selector: Floats) -> Floats:
        """``(c, n)``: what one ampere through a selector ``(n,)`` puts on every node [ohm]."""
        self._asked += 1
        if self._inverse is None and self._asked <= OFTEN:
            return np.ascontiguousarray(self.factors.solve(self.factors.each(selector)).T)
        place = self.stage.plan.place
        nodes = np.flatnonzero(selector)
        found = np.tensordot(selector[nodes], self.inverse[place[nodes]], axes=1)
        return np.ascontiguousarray(found[place[:-1]].T)

    def many(self, selectors: Floats) -> Floats:
        """``(k, c, n)``: the same for several selectors ``(k, n)`` at once [ohm]."""
        count, circuits = selectors.shape[0], self.siemens.shape[0]
        right = np.repeat(selectors.T, circuits, axis=1)
        found = self.factors.repeated(count).solve(right)
        return np.ascontiguousarray(found.T).reshape(count, circuits, -1)

    def between(self, red: Ints, black: Ints) -> Floats:
        """``(c, k)`` resistance between pairs of nodes [ohm]; -1 for the datum."""
        # Asked in many setups: what is as large as all inverse matrices is not kept for it.
        place, z = self.stage.plan.place, self.factors.inverse() if self._inverse is None else self._inverse
        one, other = place[red], place[black]
        result: Floats = (z[one, one] + z[other, other] - 2 * z[one, other]).T
        return result

    @property
    def factors(self) -> Factors:
        """The circuits with their nodes eliminated."""
        if self._factors is None:
            self._factors = self.stage.plan.factor(self.siemens)
        return self._factors

    @property
    def inverse(self) -> Floats:
        """See `Factors.inverse`."""
        if self._inverse is None:
            self._inverse = self.factors.inverse()
        return self._inverse

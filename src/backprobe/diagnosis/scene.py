"""What the choice of the next check looks at: the explanations that matter, in any setup."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.full import solve_full, solve_together
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Solution
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.checks import candidate_setups
from backprobe.diagnosis.evidence import SAME, heaviest
from backprobe.diagnosis.explain import Explanations
from backprobe.diagnosis.patience import breathe

MOST = 24
"""Causes that predict, and about as many explanations: the rest is too little believed to steer a check."""
EACH = 2
"""Explanations of one cause at least."""
LEAST_SHARE = 1e-3


def _representatives(answer: Answer) -> tuple[list[int], Floats]:
    """The heaviest explanations of every cause, and weights that keep each cause's whole share."""
    by_label: dict[str, list[int]] = {}
    for e in heaviest(answer.share):
        by_label.setdefault(answer.label_of[e], []).append(e)
    whole = {label: float(answer.share[es].sum()) for label, es in by_label.items()}
    most = max(whole.values())
    kept: list[int] = []
    weight: list[float] = []
    for label in sorted(whole, key=lambda k: -round(whole[k], SAME))[:MOST]:
        if whole[label] < LEAST_SHARE * most:
            break
        chosen = by_label[label][: max(EACH, MOST // len(whole))]
        scale = whole[label] / float(answer.share[chosen].sum())
        kept += chosen
        weight += [float(answer.share[e]) * scale for e in chosen]
    total = sum(weight)
    return kept, np.array([w / total for w in weight])


class Scene:
    """An answer, ready to predict what further checks would show."""

    def __init__(self, answer: Answer) -> None:
        self.answer = answer
        self.engine = answer.engine
        self.sheet = self.engine.sheet
        kept, self.weight = _representatives(answer)
        self.found: Explanations = answer.explanations.take(kept)
        names = [answer.label_of[e] or "as built" for e in kept]
        self.labels = list(dict.fromkeys(names))
        self.label = np.array([self.labels.index(n) for n in names])
        self.member = np.zeros((len(self.labels), len(kept)))
        self.member[self.label, np.arange(len(kept))] = 1.0
        done = [r.setup for r in answer.readings.all if r.placed]
        self.last = done[-1] if done else candidate_setups(self.sheet, answer)[0]
        leads = [r.black for r in answer.readings.all if r.black]
        self.black = leads[-1] if leads else ""
        """Where the black lead is still clipped; empty while nothing was measured."""
        self.taken = {(r.kind, r.red, r.black, r.setup) for r in answer.readings.numbers}
        self.solutions: dict[Setup, Solution] = {}

    def solution(self, setup: Setup) -> Solution:
        """The explanations that matter, solved in a setup."""
        if setup not in self.solutions:
            self.solutions[setup] = solve_full(self.engine.stage(setup), self.found.values)
        return self.solutions[setup]

    def solve(self, setups: Sequence[Setup]) -> None:
        """Solve the explanations that matter in several setups at once."""
        breathe()
        new = [s for s in dict.fromkeys(setups) if s not in self.solutions]
        found = solve_together([self.engine.stage(s) for s in new], self.found.values)
        self.solutions.update(zip(new, found, strict=True))

    def information(self, mass: Floats) -> Floats:
        """``(...)`` mutual information of cause and outcome [bit].

        Parameters
        ----------
        mass
            ``(..., e, outcome)``; sums to 1 along outcomes.
        """
        joint = (self.member * self.weight) @ mass
        label, outcome = joint.sum(axis=-1, keepdims=True), joint.sum(axis=-2, keepdims=True)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(joint > 1e-15, joint * np.log2(joint / (label * outcome)), 0.0)
        result: Floats = np.maximum(ratio.sum(axis=(-2, -1)), 0.0)
        return result

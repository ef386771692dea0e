"""Joins of one plug judged as `Bench` judges a cure, with the circuits of all of them solved together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from backprobe.circuit.compiled import Floats, Ints
from backprobe.circuit.narrow import narrowed
from backprobe.circuit.setup import JUMPER_OHMS, Setup
from backprobe.circuit.solve import Solution
from backprobe.workbench.claim import Cure
from backprobe.workbench.join_reach import Reach
from backprobe.workbench.join_twins import history, settle_joins
from backprobe.workbench.ports import Points, Ports
from backprobe.workbench.trial_bench import Bench
from backprobe.workbench.trial_effects import Seen
from backprobe.workbench.trial_values import Cases, Effect, Meaning

TOGETHER = 10000
"""Circuits of which all that is said is kept at a time."""


class JoinBench:
    """Judges joins that a sweep tried.

    Parameters
    ----------
    bench
        The bench on which each could be judged by itself.
    reach, points
        The plug, and its joins.
    """

    def __init__(self, bench: Bench, reach: Reach, points: Points) -> None:
        self.bench, self.reach, self.points = bench, reach, points
        circuit = bench.engine.circuit
        self.few = narrowed(circuit)
        self.whole = narrowed(circuit, range(len(circuit.branches)), range(circuit.size))

    def judge_all(self, cures: Sequence[Cure]) -> Iterator[Meaning]:
        """The meanings of joins, in their order."""
        cases = self.bench.cases(cures[0])
        step = max(1, TOGETHER // (len(self.bench.states) * len(cases.names)))
        for begin in range(0, len(cures), step):
            yield from self._some(cures, np.arange(begin, min(begin + step, len(cures))), cases)

    def _some(self, cures: Sequence[Cure], joins: Ints, cases: Cases) -> Iterator[Meaning]:
        own = [cures[j] for j in joins]
        seen: list[list[Seen]] = [[] for _ in own]
        effects: list[list[Effect]] = [[] for _ in own]
        bench = self.bench
        for state in bench.states:
            before = bench.before(state, cases)
            for k, solution in enumerate(self._solved(own, joins, state, cases.values)):
                seen[k].append(bench.watch.see(solution, state, own[k]))
                effects[k].append(bench.effect(own[k], solution, (seen[k][-1], before), state))
        for cure, found, done in zip(own, seen, effects, strict=True):
            yield bench.summed(cure, cases, tuple(done), found)

    def _solved(self, cures: Sequence[Cure], joins: Ints, state: Setup, values: Floats) -> Iterator[Solution]:
        """Every case in an operator state with each join, its leads as the last branches."""
        stage = self.reach.stage(state)
        ports = [Ports(s, values, self.points, self.few, self.whole) for s in history(stage)]
        case, join = np.tile(np.arange(len(values)), joins.size), np.repeat(joins, len(values))
        # Together by case for the solving, by join for what is handed on.
        order = np.argsort(case, kind="stable")
        settled, _ = settle_joins([stage], ports, (case[order], join[order]), self.few, ())
        found = ports[-1].ask(settled.modes, case[order], join[order])
        back = np.argsort(order, kind="stable").reshape(joins.size, len(values))
        for cure, rows in zip(cures, back, strict=True):
            leads = len(cure.attached)
            siemens = np.full((rows.size, leads), 1 / JUMPER_OHMS)
            yield Solution(
                stage,
                values,
                found.volts[rows],
                np.concatenate([found.siemens[rows], siemens], axis=1),
                np.zeros((rows.size, 0)),
                np.concatenate([found.currents[rows], found.amps[rows, :leads]], axis=1),
                settled.modes[rows],
                settled.chatters[rows],
                settled.alternating[rows],
                self._no_transfer,
            )

    @staticmethod
    def _no_transfer(selector: Floats) -> Floats:
        raise TypeError("joins are judged without inverses")

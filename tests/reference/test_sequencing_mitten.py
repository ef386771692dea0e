"""Verify one suspect after the other, the cheapest for its probability first.

L. G. Mitten, An analytic solution to the least cost testing sequence problem (1960) [mem]; the figures
are by trying every order [calc].
"""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from backprobe.diagnosis.plan_tree import Isolate, Planner, RepairInOrder, Table
from tests.reference.books import outside

SUBJECT = "order of checks with a known optimum"
SOURCE = "L. G. Mitten, least cost testing sequence (1960)"
PRIORS, COSTS = [0.4, 0.3, 0.2, 0.1], [4.0, 1.0, 2.0, 1.0]
OWN_TEST = np.eye(4, dtype=int).tolist()


def goal(costs: list[float]) -> RepairInOrder:
    return RepairInOrder(np.eye(4), np.array(costs), np.zeros(4, np.int64))


def cost_of(order: tuple[int, ...], costs: list[float], *, inferred: bool = False) -> float:
    """Expected cost of one order; the last suspect need not be verified when it is `inferred`."""
    spent = [sum(costs[i] for i in order[: k + 1]) for k in range(len(order))]
    if inferred:
        spent[-1] = spent[-2]
    return sum(PRIORS[i] * s for i, s in zip(order, spent, strict=True))


@outside(SUBJECT, SOURCE, "mem + calc", figures=2)
def test_the_second_suspect_comes_first_and_it_costs_4_5() -> None:
    weights = np.array(PRIORS)
    found = goal(COSTS)
    assert int(found.order(weights)[0]) == 1
    needed = float(weights @ np.array(COSTS))
    assert float(found.waste(weights)) + needed == pytest.approx(4.5)
    assert min(cost_of(o, COSTS) for o in permutations(range(4))) == pytest.approx(4.5)


@outside(SUBJECT, SOURCE, "mem + calc")
def test_the_last_one_need_not_be_verified() -> None:
    tree = Planner(Table.certain(PRIORS, OWN_TEST, COSTS), Isolate()).tree()
    assert tree.cost == pytest.approx(2.9)
    assert min(cost_of(o, COSTS, inferred=True) for o in permutations(range(4))) == pytest.approx(2.9)


@outside(SUBJECT, "Test selection for circuit diagnosis in electronics assembly", "seen + calc", figures=2)
def test_alike_costs_the_likeliest_first() -> None:
    # Its rule is in the paper [seen]; 1.9 tests with the last one inferred [calc].
    tree = Planner(Table.certain(PRIORS, OWN_TEST), Isolate()).tree()
    assert tree.check == 0
    assert tree.cost == pytest.approx(1.9)

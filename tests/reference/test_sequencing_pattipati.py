"""The order of tests with the least expected cost: the example of Pattipati and Alexandridis.

Six states (one healthy), five tests of unit cost, states with unequal priors [mem]; the optimum of
2.18 is theirs [mem], and trying every tree over the remembered table gives exactly it [calc].
"""

from __future__ import annotations

import pytest

from backprobe.diagnosis.plan_tree import Isolate, Planner, Table
from tests.reference.books import outside

SUBJECT = "order of checks with a known optimum"
SOURCE = "Pattipati, Alexandridis, Application of heuristic search and information theory (1990)"
PRIORS = [0.70, 0.01, 0.02, 0.10, 0.05, 0.12]
FAILS = [  # by test, then by state
    [0, 0, 0, 1, 1, 1],
    [0, 1, 0, 0, 1, 1],
    [0, 0, 1, 0, 0, 1],
    [0, 0, 1, 1, 0, 1],
    [0, 1, 0, 1, 0, 0],
]


def planner(priors: list[float] = PRIORS, fails: list[list[int]] = FAILS) -> Planner:
    return Planner(Table.certain(priors, fails), Isolate())


@outside(SUBJECT, SOURCE, "mem + calc", figures=2)
def test_the_optimum_is_2_18_and_begins_with_the_second_or_fourth_test() -> None:
    tree = planner().tree()
    assert tree.cost == pytest.approx(2.18)
    assert tree.check in {1, 3}


@outside(SUBJECT, SOURCE, "calc", figures=5)
def test_what_each_first_test_costs_at_best() -> None:
    costs = [planner().tree(first=k).cost for k in range(5)]
    assert costs == pytest.approx([2.86, 2.18, 2.82, 2.18, 2.89])


@outside(SUBJECT, SOURCE, "calc", figures=2)
def test_greedy_information_gain_picks_the_first_test_and_pays_for_it() -> None:
    first = planner().greedy()
    assert first == 0
    assert planner().tree(first=first).cost == pytest.approx(2.86)


@outside(SUBJECT, SOURCE, "calc")
def test_uniform_priors() -> None:
    assert planner([1 / 6] * 6).tree().cost == pytest.approx(2.66667, abs=1e-5)


@outside(SUBJECT, SOURCE, "calc")
def test_with_every_yes_or_no_question_the_optimum_is_that_of_huffman() -> None:
    questions = [[(chosen >> state) & 1 for state in range(6)] for chosen in range(1, 2**5)]
    assert planner(fails=questions).tree().cost == pytest.approx(1.59)

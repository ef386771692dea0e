"""The optimiser of the plan on its own: what holds for every table."""

from __future__ import annotations

import numpy as np
import pytest

from backprobe.diagnosis import plan_tree
from backprobe.diagnosis.plan_tree import Isolate, Node, Planner, RepairInOrder, Table, pruned


def random_table(seed: int, hypotheses: int = 8, checks: int = 10) -> Table:
    """A table whose every pair of hypotheses some check tells apart."""
    draw = np.random.default_rng(seed)
    shown = draw.integers(0, 3, (checks, hypotheses)).tolist()
    shown += [[int(j >= k) for j in range(hypotheses)] for k in range(1, hypotheses)]
    priors = draw.dirichlet(np.ones(hypotheses)).tolist()
    return Table.certain(priors, shown, draw.uniform(0.5, 4.0, len(shown)).tolist())


def ends(node: Node) -> list[Node]:
    return [node] if node.check < 0 else [e for _, n in node.branches for e in ends(n)]


def size(node: Node) -> int:
    return 0 if node.check < 0 else 1 + sum(size(n) for _, n in node.branches)


def walked(node: Node, table: Table, before: int = 0) -> float:
    """Expected cost of the checks of a tree, added up branch by branch."""
    if node.check < 0:
        return 0.0
    own = float(table.cost[before, node.check]) * node.probability
    return own + sum(walked(n, table, node.check + 1) for _, n in node.branches)


@pytest.mark.parametrize("seed", range(4))
def test_every_hypothesis_ends_alone_and_the_cost_is_that_of_the_walk(seed: int) -> None:
    table = random_table(seed)
    tree = Planner(table, Isolate()).tree()
    found = ends(tree)
    assert sorted(int((n.weights > 0).sum()) for n in found) == [1] * len(table.priors)
    assert sum(n.probability for n in found) == pytest.approx(1)
    assert tree.cost == pytest.approx(walked(tree, table))


@pytest.mark.parametrize("seed", range(6))
def test_looking_two_checks_ahead_comes_near_the_optimum(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    table = random_table(seed)
    repair = np.linspace(3.0, 30.0, len(table.priors))
    goal = RepairInOrder(np.eye(len(table.priors)), repair, np.zeros(len(table.priors), np.int64))
    optimum = Planner(table, goal).tree().cost
    monkeypatch.setattr(plan_tree, "FEW", 0)
    ahead = Planner(table, goal).tree().cost
    assert optimum - 1e-9 <= ahead <= 1.15 * optimum


def test_a_check_that_costs_more_than_it_saves_is_left_out() -> None:
    # Repairs of 1 and 2 minutes: in vain they cost less than a check of 5 minutes.
    table = Table.certain([0.5, 0.5], [[0, 1]], [5.0])
    goal = RepairInOrder(np.eye(2), np.array([1.0, 2.0]), np.zeros(2, np.int64))
    assert Planner(table, goal).tree().check == -1
    # The cheap repair first is in vain in half of all cases: 0.5 minutes.
    assert Planner(table, goal).tree().cost == pytest.approx(0.5)
    dear = RepairInOrder(np.eye(2), np.array([20.0, 30.0]), np.zeros(2, np.int64))
    assert Planner(table, dear).tree().cost == pytest.approx(5.0)


def test_what_is_proven_last_comes_last_however_likely() -> None:
    held = RepairInOrder(np.eye(3), np.array([4.0, 1.0, 2.0]), np.array([0, 1, 0]))
    assert held.order(np.array([0.1, 0.8, 0.1])).tolist()[-1] == 1


def test_fewer_checks_cost_more_and_the_cost_stays_that_of_the_walk() -> None:
    table = random_table(3)
    goal = RepairInOrder(np.eye(8), np.full(8, 40.0), np.zeros(8, np.int64))
    whole = Planner(table, goal).tree()
    assert size(whole) > 3
    before = whole.cost
    for most in (size(whole), 3, 1, 0):
        less = pruned(whole, goal, most)
        assert size(less) <= most
        assert less.cost >= before - 1e-9
        before = less.cost
        wasted = sum(float(goal.waste(n.weights)) for n in ends(less))
        assert less.cost == pytest.approx(walked(less, table) + wasted)


def test_a_depth_is_kept() -> None:
    def deep(node: Node) -> int:
        return 0 if node.check < 0 else 1 + max(deep(n) for _, n in node.branches)

    table = random_table(1)
    goal = RepairInOrder(np.eye(8), np.full(8, 40.0), np.zeros(8, np.int64))
    for depth in (1, 2):
        assert deep(Planner(table, goal).tree(depth)) <= depth


def test_a_check_is_not_repeated_though_its_outcome_is_unsure(monkeypatch: pytest.MonkeyPatch) -> None:
    # One check that is right in four of five cases: a second look in the same place says nothing new.
    monkeypatch.setattr(plan_tree, "FEW", 0)
    outcomes = np.array([[[0.8, 0.2], [0.2, 0.8]]])
    table = Table(np.array([0.5, 0.5]), outcomes, np.ones((2, 1)))
    goal = RepairInOrder(np.eye(2), np.array([60.0, 60.0]), np.zeros(2, np.int64))
    tree = Planner(table, goal).tree()
    assert tree.check == 0
    assert all(n.check == -1 for _, n in tree.branches)


def test_without_any_check_one_repairs_in_order() -> None:
    many = 20
    table = Table(np.full(many, 1 / many), np.zeros((0, many, 1)), np.zeros((1, 0)))
    goal = RepairInOrder(np.eye(many), np.full(many, 2.0), np.zeros(many, np.int64))
    tree = Planner(table, goal).tree(3)
    assert tree.check == -1
    # Of 20 alike, the cure is as likely in each place: 2 minutes times 0 to 19 in vain.
    assert tree.cost == pytest.approx(2.0 * sum(range(many)) / many)

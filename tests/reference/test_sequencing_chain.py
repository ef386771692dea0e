"""Half-split along a harness: a published chain of five defects and four tests.

Rows 0000, 0001, 0011, 0111, 1111 [seen]: table 1 of a paper on test selection for circuit diagnosis in
electronics assembly (probably Balakrishnan, Semmelbauer, Decision Support Systems 1999 [mem]). There,
testing in the order of the index isolates defect 3 in three tests, beginning with the middle ones in two
[seen]; the expected numbers of tests are by trying all trees [calc].
"""

from __future__ import annotations

import pytest

from backprobe.diagnosis.plan_tree import Isolate, Node, Planner, Table
from tests.reference.books import outside

SUBJECT = "order of checks with a known optimum"
SOURCE = "Test selection for circuit diagnosis in electronics assembly, table 1"
ROWS = ["0000", "0001", "0011", "0111", "1111"]
FAILS = [[int(row[k]) for row in ROWS] for k in range(4)]


def depth_of(node: Node, defect: int) -> int:
    """Tests until a defect is isolated."""
    if node.check < 0:
        return 0
    return 1 + next(depth_of(n, defect) for _, n in node.branches if n.weights[defect] > 0)


@outside(SUBJECT, SOURCE, "seen + calc", figures=3)
@pytest.mark.parametrize(
    ("priors", "expected"),
    [
        ([0.2] * 5, 2.4),
        ([0.1, 0.1, 0.6, 0.1, 0.1], 2.2),
        ([0.5, 0.2, 0.1, 0.1, 0.1], 2.0),
    ],
)
def test_expected_number_of_tests(priors: list[float], expected: float) -> None:
    assert Planner(Table.certain(priors, FAILS), Isolate()).tree().cost == pytest.approx(expected)


@outside(SUBJECT, SOURCE, "seen")
def test_the_middle_defect_takes_two_tests() -> None:
    tree = Planner(Table.certain([0.2] * 5, FAILS), Isolate()).tree()
    assert depth_of(tree, 2) == 2


@outside(SUBJECT, SOURCE, "seen + calc", figures=2)
def test_the_order_of_the_index_is_worse() -> None:
    # By hand: t1 tells defect 5, t2 defect 4, t3 defect 3, t4 the last two: (1 + 2 + 3 + 4 + 4) / 5.
    table = Table.certain([0.2] * 5, FAILS)
    by_index = 0.0
    left = table.priors.copy()
    depth = 0
    for k in range(4):
        depth += 1
        told = left * table.outcomes[k, :, 1]
        by_index += depth * float(told.sum())
        left = left - told
    by_index += depth * float(left.sum())
    assert by_index == pytest.approx(2.8)
    assert Planner(table, Isolate()).tree().cost < by_index

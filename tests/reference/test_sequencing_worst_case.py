"""The least worst case, and Huffman's code as an order of questions.

Costs 1 3 10 1 5 2 6 for the questions "is it at most k?" over seven values: least worst case 14, an
exercise on optimal decision trees [seen]. Frequencies 45 13 12 16 9 5: weighted length 224, D. A. Huffman
(1952), the example of many textbooks [mem].
"""

from __future__ import annotations

import pytest

from backprobe.diagnosis.plan_tree import Isolate, Planner, Table
from tests.reference.books import outside

SUBJECT = "order of checks with a known optimum"
COSTS = [1.0, 3.0, 10.0, 1.0, 5.0, 2.0, 6.0]
AT_MOST = [[int(value > k) for value in range(1, 8)] for k in range(1, 8)]
FREQUENCIES = [45.0, 13.0, 12.0, 16.0, 9.0, 5.0]


@outside(SUBJECT, "exercise on finding an optimal decision tree", "seen")
def test_least_worst_case_of_seven_values() -> None:
    table = Table.certain([1 / 7] * 7, AT_MOST, COSTS)
    assert Planner(table, Isolate(), worst=True).tree().cost == pytest.approx(14)


@outside(SUBJECT, "D. A. Huffman, minimum-redundancy codes (1952)", "mem")
def test_all_questions_reach_the_length_of_the_best_code() -> None:
    questions = [[(chosen >> value) & 1 for value in range(6)] for chosen in range(1, 2**5)]
    assert Planner(Table.certain(FREQUENCIES, questions), Isolate()).tree().cost == pytest.approx(224)

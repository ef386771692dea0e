"""The check that tells apart what the readings cannot."""

from __future__ import annotations

import backprobe as bp
from backprobe.diagnosis.answer import Group
from backprobe.diagnosis.split import splitting_check
from tests.cli.helpers import SKETCH

DEAD = "relay K3 dead, key on, bar down, all plugged"


def test_a_dead_chain_is_split_by_a_check_whose_outcomes_part_its_members() -> None:
    answer = bp.rank(bp.sketch(SKETCH), DEAD)
    group = answer.groups[0]
    assert len(group.suspects) > 3
    checks = bp.next_checks(answer)
    split = splitting_check(answer, checks, group)
    assert split is not None
    assert 0 < split.separated <= 1
    assert len(split.apart) >= 2
    sets = [set(names) for _, names in split.apart]
    assert not set.intersection(*sets)
    for index, names in split.apart:
        assert set(names) <= set(split.check.outcomes[index].means)


def test_no_other_check_at_hand_separates_more_per_minute() -> None:
    answer = bp.rank(bp.sketch(SKETCH), DEAD)
    checks, group = bp.next_checks(answer), answer.groups[0]
    best = splitting_check(answer, checks, group)
    assert best is not None
    for check in checks:
        alone = splitting_check(answer, [check], group)
        if alone is not None and alone.check is check:
            assert alone.separated / check.minutes <= best.separated / best.check.minutes + 1e-12


def test_looks_further_when_the_checks_at_hand_do_not_help() -> None:
    answer = bp.rank(bp.sketch(SKETCH), DEAD)
    assert splitting_check(answer, (), answer.groups[0]) is not None


def test_a_single_suspect_needs_no_splitting() -> None:
    answer = bp.rank(bp.sketch(SKETCH), DEAD)
    lone = Group(answer.groups[0].suspects[:1])
    assert splitting_check(answer, bp.next_checks(answer), lone) is None

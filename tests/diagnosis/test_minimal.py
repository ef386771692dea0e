"""Minimal diagnoses: by hand on a chain, and by their own definition."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

import backprobe as bp
from backprobe.diagnosis.minimal import hitting_sets, minimal_diagnoses

CHAIN = "battery+ > fuse F1 5 A > key > C1-1 > seat switch > relay coil K1 90 ohm > frame"
STATE = "state: key on, seat seated, all plugged\n"


def test_a_number_names_where_the_chain_is_open() -> None:
    # Full volts before the seat switch and none behind it: only what lies between can be open.
    sheet = bp.sketch(CHAIN)
    lines = STATE + "relay K1 dead\nseat switch.1 to battery-: 12.4 V\nseat switch.2 to battery-: 0.02 V"
    found = minimal_diagnoses(sheet, lines, most=1)
    assert ("seat switch: does not close",) in found
    assert all("seat switch" in name for (name,) in found)


def test_a_working_relay_asks_for_no_fault() -> None:
    assert minimal_diagnoses(bp.sketch(CHAIN), STATE + "relay K1 works") == ((),)


def test_no_set_holds_another_and_each_explains_the_complaint() -> None:
    engine = bp.Engine(
        bp.sketch(CHAIN),
        only={
            "fuse F1: blown",
            "key switch: does not close",
            "seat switch: does not close",
            "seat switch: does not open",
        },
    )
    found = [set(f) for f in minimal_diagnoses(engine, STATE + "relay K1 dead", most=3)]
    assert len(found) == 3
    assert all(len(f) == 1 for f in found)
    assert {"seat switch: does not open"} not in found
    # Stuck closed explains what an empty seat should have stopped, and needs no second fault.
    empty = "state: key on, seat empty, all plugged\nrelay K1 works"
    assert minimal_diagnoses(engine, empty, most=2) == (("seat switch: does not open",),)


def test_too_many_sets_are_refused_in_words() -> None:
    with pytest.raises(
        bp.ReadingError, match=r"most: '4' would take up to \d+ circuits to solve\. Ask for fewer"
    ):
        minimal_diagnoses(bp.sketch(CHAIN), STATE + "relay K1 works\nfuse F1.1 to battery-: 3.00 V", most=4)


SETS = st.lists(st.sets(st.sampled_from("abcdef"), min_size=1, max_size=4), min_size=1, max_size=5)


@given(SETS)
def test_hitting_sets_are_all_the_smallest_ones(sets: list[set[str]]) -> None:
    letters = sorted(set().union(*sets))
    hits = [
        frozenset(c)
        for size in range(len(letters) + 1)
        for c in combinations(letters, size)
        if all(set(c) & s for s in sets)
    ]
    smallest = {h for h in hits if not any(other < h for other in hits)}
    assert {frozenset(f) for f in hitting_sets(sets)} == smallest

"""House wiring: a breaker, two two-way switches, a third switch, two lamps.

D. L. Poole and A. K. Mackworth, Artificial Intelligence: Foundations of Computational Agents,
examples 5.20 and 5.23 [seen]; minimal conflicts and diagnoses verified there by enumeration.
"""

from __future__ import annotations

import backprobe as bp
from backprobe.diagnosis.minimal import hitting_sets, minimal_diagnoses
from tests.reference.books import outside

SUBJECT = "diagnoses with known answers"
BOOK = "Poole and Mackworth, Artificial Intelligence, examples 5.20 and 5.23"

# A two-way switch is two contacts; lamp 1 is fed while both switches stand alike.
SHEET = """
sheet: house wiring
system: 12 V
controls: {s1: [up, down], s2: [up, down], s3: [up, down]}
runs:
  feed: [battery+, fuse cb1 10 A, splice J1]
  upper: [splice J1.2, switch s1 up, switch s2 up, splice J2]
  lower: [splice J1.2, switch s1 down, switch s2 down, splice J2.1]
  lamp one: [splice J2, lamp l1 10 W, battery-]
  lamp two: [splice J1.2, switch s3 up, lamp l2 10 W, battery-]
parts:
  switch s1 up: {closed: {s1: up}}
  switch s2 up: {closed: {s2: up}}
  switch s1 down: {closed: {s1: down}}
  switch s2 down: {closed: {s2: down}}
  switch s3 up: {closed: {s3: up}}
"""
NAMES = {
    "fuse cb1: blown": "cb1",
    "switch s1 up: does not close": "s1",
    "switch s2 up: does not close": "s2",
    "switch s3 up: does not close": "s3",
    "lamp l1: burnt out": "l1",
    "lamp l2: burnt out": "l2",
}
UP = "state: s1 up, s2 up, s3 up, all plugged\n"
CONFLICTS = ({"cb1", "s1", "s2", "l1"}, {"cb1", "s3", "l2"})
DIAGNOSES = {
    frozenset(d)
    for d in (
        ("cb1",),
        ("s1", "s3"),
        ("s1", "l2"),
        ("s2", "s3"),
        ("s2", "l2"),
        ("l1", "s3"),
        ("l1", "l2"),
    )
}


def engine() -> bp.Engine:
    """The house with one fault for each of the six parts of the example."""
    return bp.Engine(bp.parse_sheet(SHEET), only=set(NAMES))


def named(sets: tuple[tuple[str, ...], ...]) -> set[frozenset[str]]:
    """Sets of faults by the example's names."""
    return {frozenset(NAMES[f] for f in s) for s in sets}


@outside(SUBJECT, BOOK, "seen", figures=7)
def test_seven_minimal_diagnoses_of_two_dark_lamps() -> None:
    found = minimal_diagnoses(engine(), UP + "lamp l1 dark\nlamp l2 dark", most=3)
    assert len(found) == 7
    assert named(found) == DIAGNOSES


@outside(SUBJECT, BOOK, "seen", figures=2)
def test_minimal_conflicts_and_diagnoses_follow_from_each_other() -> None:
    assert {frozenset(s) for s in hitting_sets(CONFLICTS)} == DIAGNOSES
    assert {frozenset(s) for s in hitting_sets(DIAGNOSES)} == {frozenset(c) for c in CONFLICTS}
    solved = named(minimal_diagnoses(engine(), UP + "lamp l1 dark\nlamp l2 dark", most=3))
    assert {frozenset(s) for s in hitting_sets(solved)} == {frozenset(c) for c in CONFLICTS}


@outside(SUBJECT, BOOK, "seen + calc", figures=4)
def test_a_lit_lamp_proves_that_the_breaker_is_whole() -> None:
    # Without "lit means supplied" the breaker would remain beside the other three.
    found = named(minimal_diagnoses(engine(), UP + "lamp l1 dark\nlamp l2 lit", most=2))
    assert found == {frozenset({n}) for n in ("s1", "s2", "l1")}


@outside(SUBJECT, BOOK, "seen + calc", figures=4)
def test_ranking_agrees_with_the_minimal_diagnoses() -> None:
    both = bp.rank(engine(), UP + "lamp l1 dark\nlamp l2 dark")
    assert both.suspects[0].names == ("fuse cb1: blown",)
    lit = bp.rank(engine(), UP + "lamp l1 dark\nlamp l2 lit")
    blamed = {NAMES[s.name] for s in lit.suspects if s.probability > 0.1}
    assert blamed == {"s1", "s2", "l1"}


@outside(SUBJECT, BOOK, "seen")
def test_a_sound_house_needs_no_fault() -> None:
    assert minimal_diagnoses(engine(), UP + "lamp l1 lit\nlamp l2 lit") == ((),)
    # With one of the two-way switches down lamp 1 is dark by design.
    down = "state: s1 down, s2 up, s3 up, all plugged\n"
    assert minimal_diagnoses(engine(), down + "lamp l1 dark\nlamp l2 lit") == ((),)


@outside(SUBJECT, "de Kleer and Williams 1987; Reiter 1987 (polybox)", "seen + calc", figures=4)
def test_minimal_diagnoses_of_the_polybox_from_its_conflicts() -> None:
    conflicts = ({"A1", "M1", "M2"}, {"A1", "A2", "M1", "M3"})
    diagnoses = {frozenset(d) for d in (("A1",), ("M1",), ("A2", "M2"), ("M2", "M3"))}
    assert {frozenset(s) for s in hitting_sets(conflicts)} == diagnoses
    assert {frozenset(s) for s in hitting_sets(diagnoses)} == {frozenset(c) for c in conflicts}
    other = ({"A1", "M1", "M2"}, {"A2", "M2", "M3"})
    assert {frozenset(s) for s in hitting_sets(other)} == {
        frozenset(d) for d in (("M2",), ("A1", "A2"), ("A1", "M3"), ("A2", "M1"), ("M1", "M3"))
    }

"""Every way to open a guard is tried: compared with trying every state of small random rules."""

from __future__ import annotations

import random
from itertools import combinations, product

import backprobe as bp
from backprobe.diagnosis.guard_tries import ANY_FEWER, EITHER_ALONE, guard_tries
from backprobe.diagnosis.guard_ways import MOST_WAYS, Moves, ways_to_open
from backprobe.sheet.logic import PLAIN, Rule, atoms, evaluate, parse_rule

PLACES = {"a": ("y", "z", "n"), "b": ("y", "n"), "c": ("n", "y", "m"), "d": ("y", "n")}
HOME = dict.fromkeys(PLACES, "y")


def shut(rule: Rule, state: dict[str, str]) -> bool:
    return evaluate(rule, lambda a: state[a.subject] == a.meaning, PLAIN)


def by_trying_all(rule: Rule, names: list[str]) -> list[Moves]:
    """Sets of moves that open a rule, no part of which does, by counting through them."""
    found: list[Moves] = []
    for size in range(1, len(names) + 1):
        for moved in combinations(names, size):
            for stand in product(*([p for p in PLACES[n] if p != HOME[n]] for n in moved)):
                moves = tuple(zip(moved, stand, strict=True))
                if not shut(rule, HOME | dict(moves)) and not any(set(m) <= set(moves) for m in found):
                    found.append(moves)
    return found


def any_rule(dice: random.Random, depth: int) -> str:
    """A random rule of the controls, joined to any depth."""
    if not depth or dice.random() < 0.25:
        name = dice.choice(list(PLACES))
        said = f"{name} is {dice.choice(PLACES[name])}"
        return f"not ({said})" if dice.random() < 0.2 else said
    joined = dice.choice((" and ", " or ")).join(
        any_rule(dice, depth - 1) for _ in range(dice.choice((2, 3)))
    )
    return f"({joined})"


def test_the_ways_are_those_that_trying_every_state_finds() -> None:
    dice = random.Random(20)
    compared = more = 0
    for text in dict.fromkeys(any_rule(dice, 2) for _ in range(3000)):
        rule = parse_rule(text)
        if not shut(rule, HOME):
            continue
        names = list(dict.fromkeys(a.subject for a in atoms(rule)))
        expected = by_trying_all(rule, names)
        ways = ways_to_open(rule, {n: PLACES[n] for n in names}, HOME)
        assert bool(ways) == bool(expected), text
        assert set(ways) <= set(expected), text
        assert [len(w) for w in ways] == sorted(len(w) for w in ways), text
        together = sum(len(w) > 1 for w in expected)
        if together <= MOST_WAYS:
            assert set(ways) == set(expected), text
        else:
            assert sum(len(w) > 1 for w in ways) == MOST_WAYS, text
        compared += bool(expected)
        more += together > 1
    assert compared > 400
    assert more > 80


def test_where_there_are_too_many_no_set_of_controls_is_left_out_for_positions_of_another() -> None:
    places = {n: ("rest", *(f"p{k}" for k in range(5))) for n in ("one", "two")} | {
        n: ("rest", "moved") for n in ("three", "four")
    }
    rule = parse_rule("(one is rest or two is rest) and (three is rest or four is rest)")
    ways = ways_to_open(rule, places, dict.fromkeys(places, "rest"))
    assert len(ways) == MOST_WAYS
    assert (("three", "moved"), ("four", "moved")) in ways


def test_a_rule_with_more_ways_than_can_be_counted_still_has_some() -> None:
    names = [f"c{k}" for k in range(40)]
    text = " or ".join(
        f"{one} is in and {other} is in" for one, other in zip(names[::2], names[1::2], strict=True)
    )
    rule = parse_rule(text)
    ways = ways_to_open(rule, {n: ("out", "in") for n in names}, dict.fromkeys(names, "in"))
    assert len(ways) == MOST_WAYS
    for way in ways:
        assert not shut(rule, dict.fromkeys(names, "in") | dict(way))


THREE = """\
sheet: Boom held until one of three says rest
system: 12 V
controls: {gear: [neutral, park, drive], bar: [down, up], brake: [set, released]}
runs:
  one: [battery+, fuse F1 5 A, splice S1, gear switch, splice S2, relay coil K1 80 ohm, frame]
  two: [splice S1, bar switch, splice S2]
  three: [splice S1, brake switch, splice S2]
parts:
  gear switch: {closed: {gear: [neutral, park]}}
  bar switch: {closed: {bar: down}}
  brake switch: {closed: {brake: set}}
functions:
  boom: {loads: relay K1, guard: RULE}
"""


def tried(rule: str) -> list[tuple[str, str]]:
    tries = guard_tries(bp.Engine(bp.parse_sheet(THREE.replace("RULE", rule))))
    return [(t.open_guard, t.both) for t in tries]


def test_a_guard_with_three_ways_in_one_of_two_positions_is_tried_open() -> None:
    assert tried("gear is neutral or gear is park or bar is down or brake is set") == [
        ("gear drive and bar up and brake released", ANY_FEWER),
        ("", ""),
    ]


def test_each_smallest_set_is_a_try_of_its_own() -> None:
    assert tried("(gear is neutral or gear is park or bar is down) and (bar is down or brake is set)") == [
        ("gear drive and bar up", EITHER_ALONE),
        ("bar up and brake released", EITHER_ALONE),
        ("", ""),
    ]

"""The ways to open a guard by hand: the smallest sets of controls that have to be moved for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import islice, product

from backprobe.sheet.logic import Both, Either, Is, Not, Rule

Moves = tuple[tuple[str, str], ...]
"""Controls that are moved, each with where to, in the order in which the guard names them."""
Places = Mapping[str, tuple[str, ...]]
"""Each control and the positions in which it may stand."""

MOST_WAYS = 12
"""Ways to open a guard with two or more controls that are tried; each with one control is, however many."""
_MOST_TERMS, _MOST_PLACES, _MOST_KEPT = 4000, 64, 400
"""Where the search ends for a rule such as nobody writes: it has more ways than anybody tries."""


def ways_to_open(rule: Rule, places: Places, home: Mapping[str, str]) -> tuple[Moves, ...]:
    """The smallest sets of moves that make a rule untrue, those with fewest controls first.

    No part of a set opens the guard. Where there are more than `MOST_WAYS`, no two sets of controls are left
    out for the sake of further positions of another. None only where no position opens it.

    Parameters
    ----------
    places
        The controls of the rule, in its order, with all their positions.
    home
        Where each stands while the guard is shut.
    """
    found = sorted(set(_candidates(rule, places, home)), key=lambda moves: _order(moves, places))
    smallest: list[Moves] = []
    for moves in found:
        if not any(set(less) < set(moves) for less in smallest):
            smallest.append(moves)
        if len(smallest) == _MOST_KEPT:
            break
    alone = [m for m in smallest if len(m) == 1]
    nth: dict[tuple[str, ...], int] = {}
    ranked: list[tuple[int, Moves]] = []
    for moves in smallest[len(alone) :]:
        controls = tuple(name for name, _ in moves)
        nth[controls] = nth.get(controls, 0) + 1
        ranked.append((nth[controls], moves))
    chosen = [m for _, m in sorted(ranked, key=lambda r: r[0])[:MOST_WAYS]]
    return (*alone, *sorted(chosen, key=lambda moves: _order(moves, places)))


def _order(moves: Moves, places: Places) -> tuple[int, list[int], list[int]]:
    """Fewest first, then as the guard names the controls and the sheet their positions."""
    names = list(places)
    return len(moves), [names.index(n) for n, _ in moves], [places[n].index(p) for n, p in moves]


def _candidates(rule: Rule, places: Places, home: Mapping[str, str]) -> Iterator[Moves]:
    for term in islice(_terms(rule, places, want=False), _MOST_TERMS):
        moved = [name for name in places if home[name] not in term[name]]
        for stand in islice(product(*(term[name] for name in moved)), _MOST_PLACES):
            yield tuple(zip(moved, stand, strict=True))


def _terms(rule: Rule, places: Places, *, want: bool) -> Iterator[Places]:
    """Where each control may stand so that a rule is as wanted, one of its alternatives after another."""
    match rule:
        case Is(subject, meaning):
            left = tuple(p for p in places[subject] if (p == meaning) == want)
            if left:
                yield {**places, subject: left}
        case Not(inner):
            yield from _terms(inner, places, want=not want)
        case Both(one, other) | Either(one, other):
            if isinstance(rule, Both) == want:
                for first in _terms(one, places, want=want):
                    yield from _terms(other, first, want=want)
            else:
                yield from _terms(one, places, want=want)
                yield from _terms(other, places, want=want)

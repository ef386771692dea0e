"""A group of look-alikes as a stretch of wiring: neighbours in series, somewhere from one point to another.

Twenty faults that no reading tells apart are one thing to a mechanic as long as they lie in a row: the
stretch is what is halved next, not the list.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from backprobe.circuit.compiled import Circuit
from backprobe.diagnosis.answer import Answer, Group, Suspect
from backprobe.diagnosis.check import Check
from backprobe.sheet.anatomy import Mode
from backprobe.sheet.implied import spoken
from backprobe.sheet.model import Item

MEMBERS = 4
"""Suspects from which a group is said as a stretch rather than one by one."""
LINKS = 3
"""Parts in a row from which they are a stretch."""
GAP = 1
"""Parts without a suspect that a stretch may pass over in one place."""
MOST = 2
"""Stretches that one sentence can hold."""
HELD = 0.8
"""Share of a group's probability that its stretches have to hold [1]."""
CUT = 0.75
"""Share of a stretch that one outcome of a check may leave at most for the check to cut it down [1]."""
NAMELESS = frozenset({"wire", "strap"})
"""Kinds of part that a stretch is not said to end at: the points at their ends are."""
PLAIN = NAMELESS | {"contact", "splice", "ring"}
"""Kinds of part that only conduct."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Parts in series that hold suspects.

    Parameters
    ----------
    start, end
        The parts or points it goes between, both included, in the direction of its run.
    through
        The likeliest part between them that is more than a conductor; empty where there is none.
    whole
        Whether every suspect of its group lies on a stretch.
    suspects
        Those on it, most probable first.
    probability
        Of all of them together [1].
    """

    start: str
    end: str
    through: str
    suspects: tuple[Suspect, ...]
    probability: float
    whole: bool = False


@dataclass(frozen=True, slots=True)
class _Link:
    """A part or a cavity as what joins two nodes, with its neighbours in its run."""

    part: str
    ends: tuple[int, int]
    before: str
    after: str


def stretches(answer: Answer, group: Group) -> tuple[Stretch, ...]:
    """The stretches that a group lies on, most probable first; empty where it is no matter of stretches."""
    if len(group.suspects) < MEMBERS:
        return ()
    circuit = answer.engine.circuit
    chains = _chains(circuit)
    left: dict[str, Suspect] = {s.name: s for s in group.suspects if len(s.modes) == 1}
    found: list[Stretch] = []
    while left and len(found) < MOST:
        places = [_places(circuit, chain, left.values()) for chain in chains]
        best = max((row for own in places for row in own), key=_weight, default=())
        held = {name: s for name, s, _, _ in best}
        links = {link.part for _, _, _, link in best}
        if len(held) < MEMBERS or len(links) < LINKS:
            break
        found.append(_stretch(answer, best))
        left = {n: s for n, s in left.items() if n not in held}
    total = sum(s.probability for s in group.suspects)
    if total <= 0 or sum(s.probability for s in found) < HELD * total:
        return ()
    every = sum(len(s.suspects) for s in found) == len(group.suspects)
    return tuple(replace(s, whole=every) for s in found)


def cuts(check: Check, found: Sequence[Stretch]) -> bool:
    """Whether whatever a check shows leaves only a part of the stretches in question."""
    suspects = {s.name: s.probability for stretch in found for s in stretch.suspects}
    whole = sum(suspects.values())
    left = [sum(suspects.get(n, 0.0) for n in o.means) for o in check.outcomes]
    return bool(left) and whole > 0 and max(left) <= CUT * whole


_Row = tuple[tuple[str, Suspect, int, _Link], ...]


def _weight(row: _Row) -> float:
    return sum(s.probability for _, s, _, _ in row)


def _places(circuit: Circuit, chain: Sequence[_Link], suspects: Iterable[Suspect]) -> list[_Row]:
    """Suspects on a chain, in its order, parted where more than `GAP` links lie between them."""
    held: list[tuple[str, Suspect, int, _Link]] = []
    for suspect in suspects:
        mode = circuit.modes[suspect.modes[0]]
        at = [k for k, link in enumerate(chain) if link.part == mode.part and _touches(circuit, mode, link)]
        if at:
            held.append((suspect.name, suspect, at[0], chain[at[0]]))
    held.sort(key=lambda row: row[2])
    rows: list[_Row] = []
    begin = 0
    for k, (one, other) in enumerate(pairwise(held), 1):
        if other[2] - one[2] > GAP + 1:
            rows.append(tuple(held[begin:k]))
            begin = k
    return [*rows, tuple(held[begin:])] if held else []


def _touches(circuit: Circuit, mode: Mode, link: _Link) -> bool:
    """Whether a fault of a part with several ways through it, such as a relay, is in this one."""
    own = [b for b in circuit.branches if b.owner == mode.part and b.ohms in mode.changes]
    nodes = {circuit.node_of[end] for b in own for end in (b.a, b.b)}
    return not own or not nodes.isdisjoint(link.ends)


def _stretch(answer: Answer, row: _Row) -> Stretch:
    parts = answer.engine.sheet.parts
    links = list(dict.fromkeys(link for _, _, _, link in row))
    # A chain is walked from either side: most of its links say which way its run goes.
    forward = sum(_follows(one, other) for one, other in pairwise(links))
    if forward < 0:
        links.reverse()

    def end(link: _Link, beside: _Link, otherwise: str) -> str:
        """The link, or for a wire what it comes from on the side that does not look at the next link."""
        if parts[link.part].kind not in NAMELESS:
            return link.part
        if link.ends[1] in beside.ends:
            return link.before or link.part
        return (link.after if link.ends[0] in beside.ends else otherwise) or link.part

    suspects = tuple(sorted((s for _, s, _, _ in row), key=lambda s: (-s.probability, s.name)))
    ends = end(links[0], links[1], links[0].before), end(links[-1], links[-2], links[-1].after)
    between = [link.part for link in links if link.part not in ends and parts[link.part].kind not in PLAIN]
    chance = {p: sum(s.probability for s in suspects if s.name.startswith(f"{p}: ")) for p in between}
    through = max(between, key=lambda p: chance[p], default="")
    return Stretch(*ends, through, suspects, _weight(row))


def _follows(one: _Link, other: _Link) -> int:
    """1 where the run goes on from one to the other, -1 where it comes back, 0 where they do not touch."""
    return (one.ends[1] in other.ends) - (one.ends[0] in other.ends)


def _chains(circuit: Circuit) -> list[list[_Link]]:
    """The links of a sheet's runs in rows that nothing branches off from."""
    links: dict[tuple[str, frozenset[int]], _Link] = {}
    stops: set[int] = {-1, circuit.node_of.get("frame", -1)}
    for run in circuit.sheet.runs.values():
        items = run.items
        for k, item in enumerate(items):
            ends = circuit.node_of[item.enter], circuit.node_of[item.leave]
            if item.role == "point" and item.part in circuit.sheet.parts:
                stops |= _stops(circuit, item)
            elif item.enter != item.leave:
                before = spoken(items[k - 1].leave) if k else ""
                after = spoken(items[k + 1].enter) if k + 1 < len(items) else ""
                links.setdefault((item.part, frozenset(ends)), _Link(item.part, ends, before, after))
    at: dict[int, list[_Link]] = {}
    for link in links.values():
        for node in link.ends:
            at.setdefault(node, []).append(link)
    left = dict.fromkeys(links.values())
    chains: list[list[_Link]] = []
    while left:
        link = next(iter(left))
        chain = [*reversed(_along(link, 0, at, stops)), link, *_along(link, 1, at, stops)]
        chain = list(dict.fromkeys(chain))
        chains.append(chain)
        for some in chain:
            left.pop(some, None)
    return chains


def _stops(circuit: Circuit, item: Item) -> set[int]:
    """The node of a point where a run may end in a part with more pins than two."""
    kind = circuit.sheet.parts[item.part].kind
    return set() if kind in {"splice", "contact", "ring"} else {circuit.node_of[item.enter]}


def _along(link: _Link, side: int, at: dict[int, list[_Link]], stops: set[int]) -> list[_Link]:
    """The links that follow one on a side of it, as long as nothing branches off."""
    found: list[_Link] = []
    node = link.ends[side]
    while node not in stops and len(at[node]) == 2:
        link = next(k for k in at[node] if k is not link)
        if link in found:
            break
        found.append(link)
        node = link.ends[1] if link.ends[0] == node else link.ends[0]
    return found

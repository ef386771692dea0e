"""A sheet as what a drawing is made of: two-ended symbols in strands, blocks with many pins, nets.

A *strand* is a piece of a run without a branch of its own beginning or end in it that is no
two-ended part; it becomes one current path. A *net* is all terminals that the runs join.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field
from itertools import pairwise

from backprobe.sheet.kinds import registry
from backprobe.sheet.model import Part, Sheet
from backprobe.sheet.posts import MINUS, PLUS, source_posts

RELAY_COIL = frozenset({"85", "86"})
BODY = "metal body"
"""Kind under which a metal body beside the frame is drawn."""


@dataclass(slots=True, eq=False)
class Element:
    """A two-ended symbol; `up` and `down` are the terminals at its top and bottom."""

    part: Part
    up: str
    down: str
    row: int = 0
    last_row: int = 0


@dataclass(slots=True, eq=False)
class Block:
    """A part with more than two ends in use: a box with pins on its upper and lower edge."""

    part: Part
    terminals: tuple[str, ...]
    top: tuple[str, ...] = ()
    bottom: tuple[str, ...] = ()
    row: int = 0


@dataclass(slots=True, eq=False)
class Strand:
    """Symbols one below the other, from the net at the top to the net at the bottom."""

    elements: list[Element]
    placed: bool = False

    @property
    def up(self) -> str:
        """The terminal at its top."""
        return self.elements[0].up

    @property
    def down(self) -> str:
        """The terminal at its bottom."""
        return self.elements[-1].down

    def turn(self) -> None:
        """Draw it the other way up."""
        self.elements.reverse()
        for one in self.elements:
            one.up, one.down = one.down, one.up


@dataclass(slots=True, eq=False)
class Graph:
    """Everything to be drawn, and what is joined."""

    strands: list[Strand] = field(default_factory=list)
    blocks: list[Block] = field(default_factory=list)
    source: Element | None = None
    plus: str = PLUS
    minus: str = MINUS
    parent: dict[str, str] = field(default_factory=dict)

    def net(self, terminal: str) -> str:
        """The name of a terminal's net: one of its terminals, the posts and the frame first."""
        root = terminal
        while self.parent.setdefault(root, root) != root:
            root = self.parent[root]
        self.parent[terminal] = root
        return root

    def join(self, one: str, other: str) -> None:
        """Make one net of the nets of two terminals."""
        a, b = self.net(one), self.net(other)
        keep, drop = (b, a) if b in {"frame", self.plus, self.minus} else (a, b)
        self.parent[drop] = keep

    def elements(self) -> list[Element]:
        """Every two-ended symbol except the source."""
        return [e for s in self.strands for e in s.elements]


def build_graph(sheet: Sheet) -> Graph:
    """Take a sheet apart into strands, blocks and nets."""
    graph = Graph()
    graph.plus, graph.minus = source_posts({p.name: p.kind for p in sheet.parts.values()})
    source = graph.plus.rpartition(".")[0]
    blocks = _find_blocks(sheet, (graph.plus, graph.minus))
    graph.blocks = list({id(b): b for b in blocks.values()}.values())
    seen: set[tuple[str, frozenset[str]]] = set()
    for run in sheet.runs.values():
        for item in run.items:
            graph.net(item.enter)
            graph.net(item.leave)
        for one, other in pairwise(run.items):
            graph.join(one.leave, other.enter)
        strand: list[Element] = []
        for item in run.items:
            key = (item.part, frozenset((item.enter, item.leave)))
            passed = item.enter != item.leave and item.part != source and item.enter not in blocks
            if passed and key not in seen:
                seen.add(key)
                strand.append(Element(sheet.parts[item.part], item.enter, item.leave))
                continue
            if strand:
                graph.strands.append(Strand(strand))
                strand = []
        if strand:
            graph.strands.append(Strand(strand))
    _add_unpassed(sheet, graph, blocks)
    if source in sheet.parts and {graph.plus, graph.minus} & set(graph.parent):
        graph.source = Element(sheet.parts[source], graph.plus, graph.minus)
        graph.net(graph.plus)
        graph.net(graph.minus)
    return graph


def _group(sheet: Sheet, terminal: str) -> tuple[str, str]:
    """A part, and which half of it: coil and contacts of a relay are drawn apart."""
    owner, _, end = terminal.rpartition(".")
    half = sheet.parts[owner].kind == "relay"
    return owner, ("coil" if end in RELAY_COIL else "contact") if half else ""


def _used(sheet: Sheet, posts: Collection[str]) -> dict[tuple[str, str], list[str]]:
    used: defaultdict[tuple[str, str], list[str]] = defaultdict(list)
    for run in sheet.runs.values():
        for item in run.items:
            for terminal in (item.enter, item.leave):
                if terminal in sheet.bodies:
                    used[terminal, BODY] = [terminal]
                if "." not in terminal or terminal in posts:
                    continue
                mine = used[_group(sheet, terminal)]
                if terminal not in mine:
                    mine.append(terminal)
    return used


def _ways(part: Part) -> list[tuple[str, str]]:
    return [
        (f"{part.name}.{a}", f"{part.name}.{b}") for a, b in registry().by_name[part.kind].passes.values()
    ]


def _find_blocks(sheet: Sheet, posts: Collection[str]) -> dict[str, Block]:
    """Terminal to block, for all parts that no two-ended symbol can show."""
    found: dict[str, Block] = {}
    for (name, group), terminals in _used(sheet, posts).items():
        if group == BODY:
            found[name] = Block(Part(name, BODY), (name,))
            continue
        part = sheet.parts[name]
        if any(set(terminals) <= set(way) for way in _ways(part)):
            continue
        order = [f"{name}.{t}" for t in registry().by_name[part.kind].terminals]
        order = [t for t in order if t in terminals] or terminals
        block = Block(part, tuple(order))
        found.update({t: block for t in terminals})
    return found


def _add_unpassed(sheet: Sheet, graph: Graph, blocks: dict[str, Block]) -> None:
    """Parts whose ends are named one by one get a strand of their own."""
    drawn = {t for e in graph.elements() for t in (e.up, e.down)}
    for (name, _), terminals in _used(sheet, (graph.plus, graph.minus)).items():
        if drawn & set(terminals) or terminals[0] in blocks:
            continue
        way = next(w for w in _ways(sheet.parts[name]) if set(terminals) <= set(w))
        for terminal in way:
            graph.net(terminal)
        graph.strands.append(Strand([Element(sheet.parts[name], *way)]))

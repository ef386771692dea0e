"""What a drawing must be, found from its geometry alone: apart, complete, and joined as the sheet is."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Sequence
from itertools import combinations, pairwise
from typing import TypeVar

from backprobe.report.drawing.scene import Box, Label, Scene, Segment, Symbol
from backprobe.sheet.model import Sheet
from backprobe.sheet.posts import source_posts

T = TypeVar("T")
U = TypeVar("U")


class Groups:
    """Union-find: what is joined to what."""

    def __init__(self) -> None:
        self.parent: dict[Hashable, Hashable] = {}

    def find(self, one: Hashable) -> Hashable:
        while self.parent.setdefault(one, one) != one:
            one = self.parent[one]
        return one

    def join(self, one: Hashable, other: Hashable) -> None:
        self.parent[self.find(one)] = self.find(other)

    def sets(self, members: Iterable[Hashable]) -> set[frozenset[Hashable]]:
        found: defaultdict[Hashable, set[Hashable]] = defaultdict(set)
        for member in members:
            found[self.find(member)].add(member)
        return {frozenset(s) for s in found.values()}


def meetings(ones: Sequence[tuple[T, Box]], others: Sequence[tuple[U, Box]]) -> list[tuple[T, U]]:
    """Pairs whose boxes have an area in common, by squares of the paper so that it stays quick."""
    squares: defaultdict[tuple[int, int], list[int]] = defaultdict(list)
    for i, (_, box) in enumerate(others):
        for square in _squares(box):
            squares[square].append(i)
    found: list[tuple[T, U]] = []
    for one, box in ones:
        near = sorted({i for square in _squares(box) for i in squares[square]})
        found += [(one, others[i][0]) for i in near if others[i][0] is not one and box.meets(others[i][1])]
    return found


def _squares(box: Box) -> list[tuple[int, int]]:
    side = 100
    columns = range(int(box.left // side), int(box.right // side) + 1)
    return [(x, y) for x in columns for y in range(int(box.top // side), int(box.bottom // side) + 1)]


def overlaps(scene: Scene) -> list[str]:
    """Pairs of texts, symbols, wires and lead tips that lie on each other."""
    labels = [(label, label.box) for label in scene.all_labels()]
    symbols = [(symbol, symbol.box) for symbol in scene.symbols]
    wires = [(s, _hair(s)) for s in scene.segments]
    found = [f"text {a.text!r} on {b.text!r}" for a, b in meetings(labels, labels)]
    found += [f"{a.part} on {b.part}" for a, b in meetings(symbols, symbols)]
    found += [
        f"text {label.text!r} on {symbol.part}"
        for label, symbol in meetings(labels, symbols)
        if not _inside_its_own(label, symbol)
    ]
    found += [
        f"wire of {s.net} on {symbol.part}"
        for s, symbol in meetings(wires, symbols)
        if not _crosses(s, symbol)
    ]
    found += [f"wire of {s.net} on {label.text!r}" for s, label in meetings(wires, labels)]
    found += [f"{label.text!r} leaves the page" for label, box in labels if _outside(box, scene)]
    return found + _tips(scene)


def _hair(s: Segment) -> Box:
    """A line as a very thin box that does not reach its own ends."""
    thin = 0.01
    x1, x2, y1, y2 = min(s.x1, s.x2), max(s.x1, s.x2), min(s.y1, s.y2), max(s.y1, s.y2)
    wide, high = (x2 - thin, y1 + thin) if y1 == y2 else (x1 + thin, y2 - thin)
    return Box(x1 + thin, y1, wide, high) if y1 == y2 else Box(x1, y1 + thin, wide, high)


def _inside_its_own(label: Label, symbol: Symbol) -> bool:
    """A box holds its own texts; terminal numbers stand beside the ends of their symbol."""
    b, s = label.box, symbol.box
    mine = any(label is own for own in symbol.labels)
    within = s.left <= b.left and b.right <= s.right and s.top <= b.top and b.bottom <= s.bottom
    return mine and (label.role == "pin" or _is_box(symbol)) and (within or not _is_box(symbol))


def _crosses(s: Segment, symbol: Symbol) -> bool:
    """A level line may cross a drawn wire from side to side, as wires cross on paper."""
    box = symbol.box
    return symbol.kind == "wire" and min(s.x1, s.x2) < box.left and max(s.x1, s.x2) > box.right


def _is_box(symbol: Symbol) -> bool:
    return any(shape.startswith("<rect") for shape in symbol.shapes)


def _outside(box: Box, scene: Scene) -> bool:
    return box.left < 0 or box.top < 0 or box.right > scene.width or box.bottom > scene.height


def _tips(scene: Scene) -> list[str]:
    tips = [(t, Box(t.x - 9, t.y - 9, t.x + 9, t.y + 9)) for t in scene.tips]
    labels = [(label, label.box) for label in scene.all_labels()]
    symbols = [(s, s.box) for s in scene.symbols if not _is_box(s)]
    return [
        *("tip on tip" for _ in meetings(tips, tips)),
        *(f"tip on {label.text!r}" for _, label in meetings(tips, labels)),
        *(f"tip on {symbol.part}" for _, symbol in meetings(tips, symbols)),
    ]


def wires_that_meet_wrongly(scene: Scene) -> list[str]:
    """Lines of two nets that run along each other, and slanted lines."""
    found = [f"slanted wire of {s.net}" for s in scene.segments if s.x1 != s.x2 and s.y1 != s.y2]
    upright = [s for s in scene.segments if s.x1 == s.x2]
    level = [s for s in scene.segments if s.y1 == s.y2]
    for lines, at, ends in ((upright, "x1", ("y1", "y2")), (level, "y1", ("x1", "x2"))):
        by_place: defaultdict[float, list[tuple[float, float, str]]] = defaultdict(list)
        for s in lines:
            span = sorted(getattr(s, end) for end in ends)
            by_place[getattr(s, at)].append((span[0], span[1], s.net))
        for same in by_place.values():
            for a, b in combinations(sorted(same), 2):
                if a[2] != b[2] and b[0] <= a[1]:
                    found.append(f"{a[2]} along {b[2]}")
    return found


def drawn_nets(scene: Scene) -> set[frozenset[Hashable]]:
    """What the lines join, read as an eye does: ends that touch a line are joined, crossings are not."""
    groups = Groups()
    ends = {p for s in scene.segments for p in ((s.x1, s.y1), (s.x2, s.y2))}
    pins = [(t, p) for symbol in scene.symbols for t, p in symbol.pins.items()]
    if scene.frame:
        pins.append(("frame", scene.frame))
    for terminal, place in pins:
        groups.join(terminal, place)
    places = ends | {p for _, p in pins}
    by_x: defaultdict[float, list[tuple[float, float]]] = defaultdict(list)
    by_y: defaultdict[float, list[tuple[float, float]]] = defaultdict(list)
    for place in places:
        by_x[place[0]].append(place)
        by_y[place[1]].append(place)
    for s in scene.segments:
        groups.join((s.x1, s.y1), (s.x2, s.y2))
        for x, y in by_x[s.x1] if s.x1 == s.x2 else by_y[s.y1]:
            if min(s.x1, s.x2) <= x <= max(s.x1, s.x2) and min(s.y1, s.y2) <= y <= max(s.y1, s.y2):
                groups.join((x, y), (s.x1, s.y1))
    return groups.sets({t for t, _ in pins})


def written_nets(sheet: Sheet, terminals: Iterable[Hashable]) -> set[frozenset[Hashable]]:
    """What the runs of the sheet join."""
    groups = Groups()
    for run in sheet.runs.values():
        for one, other in pairwise(run.items):
            groups.join(one.leave, other.enter)
    return groups.sets(terminals)


def terminals_of(sheet: Sheet) -> set[Hashable]:
    """Every terminal that a run names."""
    return {t for run in sheet.runs.values() for i in run.items for t in (i.enter, i.leave)}


def check(sheet: Sheet, scene: Scene) -> None:
    """All of it."""
    assert overlaps(scene) == []
    assert wires_that_meet_wrongly(scene) == []
    drawn = {t for symbol in scene.symbols for t in symbol.pins} | ({"frame"} if scene.frame else set())
    assert terminals_of(sheet) <= drawn
    assert drawn_nets(scene) == written_nets(sheet, drawn)
    ends = Counter(t for symbol in scene.symbols for t in symbol.pins)
    assert {t: n for t, n in ends.items() if n != 1} == {}
    source = source_posts({p.name: p.kind for p in sheet.parts.values()})[0].rpartition(".")[0]
    passed = {
        (i.part, frozenset((i.enter, i.leave)))
        for r in sheet.runs.values()
        for i in r.items
        if i.enter != i.leave
    }
    for part, pair in passed:
        symbols = [s for s in scene.symbols if s.part == part and pair <= set(s.pins)]
        assert len(symbols) == 1 or part == source, (part, len(symbols))

"""Which way up each strand is drawn, and in which row each symbol stands.

The supply is on top and the return at the bottom, as in current-path drawings. Every net asks
that what hangs above it stands in an earlier row than what hangs below it; where that cannot be
for all (a signal that returns upwards), the net gets a riser and nothing else changes.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise

from backprobe.report.drawing.graph import BODY, Block, Element, Graph, Strand

TOP, CONTROLLER, OTHER_BLOCK, FRAME, BOTTOM = 0.0, 40.0, 60.0, 90.0, 100.0
"""Heights of nets, from the supply down; only their order matters."""


def orient(graph: Graph) -> dict[str, float]:
    """Turn every strand the right way up; returns the height of each net."""
    height = _fixed_heights(graph)
    waiting = list(graph.strands)
    while waiting:
        ready = [s for s in waiting if _ends(graph, s) <= set(height)]
        if not ready:
            ready = [next((s for s in waiting if _ends(graph, s) & set(height)), waiting[0])]
            _guess(graph, ready[0], height)
        for strand in ready:
            if height[graph.net(strand.up)] > height[graph.net(strand.down)]:
                strand.turn()
            low, high = height[graph.net(strand.up)], height[graph.net(strand.down)]
            for i, one in enumerate(strand.elements[:-1], 1):
                height.setdefault(graph.net(one.down), low + (high - low) * i / len(strand.elements))
        waiting = [s for s in waiting if s not in ready]
    for block in graph.blocks:
        _edges(graph, block, height)
    return height


def _level(block: Block) -> float:
    return {"controller": CONTROLLER, BODY: FRAME - 5}.get(block.part.kind, OTHER_BLOCK)


def _ends(graph: Graph, strand: Strand) -> set[str]:
    return {graph.net(strand.up), graph.net(strand.down)}


def _guess(graph: Graph, strand: Strand, height: dict[str, float]) -> None:
    """Heights of nets that no rule has reached: by how far they are from the two posts."""
    from_plus, from_minus = _far(graph, graph.net(graph.plus)), _far(graph, graph.net(graph.minus))
    for net in sorted(_ends(graph, strand) - set(height)):
        plus, minus = from_plus.get(net, 0), from_minus.get(net, 0)
        height[net] = BOTTOM * plus / (plus + minus) if plus and minus else OTHER_BLOCK


def _far(graph: Graph, start: str) -> dict[str, int]:
    """Net to the symbols between it and `start`."""
    beside: defaultdict[str, set[str]] = defaultdict(set)
    for one in graph.elements():
        up, down = graph.net(one.up), graph.net(one.down)
        beside[up].add(down)
        beside[down].add(up)
    far, edge = {start: 0}, [start]
    while edge:
        fresh = sorted({n for net in edge for n in beside[net]} - set(far))
        far.update(dict.fromkeys(fresh, far[edge[0]] + 1))
        edge = fresh
    return far


def _fixed_heights(graph: Graph) -> dict[str, float]:
    height: dict[str, float] = {}
    for block in sorted(graph.blocks, key=lambda b: b.part.kind != "controller"):
        level = _level(block)
        for terminal in block.terminals:
            height.setdefault(graph.net(terminal), level)
    for terminal, level in (("frame", FRAME), (graph.minus, BOTTOM), (graph.plus, TOP)):
        if terminal in graph.parent:
            height[graph.net(terminal)] = level
    return height


def _edges(graph: Graph, block: Block, height: dict[str, float]) -> None:
    """On which edge each pin is: towards what it is joined to."""
    own = _level(block)
    top = [t for t in block.terminals if _is_above(graph, block, t, height, own)]
    block.top = tuple(top)
    block.bottom = tuple(t for t in block.terminals if t not in top)


def _is_above(graph: Graph, block: Block, terminal: str, height: dict[str, float], own: float) -> bool:
    net = graph.net(terminal)
    if height[net] != own:
        return height[net] < own
    votes = sum(
        (height[graph.net(s.up)] < own and graph.net(s.down) == net)
        - (height[graph.net(s.down)] > own and graph.net(s.up) == net)
        for s in graph.strands
    )
    return votes > 0 or (votes == 0 and (terminal.endswith(".battery") or block.part.kind == BODY))


# --- rows ---------------------------------------------------------------------------------

Node = Element | Block


def pins(graph: Graph) -> tuple[dict[str, list[Node]], dict[str, list[Node]]]:
    """Net to what hangs above it (whose lower end it is), and to what hangs below it."""
    above: defaultdict[str, list[Node]] = defaultdict(list)
    below: defaultdict[str, list[Node]] = defaultdict(list)
    for one in graph.elements():
        above[graph.net(one.down)].append(one)
        below[graph.net(one.up)].append(one)
    for block in graph.blocks:
        for t in block.top:
            below[graph.net(t)].append(block)
        for t in block.bottom:
            above[graph.net(t)].append(block)
    return above, below


def is_return(graph: Graph, strand: Strand) -> bool:
    """Whether it leads from the frame to the battery's negative post."""
    return graph.net(strand.up) == "frame" and graph.net(strand.down) == graph.minus


def assign_rows(graph: Graph) -> tuple[int, int]:
    """Give every symbol its row; returns the row count down to the frame, and in all."""
    late = {id(e) for s in graph.strands if is_return(graph, s) for e in s.elements}
    everything: list[Node] = [*graph.elements(), *graph.blocks]
    nodes = [n for n in everything if id(n) not in late]
    after = _successors(graph, nodes, late)
    floor: dict[int, int] = {}
    order = _topological(nodes, after)
    rows = _earliest(order, after, floor)
    others = [b for b in graph.blocks if b.part.kind not in {"controller", BODY}]
    if others:
        # Sensors side by side on one level are read as one row of plugs.
        floor = {id(b): max(rows[id(o)] for o in others) for b in others}
        rows = _earliest(order, after, floor)
    count = max((rows[id(n)] for n in nodes), default=-1) + 1
    _settle_late(graph, order, after, rows, count)
    for n in nodes:
        n.row = rows[id(n)]
    _stretch_wires(graph, late)
    deepest = count
    for strand in graph.strands:
        if is_return(graph, strand):
            for i, one in enumerate(strand.elements):
                one.row = one.last_row = count + i
            deepest = max(deepest, count + len(strand.elements))
    return count, deepest


def _successors(graph: Graph, nodes: list[Node], late: set[int]) -> dict[int, list[Node]]:
    """What must stand below each; a wish that would close a circle is left out (a riser serves it)."""
    above, below = pins(graph)
    after: dict[int, list[Node]] = {id(n): [] for n in nodes}
    for strand in graph.strands:
        for one, other in pairwise(strand.elements):
            if id(one) not in late:
                after[id(one)].append(other)
    for net, tops in above.items():
        if net in {graph.plus, "frame", graph.minus}:
            continue
        for upper in tops:
            for lower in below[net]:
                known = id(upper) in after and id(lower) in after and lower not in after[id(upper)]
                if known and not _reaches(lower, upper, after):
                    after[id(upper)].append(lower)
    return after


def _reaches(start: Node, goal: Node, after: dict[int, list[Node]]) -> bool:
    seen, waiting = {id(start)}, [start]
    while waiting:
        node = waiting.pop()
        if node is goal:
            return True
        fresh: list[Node] = [n for n in after[id(node)] if id(n) not in seen]
        seen |= {id(n) for n in fresh}
        waiting += fresh
    return False


def _topological(nodes: list[Node], after: dict[int, list[Node]]) -> list[Node]:
    """Upper before lower."""
    order: list[Node] = []
    inward = {id(n): 0 for n in nodes}
    for node in nodes:
        for other in after[id(node)]:
            inward[id(other)] += 1
    ready = [n for n in nodes if not inward[id(n)]]
    while ready:
        node = ready.pop(0)
        order.append(node)
        for other in after[id(node)]:
            inward[id(other)] -= 1
            if not inward[id(other)]:
                ready.append(other)
    return order


def _earliest(order: list[Node], after: dict[int, list[Node]], floor: dict[int, int]) -> dict[int, int]:
    rows = {id(n): floor.get(id(n), 0) for n in order}
    for node in order:
        for other in after[id(node)]:
            rows[id(other)] = max(rows[id(other)], rows[id(node)] + 1)
    return rows


def _settle_late(
    graph: Graph, order: list[Node], after: dict[int, list[Node]], rows: dict[int, int], count: int
) -> None:
    """Below its longest wire a strand is drawn low: plugs stand at their block, lugs at the frame."""
    tail: set[int] = set()
    for strand in graph.strands:
        wires = [i for i, e in enumerate(strand.elements) if e.part.kind == "wire"]
        if wires:
            longest = max(wires, key=lambda i: (*_wish(strand.elements[i]), i))
            tail |= {id(e) for e in strand.elements[longest + 1 :]}
    for node in reversed(order):
        if id(node) in tail:
            rows[id(node)] = min((rows[id(n)] for n in after[id(node)]), default=count) - 1


def _wish(element: Element) -> tuple[bool, float]:
    length = element.part.values.get("length")
    return not element.part.implied, length.nominal if length else 0.0


def _stretch_wires(graph: Graph, late: set[int]) -> None:
    """A wire is drawn as far as there is room, but not past a row that something beside it hangs from."""
    _, below = pins(graph)
    for strand in graph.strands:
        for one, following in zip(strand.elements, [*strand.elements[1:], None], strict=True):
            if id(one) in late:
                continue
            one.last_row = one.row
            if one.part.kind == "wire" and following is not None:
                beside = [n.row for n in below[graph.net(one.down)] if n.row > one.row]
                one.last_row = min([following.row, *beside]) - 1

"""In which channel each net runs sideways.

Above every row there is a channel that holds no symbol and no label, only wires; channel 0 is
above the first row. Each tap of a net (the end of a symbol, a pin, a joint inside a strand)
reaches a range of channels without passing a symbol. A net takes as few channels as serve all
its taps, and a riser joins them where it needs more than one.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from itertools import pairwise

from backprobe.report.drawing.graph import Block, Graph, Strand


@dataclass(slots=True, eq=False)
class Trunk:
    """A net's way sideways in one channel, and what it serves."""

    net: str
    channel: int
    rail: bool = False
    taps: list[Tap] = field(default_factory=list)
    left: int = 0
    right: int = 0
    track: int = 0


@dataclass(slots=True, eq=False)
class Tap:
    """Where a net is entered from a column: `owner` is a strand or a block, `terminals` its ends there.

    `low` and `high` are the channels within reach; `column` is found later.
    """

    net: str
    owner: Strand | Block | None
    terminals: tuple[str, ...]
    low: int
    high: int
    down: bool
    column: int = -1


@dataclass(slots=True, eq=False)
class Riser:
    """A plain vertical that joins two trunks of one net."""

    one: Trunk
    other: Trunk
    column: int = -1


@dataclass(slots=True)
class Routes:
    """All trunks and risers, and the trunk of every tap."""

    trunks: list[Trunk] = field(default_factory=list)
    risers: list[Riser] = field(default_factory=list)
    of_end: dict[tuple[int, str], Trunk] = field(default_factory=dict)
    """(id of a strand or block, terminal at its end) to the trunk that serves it."""


def route(graph: Graph, frame_channel: int, last: int) -> Routes:
    """Find the trunks of every net."""
    taps: defaultdict[str, list[Tap]] = defaultdict(list)
    for tap in _taps(graph, last):
        taps[tap.net].append(tap)
    rails = {graph.plus: 0, "frame": frame_channel, graph.minus: last}
    for terminal, channel in rails.items():
        if terminal in graph.parent:
            net = graph.net(terminal)
            taps[net].append(Tap(net, None, (terminal,), channel, channel, True))
    routes = Routes()
    for net, mine in taps.items():
        trunks = _stab(net, mine)
        routes.trunks += trunks
        routes.risers += [Riser(one, other) for one, other in pairwise(trunks)]
        for trunk in trunks:
            for tap in trunk.taps:
                routes.of_end.update({(id(tap.owner), t): trunk for t in tap.terminals})
    return routes


def _stab(net: str, taps: list[Tap]) -> list[Trunk]:
    """The fewest channels that every range meets; each as high up as its taps allow."""
    trunks: list[Trunk] = []
    waiting = sorted(taps, key=lambda t: (t.high, t.low))
    while waiting:
        limit = waiting[0].high
        mine = [t for t in waiting if t.low <= limit]
        channel = max(t.low for t in mine) if any(t.down for t in mine) else limit
        trunks.append(Trunk(net, channel, any(t.owner is None for t in mine)))
        waiting = [t for t in waiting if t.low > limit]
    for tap in taps:
        _nearest(tap, trunks).taps.append(tap)
    return [t for t in trunks if t.taps]


def _nearest(tap: Tap, trunks: list[Trunk]) -> Trunk:
    """The trunk that serves a tap with least wire; a rail before any other."""
    within = [t for t in trunks if tap.low <= t.channel <= tap.high]
    return min(within, key=lambda t: (not t.rail, t.channel if tap.down else -t.channel))


def _taps(graph: Graph, last: int) -> list[Tap]:
    found: list[Tap] = []
    for strand in graph.strands:
        first, bottom = strand.elements[0], strand.elements[-1]
        found.append(Tap(graph.net(first.up), strand, (first.up,), 0, first.row, False))
        found.append(Tap(graph.net(bottom.down), strand, (bottom.down,), bottom.last_row + 1, last, True))
        for one, other in pairwise(strand.elements):
            low, high = one.last_row + 1, other.row
            found.append(Tap(graph.net(one.down), strand, (one.down, other.up), low, high, True))
    for block in graph.blocks:
        found += [Tap(graph.net(t), block, (t,), 0, block.row, False) for t in block.top]
        found += [Tap(graph.net(t), block, (t,), block.row + 1, last, True) for t in block.bottom]
    return found

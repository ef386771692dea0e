"""Which column each strand and each pin of a block stands in.

A column is free for a second strand only where the first one's wires do not reach, so nothing
can lie on anything else. Rows and channels are counted together: channel k is 2 k, row k is 2 k + 1.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from backprobe.report.drawing.graph import Block, Graph, Strand
from backprobe.report.drawing.rows import is_return
from backprobe.report.drawing.trunks import Routes, Trunk

Span = tuple[int, int]


@dataclass(slots=True)
class Columns:
    """The columns as they fill from left to right."""

    graph: Graph
    routes: Routes
    taken: list[list[Span]] = field(default_factory=list)
    of_strand: dict[int, int] = field(default_factory=dict)
    of_pin: dict[str, int] = field(default_factory=dict)
    span_of_block: dict[int, Span] = field(default_factory=dict)
    source: int = -1

    # --- room ------------------------------------------------------------------------

    def add(self) -> int:
        """A new column at the right."""
        self.taken.append([])
        return len(self.taken) - 1

    def free(self, column: int, spans: list[Span]) -> bool:
        """Whether a column has room for all these, with a gap to what it holds already."""
        return all(high < a or low > b for low, high in spans for a, b in self.taken[column])

    def trunk(self, owner: Strand | Block, terminal: str) -> Trunk:
        """The trunk that serves an end."""
        return self.routes.of_end[id(owner), terminal]

    def reach(self, strand: Strand) -> Span:
        """From the channel at its top to the channel at its bottom."""
        return 2 * self.trunk(strand, strand.up).channel, 2 * self.trunk(strand, strand.down).channel

    def stub(self, block: Block, terminal: str) -> Span:
        """From the edge of a block to the channel of one of its pins."""
        channel = 2 * self.trunk(block, terminal).channel
        return (channel, 2 * block.row) if terminal in block.top else (2 * block.row + 2, channel)

    # --- placing ---------------------------------------------------------------------

    def hang(self, strand: Strand, column: int) -> None:
        """Put a strand into a column."""
        strand.placed = True
        self.of_strand[id(strand)] = column
        self.taken[column].append(self.reach(strand))

    def pin(self, block: Block, terminal: str, column: int, strand: Strand | None) -> None:
        """Put a pin into a column, and its strand with it."""
        self.of_pin[terminal] = column
        spans = [self.stub(block, terminal)]
        if strand is not None:
            strand.placed = True
            self.of_strand[id(strand)] = column
            spans.append(self.reach(strand))
        self.taken[column].append((min(a for a, _ in spans), max(b for _, b in spans)))

    def partner(self, block: Block, terminal: str) -> Strand | None:
        """A strand not yet placed that can go straight on from a pin."""
        trunk = self.trunk(block, terminal)
        for strand in self.graph.strands:
            end = strand.down if terminal in block.top else strand.up
            if not strand.placed and self.routes.of_end[id(strand), end] is trunk:
                return strand
        return None


def place(graph: Graph, routes: Routes) -> Columns:
    """Place everything, in the order of the runs."""
    columns = Columns(graph, routes)
    if graph.source is not None:
        columns.source = columns.add()
        ends = [
            2 * t.channel
            for t in routes.trunks
            if t.rail and t.net in {graph.net(graph.source.up), graph.net(graph.source.down)}
        ]
        columns.taken[0].append((min(ends), max(ends)))
    returns = [s for s in graph.strands if is_return(graph, s)]
    for strand in returns:
        strand.placed = True
    for strand in graph.strands:
        for block in _touched(columns, strand):
            _place_block(columns, block)
        if not strand.placed:
            columns.hang(strand, columns.add())
    for block in graph.blocks:
        _place_block(columns, block)
    for riser in routes.risers:
        span = sorted((2 * riser.one.channel, 2 * riser.other.channel))
        riser.column = columns.add()
        columns.taken[riser.column].append((span[0], span[1]))
    for strand in returns:
        _place_return(columns, strand)
    _find_ends(columns)
    return columns


def _place_return(columns: Columns, strand: Strand) -> None:
    """Straps stand below the frame, in the first column that ends there."""
    top, bottom = columns.reach(strand)
    first = columns.source + 1
    # What ends in the frame's channel ends on the frame or above it (its track is the lowest).
    room = [c for c in range(first, len(columns.taken)) if columns.free(c, [(top + 1, bottom)])]
    columns.hang(strand, room[0] if room else columns.add())


def _touched(columns: Columns, strand: Strand) -> list[Block]:
    ends = {id(columns.trunk(strand, strand.up)), id(columns.trunk(strand, strand.down))}
    touched = [b for b in columns.graph.blocks if any(id(columns.trunk(b, t)) in ends for t in b.terminals)]
    return sorted(touched, key=lambda b: b.row)


def _place_block(columns: Columns, block: Block) -> None:
    """Pins of the lower edge with what hangs from them, then the upper edge over the same columns."""
    if id(block) in columns.span_of_block:
        return
    start = len(columns.taken)
    columns.span_of_block[id(block)] = (start, start)
    for lower in columns.graph.blocks:
        if _nests(columns, block, lower):
            _place_below(columns, block, lower)
    for terminal in block.bottom:
        if terminal not in columns.of_pin:
            partner = columns.partner(block, terminal)
            loop = None if partner else _loop(columns, block, terminal)
            if loop is not None:
                columns.hang(loop, columns.add())
            columns.pin(block, terminal, columns.add(), partner)
    _place_edge(columns, block, block.top, start)
    end = max(len(columns.taken) - 1, start)
    columns.span_of_block[id(block)] = (start, end)
    for column in range(start, end + 1):
        columns.taken[column].append((2 * block.row + 1, 2 * block.row + 1))


def _loop(columns: Columns, block: Block, terminal: str) -> Strand | None:
    """A strand that comes back to a pin from below, so that it can stand beside it."""
    trunk = columns.trunk(block, terminal)
    for strand in columns.graph.strands:
        under = not strand.placed and columns.reach(strand)[0] > 2 * block.row + 1
        if under and columns.trunk(strand, strand.down) is trunk:
            return strand
    return None


def _place_edge(columns: Columns, block: Block, terminals: tuple[str, ...], start: int) -> None:
    """Pins of one edge, each in the first column from `start` that has room."""
    column = start
    for terminal in terminals:
        strand = columns.partner(block, terminal)
        spans = [columns.stub(block, terminal)] + ([columns.reach(strand)] if strand else [])
        while column < len(columns.taken) and not columns.free(column, spans):
            column += 1
        if column == len(columns.taken):
            columns.add()
        columns.pin(block, terminal, column, strand)
        column += 1


def _direct(columns: Columns, block: Block, lower: Block, terminal: str) -> tuple[Strand | None, str]:
    """The strand above a pin of the lower block, and the upper block's pin that it leads to."""
    strand = columns.partner(lower, terminal)
    if strand is None:
        return None, ""
    above = columns.trunk(strand, strand.up)
    for pin in block.bottom:
        if pin not in columns.of_pin and columns.trunk(block, pin) is above:
            return strand, pin
    return strand, ""


def _nests(columns: Columns, block: Block, lower: Block) -> bool:
    """Whether a block can hang under another: a strand joins them, and none passes the upper one."""
    if id(lower) in columns.span_of_block or lower.row <= block.row:
        return False
    joined = False
    for terminal in lower.top:
        strand, pin = _direct(columns, block, lower, terminal)
        joined = joined or bool(pin)
        highest = min(columns.stub(lower, terminal)[0], columns.reach(strand)[0] if strand else 2 * lower.row)
        if highest <= 2 * block.row + 1:
            return False
    return joined


def _place_below(columns: Columns, block: Block, lower: Block) -> None:
    start = len(columns.taken)
    for terminal in lower.top:
        strand, pin = _direct(columns, block, lower, terminal)
        column = columns.add()
        columns.pin(lower, terminal, column, strand)
        if pin:
            columns.of_pin[pin] = column
            columns.taken[column].append(columns.stub(block, pin))
    _place_edge(columns, lower, lower.bottom, start)
    end = len(columns.taken) - 1
    columns.span_of_block[id(lower)] = (start, end)
    for column in range(start, end + 1):
        columns.taken[column].append((2 * lower.row + 1, 2 * lower.row + 1))


def _find_ends(columns: Columns) -> None:
    """The column of every tap, and how far left and right each trunk goes."""
    for trunk in columns.routes.trunks:
        for tap in trunk.taps:
            if isinstance(tap.owner, Strand):
                tap.column = columns.of_strand[id(tap.owner)]
            elif isinstance(tap.owner, Block):
                tap.column = columns.of_pin[tap.terminals[0]]
            else:
                tap.column = columns.source if tap.terminals[0] != "frame" else -1
        at = [t.column for t in trunk.taps if t.column >= 0]
        at += [r.column for r in columns.routes.risers if trunk in (r.one, r.other)]
        trunk.left, trunk.right = min(at, default=0), max(at, default=0)

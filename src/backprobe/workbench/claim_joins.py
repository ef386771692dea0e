"""Joins, resistors and feeds between the points of a sheet, as the meanings of a claim."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise

from backprobe.circuit.setup import JUMPER_OHMS, SOURCE_OHMS, Attachment
from backprobe.readings.line_conditions import LineConditions
from backprobe.readings.line_names import FUSES, Parsed
from backprobe.readings.points import Point, passage
from backprobe.sheet.model import Item
from backprobe.sheet.run_text import canonical_cavity
from backprobe.units import format_quantity
from backprobe.workbench.claim import RESISTOR_WATTS, Cure, Guarded
from backprobe.workbench.claim_names import absent, called_switch, meant, no_plug, not_fitted, plug_of
from backprobe.workbench.claim_repairs import unguarded

LADDER = (100.0, 330.0, 1e3, 3.3e3, 1e4, 3.3e4)
"""What stands for any resistor where a claim names none [ohm]."""
MOST_EVERY = 5
"""Up to this many cavities "bridge it" is taken as every way to join them; beyond it as pairs and all."""
_AND = re.compile(r"\s+(?:to|and|with|onto)\s+|\s+[+&]\s+", re.I)

Blocks = tuple[tuple[str, ...], ...]
"""Cavities joined to each other; those that stay alone are left out."""


def partitions(cavities: Sequence[str]) -> Iterator[Blocks]:
    """Every way to join cavities, the one without a join first: all set partitions."""

    def grow(done: list[list[str]], rest: Sequence[str]) -> Iterator[list[list[str]]]:
        if not rest:
            yield done
            return
        first, later = rest[0], rest[1:]
        yield from grow([*done, [first]], later)
        for i, block in enumerate(done):
            yield from grow([*done[:i], [*block, first], *done[i + 1 :]], later)

    for blocks in grow([], cavities):
        yield tuple(tuple(b) for b in blocks if len(b) > 1)


def block_words(blocks: Blocks) -> str:
    """``C2-1 joined to C2-3``; ``nothing joined`` for no block."""
    return ", ".join(f"{b[0]} joined to {listed(b[1:])}" for b in blocks) or "nothing joined"


def jumpers(terminals: Sequence[str]) -> tuple[Attachment, ...]:
    """A chain of jumper leads through points."""
    return tuple(Attachment("jumper", a, b, JUMPER_OHMS) for a, b in pairwise(terminals))


def listed(words: Sequence[str], joiner: str = "and") -> str:
    """``a, b and c``."""
    return "".join(words) if len(words) < 2 else f"{', '.join(words[:-1])} {joiner} {words[-1]}"


class Joins:
    """Makes cures of what is put between points.

    Parameters
    ----------
    names
        Looks points up; its errors name the claim's line.
    said
        What the claim says of plugs.
    """

    def __init__(self, guarded: Guarded, names: LineConditions, said: Parsed) -> None:
        self.guarded, self.sheet = guarded, guarded.sheet
        self.names, self.said = names, said

    def all_of(self, plug: str) -> list[Cure]:
        """All cavities of a plug joined."""
        return self._joined((self.sheet.connectors[plug].cavities,), plug)

    def pairs(self, plug: str) -> list[Cure]:
        """Every two cavities of a plug joined."""
        two = combinations(self.sheet.connectors[plug].cavities, 2)
        return [c for pair in two for c in self._joined((pair,), plug)]

    def every(self, plug: str) -> list[Cure]:
        """Every way to join cavities of a plug."""
        cavities = self.sheet.connectors[plug].cavities
        if len(cavities) > MOST_EVERY:
            return [*self.pairs(plug), *self.all_of(plug)]
        return [c for blocks in partitions(cavities) if blocks for c in self._joined(blocks, plug)]

    def of_points(self, text: str) -> list[Cure]:
        """Named points joined, or a named part bridged; raises ReadingError."""
        name = re.sub(r"\s+out$", "", text)
        if not canonical_cavity(text) and (called := meant(name, self.guarded)):
            return [
                replace(c, called=called_switch(name, part, self.guarded))
                for part in called
                for c in self.bypassed(part)
            ]
        if plug := plug_of(text, self.guarded):
            return self.every(plug)
        if wrong := no_plug(text, self.guarded):
            raise wrong
        if not _AND.search(text) and absent(name, self.guarded):
            return [not_fitted(name, self.guarded)]
        found = self._points(text)
        plugs = {p.connector for p in found}
        cavities = tuple(p.terminal.rpartition(".")[0] for p in found)
        if len(plugs) == 1 and "" not in plugs and all(p.side != "part" for p in found):
            return self._joined((cavities,), plugs.pop())
        words = f"{found[0].name} joined to {listed([p.name for p in found[1:]])}"
        leads = jumpers([p.terminal for p in found])
        return [Cure(words, "join", leads, touches=tuple(p.name for p in found))]

    def resistors(self, ends: str, ohms: Sequence[float] | None, watts: float | None) -> list[Cure]:
        """A resistor, or any of a ladder, between two points, or between any two cavities of a guard plug."""
        values = ohms or LADDER
        if ends:
            points = self._points(ends)
            pairs = [(a, b) for a, b in pairwise(points)]
        else:
            plugs = [self.sheet.connectors[p].cavities for p in self.guarded.plugs]
            pairs = [(self._cavity(a), self._cavity(b)) for c in plugs for a, b in combinations(c, 2)]
        found = []
        for one, other in pairs:
            for value in values:
                lead = Attachment("resistor", one.terminal, other.terminal, value)
                words = f"{format_quantity(value, 'ohm')} between {one.name} and {other.name}"
                plug = one.connector if one.connector == other.connector else ""
                found += self._plugged(
                    Cure(
                        words,
                        "resistor",
                        (lead,),
                        watts=watts or RESISTOR_WATTS,
                        touches=(one.name, other.name),
                    ),
                    plug,
                )
        return found

    def feeds(self, point: str, volts: float | None, ohms: float | None, black: str) -> list[Cure]:
        """A source, or the battery where `volts` is None, to a point or to any cavity of a guard plug."""
        if point:
            reds = self._points(point, least=1)
        else:
            reds = [self._cavity(c) for p in self.guarded.plugs for c in self.sheet.connectors[p].cavities]
        foot = self.names.point(
            black or ("battery-" if "battery" in self.sheet.parts else "frame"), self.said
        )
        through = f" through {format_quantity(ohms, 'ohm')}" if ohms else ""
        found = []
        for red in reds:
            if volts is None:
                plus = self.names.point("battery+", self.said).terminal
                kind = "resistor" if ohms else "jumper"
                lead = Attachment(kind, plus, red.terminal, ohms or JUMPER_OHMS)
                words = f"battery+ fed to {red.name}{through}"
            else:
                lead = Attachment("source", red.terminal, foot.terminal, max(ohms or 0.0, SOURCE_OHMS), volts)
                words = f"{format_quantity(volts, 'V')} fed to {red.name}{through} against {foot.name}"
            found += self._plugged(Cure(words, "source", (lead,), touches=(red.name,)), red.connector)
        return found

    def bypassed(self, part: str) -> list[Cure]:
        """A part with two ends bridged; for a sensor every join of its plug."""
        item = self._contact(part) or passage(part, self.sheet)
        if item is not None:
            leads = jumpers((item.enter, item.leave))
            warns = unguarded(self.guarded, part, None) if self.sheet.parts[part].kind in FUSES else ()
            what = f"contact of {part}" if item.enter.endswith(".30") else part
            return [Cure(f"{what} bridged", "join", leads, touches=(part,), warns=warns)]
        plugs = [c.name for c in self.sheet.connectors.values() if c.part == part]
        if plugs:
            return [c for p in plugs for c in self.every(p)]
        raise self.names.fail("point", part, "has no two ends to join", "Name the points, such as C2-1 C2-3.")

    def _contact(self, part: str) -> Item | None:
        """Where a run passes the contact of a relay: who bridges a relay means that, not its coil."""
        if self.sheet.parts[part].kind != "relay":
            return None
        items = [i for run in self.sheet.runs.values() for i in run.items if i.part == part]
        return next((i for i in items if i.enter != i.leave and i.enter.endswith(".30")), None)

    def _points(self, text: str, least: int = 2) -> list[Point]:
        chunks: list[str] = []
        for chunk in (c.strip() for c in _AND.split(text) if c.strip()):
            words = re.sub(r"^the\s+", "", chunk, flags=re.I).split()
            single = len(words) > 1 and all(canonical_cavity(w) for w in words)
            chunks += words if single else [" ".join(words)]
        found = [self.names.point(c, self.said) for c in chunks]
        if len(found) < least:
            first = found[0].name if found else "C2-1"
            raise self.names.fail("point", text, "is one point", f"Name two, such as `{first} to frame`.")
        return found

    def _cavity(self, name: str) -> Point:
        return self.names.point(name, self.said)

    def _joined(self, blocks: Blocks, plug: str) -> list[Cure]:
        leads = tuple(j for b in blocks for j in jumpers([f"{c}.machine" for c in b]))
        return self._plugged(
            Cure(block_words(blocks), "join", leads, touches=tuple(c for b in blocks for c in b)), plug
        )

    def _plugged(self, cure: Cure, plug: str) -> list[Cure]:
        """With the plug off and with it on, unless the claim says which."""
        if not plug:
            return [cure]
        off = Cure(
            f"{cure.words}, {plug} unplugged",
            cure.kind,
            cure.attached,
            frozenset({plug}),
            watts=cure.watts,
            touches=cure.touches,
        )
        if self.said.plugs_known:
            return [off if plug in self.said.unplugged else cure]
        on = Cure(
            f"{cure.words}, {plug} plugged", cure.kind, cure.attached, watts=cure.watts, touches=cure.touches
        )
        return [off, on]

"""Metal bodies: the frame, and what is bolted, hinged or strapped to it, each a point of its own."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import TYPE_CHECKING

from backprobe.sheet.document import Mapping, scalars
from backprobe.sheet.findings import Findings
from backprobe.sheet.kind import Registry
from backprobe.sheet.lexicon import bare
from backprobe.sheet.run_text import POSTS, ItemText, canonical_cavity

if TYPE_CHECKING:
    from backprobe.sheet.runs import Wiring

FRAME = "frame"
ENGINE = "engine"
"""The body that an alternator is bolted to, where the sheet has it."""

BODY_WORDS = frozenset(
    {ENGINE, "gearbox", "axle", "cab", "canopy", "boom", "mast", "basket", "bonnet", "deck", "turret", "tank"}
)
"""Bodies that a strap at the end of a run brings along without being declared; common practice, no source."""

_BARE = re.compile(r"^(?:bare|body)\s+(?P<a>.+)$|^(?P<b>.+?)\s+(?:metal|block)$", re.IGNORECASE)


def body_called(text: str, bodies: Collection[str]) -> str | None:
    """The body that is meant: ``engine``, ``bare engine``, ``engine block``, ``body cab``; None for none."""
    folded = " ".join(text.split())
    inner = _BARE.match(folded)
    names = [folded, *([inner["a"] or inner["b"]] if inner else [])]
    return next((b for name in names for b in bodies if b.lower() == name.lower()), None)


def read_bodies(document: Mapping, registry: Registry, findings: Findings) -> tuple[str, ...]:
    """The bodies section: ``bodies: [engine, cab]``."""
    node = document.get("bodies")
    if node is None:
        return ()
    items = scalars(node)
    if items is None:
        findings.add("bodies", "", "is not a list of names", "Write bodies: [engine, cab].", node.line)
        return ()
    found: list[str] = []
    for item in items:
        name = " ".join(item.text.split()).removeprefix("body ").removeprefix("bare ")
        if bare(name).lower() in POSTS or bare(name).lower() == FRAME:
            message, remedy = "is the frame or a post by any other name", "Leave it out: it is always there."
        elif not name or "." in name or canonical_cavity(name) or name.lower() in registry.by_word:
            message, remedy = "is no name for a metal body", "Write such as engine, cab or boom."
        elif body_called(name, found):
            message, remedy = "stands twice", "Keep one."
        else:
            found.append(name)
            continue
        findings.add("bodies", item.text, message, remedy, item.line)
    return tuple(found)


def find_bodies(wiring: Wiring) -> None:
    """Add the bodies that a strap brings along, and make points of all that the runs name."""
    for entries in wiring.runs.values():
        for end, beside in ((entries[:1], entries[1:2]), (entries[-1:], entries[-2:-1])):
            strapped = any(e.text.kind is not None and e.text.kind.name == "strap" for e in beside)
            word = next((body_called(e.text.name, BODY_WORDS) for e in end), None)
            if strapped and word and not wiring.known(word) and not body_called(word, wiring.bodies):
                wiring.bodies.append(word)
    for entry in (e for entries in wiring.runs.values() for e in entries):
        body = body_called(entry.text.text, wiring.bodies)
        if body and entry.text.shape == "thing" and not entry.part:
            entry.text = ItemText(entry.text.text, "post", body)

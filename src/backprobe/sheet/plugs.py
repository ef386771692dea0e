"""Plugs: which cavities each has, which part it belongs to, and in which run a shared cavity is passed."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

from backprobe.sheet.model import Connector

if TYPE_CHECKING:
    from backprobe.sheet.runs import Wiring, Written


def settle_connectors(wiring: Wiring) -> None:
    """Find which part each plug belongs to, and which mention of a cavity passes through it."""
    mentions: dict[str, list[tuple[Written, str, str]]] = {}
    for entries in wiring.runs.values():
        for i, entry in enumerate(entries):
            if entry.text.shape == "cavity":
                before = entries[i - 1].part if i else ""
                after = entries[i + 1].part if i + 1 < len(entries) else ""
                mentions.setdefault(entry.text.name, []).append((entry, before, after))
    owners: dict[str, defaultdict[str, float]] = {}
    cavities: dict[str, list[str]] = {}
    for cavity, seen in mentions.items():
        plug = cavity.rpartition("-")[0]
        cavities.setdefault(plug, []).append(cavity)
        sides = {side for _, before, after in seen for side in (before, after)}
        counter = owners.setdefault(plug, defaultdict(float))
        for side in sides:
            if side and not wiring.drafts[side].kind.joins:
                counter[side] += 1 if wiring.drafts[side].kind.passes else 1.1
        main = next((m for m in seen if not (m[0].first or m[0].last)), seen[0])
        for entry, _, _ in seen:
            entry.branch = entry is not main[0]
    for plug, found in cavities.items():
        declared = wiring.connectors.get(plug)
        guess = _owner(owners[plug], wiring)
        part = (wiring.known(declared.part) or declared.part) if declared and declared.part else guess
        ordered = tuple(sorted(found, key=_cavity_order))
        base = declared or Connector(plug, ordered, part)
        wiring.connectors[plug] = replace(base, cavities=ordered, part=part)
    for plug, connector in list(wiring.connectors.items()):
        if plug not in cavities:
            wiring.findings.add(
                f"connectors.{plug}",
                plug,
                "is on no run",
                "Name its cavities in a run or remove it.",
                connector.line,
            )


def _owner(touches: dict[str, float], wiring: Wiring) -> str:
    """The part that touches most cavities of a plug; a sensor before a controller, then by name."""

    def order(name: str) -> tuple[float, bool, str]:
        return (-touches[name], wiring.drafts[name].kind.name == "controller", name)

    return min(touches, key=order, default="")


def _cavity_order(cavity: str) -> tuple[int, int, str]:
    tail = cavity.rpartition("-")[2]
    return (0, int(tail), "") if tail.isdecimal() else (1, 0, tail)

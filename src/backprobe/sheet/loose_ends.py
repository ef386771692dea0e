"""Loose ends of a sheet: parts on no run, bodies nothing touches, controllers without a way back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from backprobe.sheet.document import field as dotted
from backprobe.sheet.findings import Findings
from backprobe.sheet.model import Run
from backprobe.sheet.parts import Draft
from backprobe.sheet.posts import source_posts
from backprobe.sheet.reach import reached


def report_loose_ends(
    runs: Mapping[str, Run], drafts: Mapping[str, Draft], bodies: Iterable[str], findings: Findings
) -> None:
    """Report every loose end of the finished runs."""
    used = {i.part for r in runs.values() for i in r.items}
    _unused(used, drafts, bodies, findings)
    _floating(runs, drafts, findings)


def _unused(used: set[str], drafts: Mapping[str, Draft], bodies: Iterable[str], findings: Findings) -> None:
    for name, draft in drafts.items():
        if name not in used and name != "battery":
            findings.add(
                dotted("parts", name),
                name,
                "is on no run",
                "Name it where the current meets it, or remove it.",
                draft.line,
            )
    for body in bodies:
        if body not in used:
            findings.add("bodies", body, "is on no run", f"Let a run end at {body}, or leave it out.", 0)


def _floating(runs: Mapping[str, Run], drafts: Mapping[str, Draft], findings: Findings) -> None:
    nodes = {e for r in runs.values() for i in r.items for e in (i.enter, i.leave)}
    negative = reached(runs, source_posts({name: d.kind.name for name, d in drafts.items()})[1])
    for name, draft in drafts.items():
        if draft.kind.name != "controller":
            continue
        grounded = [p for p in draft.pins.values() if p.role == "ground" and f"{name}.{p.name}" in negative]
        if not grounded:
            findings.add(
                dotted("parts", name),
                name,
                "has a floating ground: no run connects it to the battery's negative side",
                f"Add a run such as ground: [{name}.ground, frame].",
                draft.line,
            )
        for pin in draft.pins.values():
            if f"{name}.{pin.name}" not in nodes:
                findings.add(
                    dotted("parts", name, pin.name),
                    pin.name,
                    "is on no run",
                    f"Name {name}.{pin.name} where its wire goes, or remove it.",
                    pin.line,
                )
        high = [
            p for p in draft.pins.values() if p.role == "output" and p.texts.get("side", "high") == "high"
        ]
        if high and "battery" not in draft.pins:
            findings.add(
                dotted("parts", name),
                high[0].name,
                "is a high-side output of a controller without a supply",
                f"Add a run such as power: [battery+, fuse 10 A, {name}.battery].",
                high[0].line or draft.line,
            )

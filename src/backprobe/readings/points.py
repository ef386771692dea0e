"""Points that a lead can touch, by the names a mechanic gives them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from backprobe.sheet.bodies import FRAME, body_called
from backprobe.sheet.findings import nearest
from backprobe.sheet.kinds import registry
from backprobe.sheet.lexicon import DESIGNATION, bare
from backprobe.sheet.model import Item, Sheet
from backprobe.sheet.run_text import canonical_cavity

TWO_ENDED = {"before": 0, "after": 1}
POSTS = {
    "b+": "battery+",
    "bat+": "battery+",
    "battery plus": "battery+",
    "b-": "battery-",
    "bat-": "battery-",
    "battery minus": "battery-",
    "gnd": "frame",
    "earth": "frame",
}
"""What else the posts and the chassis are called; common practice, no source."""
BATTERY = {
    "battery+": "battery.+",
    "battery-": "battery.-",
    "battery+ post": "battery.post +",
    "battery- post": "battery.post -",
}
"""Clamps and posts of the battery: a run meets the clamps, the posts stand inside them."""
CLAMP_MINUTES, POST_MINUTES, METAL_MINUTES = 0.2, 0.6, 0.5
"""To reach a clamp, the post inside one, and metal scratched bright [min]; common practice, no source."""
OFFERED = 4


@dataclass(frozen=True, slots=True)
class Point:
    """A place for a lead.

    Parameters
    ----------
    name
        As shown and typed.
    terminal
        The circuit terminal it is.
    connector
        The plug whose state matters at this point; empty for none.
    side
        ``machine`` or ``part`` for an unplugged cavity, else empty.
    minutes
        Time to get there [min].
    """

    name: str
    terminal: str
    connector: str = ""
    side: str = ""
    minutes: float = 0.5


def _alias_table(sheet: Sheet) -> dict[str, str]:
    table: dict[str, str] = {}
    for name in sheet.parts:
        table[name.lower()] = name
        last = name.split()[-1]
        between = sheet.parts[name].kind == "wire" and " to " in name
        if DESIGNATION.match(last) and not between and not sheet.parts[name].implied:
            table.setdefault(last.lower(), name)
    return table


def find_part(text: str, sheet: Sheet) -> str | None:
    """The full name of the part called `text`, if the sheet has it."""
    table = _alias_table(sheet)
    folded = " ".join(text.split()).lower()
    found = table.get(folded) or table.get(bare(folded).lower())
    if found or " " not in folded:
        return found
    # "LED H3", "valve Y1": any word of its kind before a designation.
    word, _, last = folded.rpartition(" ")
    owner, kind = table.get(last), registry().by_word.get(word)
    return owner if owner and kind and sheet.parts[owner].kind == kind.name else None


def passage(part: str, sheet: Sheet) -> Item | None:
    """Where a run passes a part: its enter and leave terminals in the order of the current."""
    for run in sheet.runs.values():
        for item in run.items:
            if item.part == part and item.enter != item.leave:
                return item
    return None


def find_point(text: str, sheet: Sheet, unplugged: Iterable[str] = ()) -> Point | None:
    """Resolve what a mechanic calls a point: ``C2-3``, ``C5-3 part side``, ``after PTO switch``."""
    words = " ".join(text.split())
    lower = words.lower()
    plain = POSTS.get(lower, bare(words).lower())
    metal = [p for p in _posts_and_bodies(sheet) if p.name == (body_called(words, sheet.bodies) or plain)]
    if metal:
        return metal[0]
    side = ""
    for ending, named in (
        (" part side", "part"),
        (" machine side", "machine"),
        (" harness side", "machine"),
    ):
        if lower.endswith(ending):
            side, words = named, words[: -len(ending)]
    cavity = canonical_cavity(words)
    if cavity and cavity in sheet.parts:
        return _cavity_point(cavity, side, sheet, set(unplugged))
    for word, end in TWO_ENDED.items():
        if lower.startswith(word + " "):
            return _beside(words[len(word) + 1 :], word, end, sheet)
    head, dot, tail = words.rpartition(".")
    owner = find_part(head, sheet) if dot else None
    if owner:
        return _terminal_point(owner, tail.strip(), sheet)
    whole = find_part(words, sheet)
    if whole and sheet.parts[whole].kind == "ring":
        return Point(lug_name(whole), f"{whole}.lug")
    for ending in ("lug", "wire", "metal"):
        owner = find_part(words[: -len(ending)], sheet) if lower.endswith(" " + ending) else None
        if owner and sheet.parts[owner].kind == "ring":
            return Point(lug_name(owner) if ending == "lug" else f"{owner} {ending}", f"{owner}.{ending}")
    if whole and sheet.parts[whole].kind == "splice":
        return Point(whole, f"{whole}.1")
    return None


def lug_name(ring: str) -> str:
    """The lug of a ring as a point; a ring that is called a lug already is not one twice."""
    return ring if "lug" in ring.split() else f"{ring} lug"


def _posts_and_bodies(sheet: Sheet) -> list[Point]:
    """The battery's clamps and posts, where the machine has one, the frame and every other metal body."""
    clamps = BATTERY if "battery" in sheet.parts else {}
    points = [
        Point(name, terminal, minutes=POST_MINUTES if name.endswith("post") else CLAMP_MINUTES)
        for name, terminal in clamps.items()
    ]
    return points + [Point(body, body, minutes=METAL_MINUTES) for body in (FRAME, *sheet.bodies)]


def _cavity_point(cavity: str, side: str, sheet: Sheet, unplugged: set[str]) -> Point:
    plug = cavity.rpartition("-")[0]
    minutes = sheet.connectors[plug].minutes
    if plug in unplugged:
        side = side or "machine"
        return Point(f"{cavity} {side} side", f"{cavity}.{side}", plug, side, minutes)
    return Point(cavity, f"{cavity}.machine", plug, "", minutes)


def _beside(name: str, word: str, end: int, sheet: Sheet) -> Point | None:
    part = find_part(name, sheet)
    item = passage(part, sheet) if part else None
    if item is None:
        return None
    minutes = sheet.parts[item.part].minutes
    return Point(
        f"{word} {item.part}", (item.enter, item.leave)[end], minutes=0.5 if minutes is None else minutes
    )


def _terminal_point(owner: str, terminal: str, sheet: Sheet) -> Point | None:
    part = sheet.parts[owner]
    known = set(registry().by_name[part.kind].terminals) | set(part.pins)
    match = next((t for t in known if t.lower() == terminal.lower()), None)
    return Point(f"{owner}.{match}", f"{owner}.{match}") if match else None


def known_points(sheet: Sheet) -> list[str]:
    """Names to offer when a point is not understood."""
    names = [p.name for p in _posts_and_bodies(sheet)]
    for part in sheet.parts.values():
        if part.kind == "contact":
            names.append(part.name)
        elif part.kind == "ring":
            names.append(lug_name(part.name))
        elif passage(part.name, sheet) and part.kind not in {"wire", "strap"}:
            names += [f"before {part.name}", f"after {part.name}"]
        else:
            names += [f"{part.name}.{p}" for p in part.pins]
    return names


def points_to_offer(text: str, sheet: Sheet) -> str:
    """A remedy for what is no point: the points of the part that was named, else the nearest names."""
    known = [p.name for p in reachable_points(sheet)]
    words = " ".join(text.split())
    near: list[str] = []
    for name in (words, words.rpartition(" ")[0]):
        part = find_part(name, sheet)
        if part and part != "battery" and not near:
            own = [n for n in known if n.endswith(part) or n.startswith((f"{part}.", f"{part} "))]
            tail = words[len(name) :].strip().lower()
            near = [n for n in own if tail and n.lower().endswith(tail)] or own
    if not near and words:
        said = set(words.lower().split())
        near = [n for n in known if n.startswith(tuple(TWO_ENDED)) and said & set(n.lower().split()[1:])]
    shown = " or ".join(f"'{n}'" for n in near[:OFFERED])
    return f"Did you mean {shown}?" if shown else nearest(text, known)


def reachable_points(sheet: Sheet, unplugged: Iterable[str] = ()) -> list[Point]:
    """Every point that a lead can reach, given what is unplugged; the plainest name for each.

    A terminal inside a plugged connector cannot be touched; the cavity's rear stands for it.
    """
    off = set(unplugged)
    points = _posts_and_bodies(sheet)
    covered = _covered(sheet)
    for connector in sheet.connectors.values():
        for cavity in connector.cavities:
            sides = ("machine", "part") if connector.name in off else ("",)
            points += [_cavity_point(cavity, side, sheet, off) for side in sides]
    for part in sheet.parts.values():
        points += [p for p in _part_points(part.name, sheet) if p.terminal not in covered]
    return points


def _covered(sheet: Sheet) -> set[str]:
    """Terminals that sit directly on the part side of a cavity: no lead can reach them."""
    found: set[str] = set()
    for run in sheet.runs.values():
        for one, other in zip(run.items, run.items[1:], strict=False):
            for cavity, beside in ((one.leave, other.enter), (other.enter, one.leave)):
                name, _, side = cavity.rpartition(".")
                if side == "part" and name in sheet.parts and sheet.parts[name].kind == "contact":
                    found.add(beside)
    return found


def _part_points(name: str, sheet: Sheet) -> list[Point]:
    part = sheet.parts[name]
    minutes = part.minutes
    if minutes is None:
        minutes = registry().by_name[part.kind].minutes
    if part.kind == "ring":
        return [
            Point(lug_name(name), f"{name}.lug", minutes=minutes),
            Point(f"{name} wire", f"{name}.wire", minutes=minutes),
        ]
    if part.kind in {"wire", "strap", "contact", "battery"}:
        return []
    if part.kind == "splice":
        return [Point(name, f"{name}.1", minutes=minutes)]
    item = passage(name, sheet)
    if item is not None and part.kind != "relay":
        return [
            Point(f"before {name}", item.enter, minutes=minutes),
            Point(f"after {name}", item.leave, minutes=minutes),
        ]
    used = {e for run in sheet.runs.values() for i in run.items for e in (i.enter, i.leave)}
    terminals = [*registry().by_name[part.kind].terminals, *part.pins]
    return [Point(f"{name}.{t}", f"{name}.{t}", minutes=minutes) for t in terminals if f"{name}.{t}" in used]

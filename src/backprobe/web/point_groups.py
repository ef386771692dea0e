"""Points of a sheet in groups, for a list on a phone: by plug, by kind, the nearest first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from backprobe.readings.model import Reading
from backprobe.readings.points import Point, reachable_points
from backprobe.sheet.model import Sheet
from backprobe.web.texts import N_, Texts

NEIGHBOURS = 2
"""How many points to either side along a run are near one."""
MOST_NEAR = 8
NEAR = N_("near the last reading")
POSTS = N_("battery, frame")
PARTS = N_("fuses, switches, parts")
JOINTS = N_("rings, splices")
JOINT_KINDS = frozenset({"ring", "splice"})
RETURN = "battery-"


@dataclass(frozen=True, slots=True)
class PointGroup:
    """Points under one heading.

    Parameters
    ----------
    label
        In the reader's words.
    points
        Names, as they are typed.
    """

    label: str
    points: tuple[str, ...]


def point_groups(sheet: Sheet, readings: Sequence[Reading], spoken: Texts) -> list[PointGroup]:
    """All points: those near what was read last, then by plug, battery and frame, parts, joints.

    Last come both sides of every plug that is on; of one that was off at the last reading they stand with it.

    Parameters
    ----------
    readings
        What was read, in order.
    """
    placed = [r for r in readings if r.red_name and r.black_name]
    off = placed[-1].setup.unplugged if placed else frozenset()
    points = reachable_points(sheet)
    near = near_points(sheet, placed[-1], points) if placed else []
    found = [PointGroup(spoken.gettext(NEAR), tuple(near))]
    posts: list[str] = []
    parts: list[str] = []
    joints: list[str] = []
    by_plug: dict[str, list[str]] = {name: [] for name in sheet.connectors}
    for point in points:
        owner = point.terminal.rpartition(".")[0]
        kind = sheet.parts[owner].kind if owner in sheet.parts else ""
        if point.connector:
            by_plug[point.connector].append(point.name)
        elif owner == "battery" or not kind:
            posts.append(point.name)
        else:
            (joints if kind in JOINT_KINDS else parts).append(point.name)
    for name, cavities in by_plug.items():
        if name in off:
            found.append(_open_plug(name, sheet, spoken))
        found.append(PointGroup(_plug_label(name, sheet), tuple(cavities)))
    found += [
        PointGroup(spoken.gettext(label), tuple(names))
        for label, names in ((POSTS, posts), (PARTS, parts), (JOINTS, joints))
    ]
    found += [_open_plug(name, sheet, spoken) for name in sheet.connectors if name not in off]
    return [group for group in found if group.points]


def near_points(sheet: Sheet, last: Reading, points: Iterable[Point]) -> list[str]:
    """Where the leads were last, what lies beside that along the runs, and the battery's return."""
    known = {p.terminal: p.name for p in points}
    at = [_cavity(name) for name in (last.red_name, last.black_name)]
    beside: list[str] = []
    for run in sheet.runs.values():
        row: list[str] = []
        for item in run.items:
            ends = (f"{item.part}.machine",) if item.role == "cavity" else (item.enter, item.leave)
            row += [known[t] for t in dict.fromkeys(ends) if t in known]
        for name in at:
            # Every run comes back to the battery and the frame: what lies beside these is near nothing.
            if name in row and name not in (known.get("battery.-"), known.get("battery.+")):
                k = row.index(name)
                beside += row[max(0, k - NEIGHBOURS) : k + NEIGHBOURS + 1]
    names = set(known.values())
    order = dict.fromkeys([last.red_name, last.black_name, RETURN, *beside])
    return [n for n in order if n in names or n in (last.red_name, last.black_name)][:MOST_NEAR]


def _cavity(name: str) -> str:
    return name.removesuffix(" machine side").removesuffix(" part side")


def _plug_label(name: str, sheet: Sheet) -> str:
    part = sheet.connectors[name].part
    return f"{name}: {part}" if part else name


def _open_plug(name: str, sheet: Sheet, spoken: Texts) -> PointGroup:
    sides = tuple(f"{c} {side} side" for c in sheet.connectors[name].cavities for side in ("machine", "part"))
    return PointGroup(spoken.gettext("{plug} unplugged").format(plug=name), sides)

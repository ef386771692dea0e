"""What a sketch leaves out: the wire between two things, the lug on the frame, the battery's return."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby, pairwise

from backprobe.sheet.bodies import ENGINE, FRAME
from backprobe.sheet.kind import Registry
from backprobe.sheet.model import Connector, Item, Run
from backprobe.sheet.parts import Draft
from backprobe.sheet.posts import BATTERY, MINUS, PLUS
from backprobe.sheet.reach import reached


@dataclass(slots=True)
class Implied:
    """Makes explicit what a run implies; new parts are added to `drafts`.

    Parameters
    ----------
    free
        Gives a name that no part has yet.
    learn
        Makes a new part's name known.
    bodies
        Metal bodies beside the frame.
    """

    registry: Registry
    drafts: dict[str, Draft]
    connectors: Mapping[str, Connector]
    free: Callable[[str], str]
    learn: Callable[[str], None]
    bodies: Collection[str] = ()

    def between(self, one: Item, other: Item, line: int) -> list[Item]:
        """What lies between two neighbours of a run: a wire, a lug, both or nothing."""
        items: list[Item] = []
        if self._is_metal(one.leave) and self._is_metal(other.enter):
            return [] if one.leave == other.enter else [self._strap(one.leave, other.enter)]
        if self._needs_wire(one.leave, other.enter):
            name = f"wire {spoken(one.leave)} to {spoken(other.enter)}"
            if name in self.drafts:
                name = self.free(name)
            self.drafts[name] = Draft(name, self.registry.by_name["wire"], line, implied=True)
            self.learn(name)
            items.append(Item(name, name, f"{name}.1", f"{name}.2", "part"))
        frame_end = self._is_metal(other.enter) or self._is_metal(one.leave)
        beside = one if self._is_metal(other.enter) else other
        if frame_end and not self._is_joint(beside.leave if beside is one else beside.enter):
            name = self.free(f"ground lug of {spoken(beside.leave if beside is one else beside.enter)}")
            self.drafts[name] = Draft(name, self.registry.by_name["ring"], line, implied=True)
            self.learn(name)
            ends = ("wire", "metal") if beside is one else ("metal", "wire")
            lug = Item(name, name, f"{name}.{ends[0]}", f"{name}.{ends[1]}", "part")
            items = [*items, lug] if beside is one else [lug, *items]
        return items

    def _is_joint(self, node: str) -> bool:
        """Whether a node is the metal of a lug, a strap's end or a metal body itself."""
        owner, _, terminal = node.rpartition(".")
        if self._is_metal(node) or owner == "battery":
            return True
        kind = self.drafts[owner].kind.name if owner in self.drafts else ""
        return kind == "strap" or (kind == "ring" and terminal == "metal") or terminal in {"case"}

    def _needs_wire(self, one: str, other: str) -> bool:
        if one == other:
            return False
        if self._conducts(one) or self._conducts(other):
            return False
        # A cavity's part side sits on its part: the pin is inside the plug.
        return not (self._on_part(one, other) or self._on_part(other, one))

    def _conducts(self, node: str) -> bool:
        owner, _, terminal = node.rpartition(".")
        if owner in self.drafts:
            kind = self.drafts[owner].kind.name
            return kind in {"wire", "strap"} or (kind == "ring" and terminal != "wire") or terminal == "case"
        return False

    def _on_part(self, cavity: str, other: str) -> bool:
        name, _, side = cavity.rpartition(".")
        if side != "part" or name not in self.drafts or self.drafts[name].kind.name != "contact":
            return False
        return other.rpartition(".")[0] == self.connectors[name.rpartition("-")[0]].part

    def _is_metal(self, node: str) -> bool:
        return node == FRAME or node in self.bodies

    def _strap(self, one: str, other: str) -> Item:
        """A strap that nobody drew, from one piece of metal to another."""
        return self._named_strap(self.free(f"strap {one} to {other}"))

    def _named_strap(self, name: str) -> Item:
        self.drafts[name] = Draft(name, self.registry.by_name["strap"], 0, implied=True)
        self.learn(name)
        return Item(name, name, f"{name}.1", f"{name}.2", "part")

    def returns(self, done: dict[str, Run]) -> None:
        """What brings the current back and is seldom drawn: mounts, body straps, the battery's strap.

        A machine without a battery loses the one that every sheet begins with.
        """
        self._mount_alternators(done)
        self._body_straps(done)
        if not self._drop_idle_battery(done):
            self._battery_strap(done)

    def _mount_alternators(self, done: dict[str, Run]) -> None:
        """An alternator whose case is on no run is bolted to the engine, or else to the frame."""
        used = terminals_of(done)
        linked = {e for run in done.values() for a, b in pairwise(run.items) for e in (a.leave, b.enter)}
        for name, draft in list(self.drafts.items()):
            case = f"{name}.case"
            if draft.kind.name == "alternator" and f"{name}.stud" in used and case not in linked:
                body = ENGINE if ENGINE in self.bodies else FRAME
                items = (Item(case, name, case, case, "point"), metal_item(body))
                done[f"{name} mount"] = Run(f"{name} mount", items)

    def _body_straps(self, done: dict[str, Run]) -> None:
        """A body that no drawn conductor joins to the frame or the battery is strapped to the frame."""
        for body in self.bodies:
            if body in terminals_of(done) and not self._joined(body, done):
                strap = self._strap(body, FRAME)
                done[f"{body} return"] = Run(f"{body} return", (metal_item(body), strap, metal_item(FRAME)))

    def _joined(self, body: str, done: Mapping[str, Run]) -> bool:
        """Whether conductors and joints alone lead from a body to the frame or to battery-."""
        only = {
            name: Run(name, piece)
            for run in done.values()
            for name, piece in _pieces(run, self._is_joint_item)
        }
        return not reached(only, body).isdisjoint({FRAME, MINUS})

    def _is_joint_item(self, item: Item) -> bool:
        if item.role == "point":
            return self._is_metal(item.enter) or item.enter == MINUS
        draft = self.drafts.get(item.part)
        return draft is not None and draft.kind.joins

    def _drop_idle_battery(self, done: Mapping[str, Run]) -> bool:
        """Whether the machine has no battery: no run meets one, and an alternator feeds the runs."""
        used = terminals_of(done)
        feeds = any(f"{n}.stud" in used for n, d in self.drafts.items() if d.kind.name == "alternator")
        if not feeds or not self.drafts[BATTERY].implied or used & {PLUS, MINUS}:
            return False
        del self.drafts[BATTERY]
        return True

    def _battery_strap(self, done: dict[str, Run]) -> None:
        """Add the strap from frame to battery when no run draws the battery's return."""
        used = terminals_of(done)
        if MINUS in used or FRAME not in used:
            return
        strap = self._named_strap("battery ground strap")
        post = Item("battery-", BATTERY, MINUS, MINUS, "point")
        done["battery return"] = Run("battery return", (metal_item(FRAME), strap, post))


def terminals_of(runs: Mapping[str, Run]) -> set[str]:
    """Every terminal that some run meets."""
    return {e for run in runs.values() for item in run.items for e in (item.enter, item.leave)}


def metal_item(body: str) -> Item:
    """A metal body as an item of a run."""
    return Item(body, body, body, body, "point")


def _pieces(run: Run, keep: Callable[[Item], bool]) -> Iterator[tuple[str, tuple[Item, ...]]]:
    """Stretches of a run whose items are all to be kept."""
    for number, (kept, group) in enumerate(groupby(run.items, keep)):
        if kept:
            yield f"{run.name} {number}", tuple(group)


def spoken(node: str) -> str:
    """A node as said aloud: the part alone where it has two ends, else part and terminal."""
    owner, _, terminal = node.rpartition(".")
    if node in {"battery.+", "battery.-"}:
        return f"battery{terminal}"
    if terminal in {"machine", "part", "1", "2", "wire", "metal", "85", "86", "30", "87", "anode", "cathode"}:
        return owner
    return f"{owner} {terminal}" if owner else node

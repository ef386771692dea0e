"""What a sketch leaves out: the wire between two things, the lug on the frame, the battery's return."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from backprobe.sheet.kind import Registry
from backprobe.sheet.model import Connector, Item, Run
from backprobe.sheet.parts import Draft


@dataclass(slots=True)
class Implied:
    """Makes explicit what a run implies; new parts are added to `drafts`.

    Parameters
    ----------
    free
        Gives a name that no part has yet.
    learn
        Makes a new part's name known.
    """

    registry: Registry
    drafts: dict[str, Draft]
    connectors: Mapping[str, Connector]
    free: Callable[[str], str]
    learn: Callable[[str], None]

    def between(self, one: Item, other: Item, line: int) -> list[Item]:
        """What lies between two neighbours of a run: a wire, a lug, both or nothing."""
        items: list[Item] = []
        if self._needs_wire(one.leave, other.enter):
            name = f"wire {spoken(one.leave)} to {spoken(other.enter)}"
            if name in self.drafts:
                name = self.free(name)
            self.drafts[name] = Draft(name, self.registry.by_name["wire"], line, implied=True)
            self.learn(name)
            items.append(Item(name, name, f"{name}.1", f"{name}.2", "part"))
        frame_end = other.enter == "frame" or one.leave == "frame"
        beside = one if other.enter == "frame" else other
        if frame_end and not self._is_joint(beside.leave if beside is one else beside.enter):
            name = self.free(f"ground lug of {spoken(beside.leave if beside is one else beside.enter)}")
            self.drafts[name] = Draft(name, self.registry.by_name["ring"], line, implied=True)
            self.learn(name)
            ends = ("wire", "metal") if beside is one else ("metal", "wire")
            lug = Item(name, name, f"{name}.{ends[0]}", f"{name}.{ends[1]}", "part")
            items = [*items, lug] if beside is one else [lug, *items]
        return items

    def _is_joint(self, node: str) -> bool:
        """Whether a node is the metal of a lug, a strap's end or the frame itself."""
        owner, _, terminal = node.rpartition(".")
        if node == "frame" or owner == "battery":
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

    def return_strap(self, done: dict[str, Run]) -> None:
        """Add the strap from frame to battery when no run draws the battery's return."""
        ends = {e for run in done.values() for item in run.items for e in (item.enter, item.leave)}
        if "battery.-" in ends or "frame" not in ends:
            return
        self.drafts["battery ground strap"] = Draft(
            "battery ground strap", self.registry.by_name["strap"], 0, implied=True
        )
        self.learn("battery ground strap")
        strap = Item(
            "battery ground strap",
            "battery ground strap",
            "battery ground strap.1",
            "battery ground strap.2",
            "part",
        )
        frame = Item("frame", "frame", "frame", "frame", "point")
        post = Item("battery-", "battery", "battery.-", "battery.-", "point")
        done["battery return"] = Run("battery return", (frame, strap, post))


def spoken(node: str) -> str:
    """A node as said aloud: the part alone where it has two ends, else part and terminal."""
    owner, _, terminal = node.rpartition(".")
    if node in {"battery.+", "battery.-"}:
        return f"battery{terminal}"
    if terminal in {"machine", "part", "1", "2", "wire", "metal", "85", "86", "30", "87"}:
        return owner
    return f"{owner} {terminal}" if owner else node

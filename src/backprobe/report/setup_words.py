"""A setup in words: positions in the order of the sheet, plugs, and what is attached."""

from __future__ import annotations

from backprobe.circuit.setup import Setup
from backprobe.report.layout import listed
from backprobe.sheet.latches import SET
from backprobe.sheet.model import Latch, Sheet


def setup_words(setup: Setup, sheet: Sheet) -> str:
    """The setup as one line, such as ``key on, gate shut, all plugged``."""
    return ", ".join(parts_of(setup, sheet)) or "as it stands"


def parts_of(setup: Setup, sheet: Sheet) -> list[str]:
    """The setup piece by piece: each control, each plug that is off, each attachment."""
    state = dict(setup.state)
    parts = [f"{name} {state[name]}" for name in sheet.controls if name in state]
    if setup.unplugged:
        parts += [off_words(name, sheet) for name in sorted(setup.unplugged)]
    elif sheet.connectors:
        parts.append("all plugged")
    for a in setup.attached:
        ends = f"{_point(a.red)} to {_point(a.black)}"
        parts.append(f"{a.what} at the face of {a.red}" if a.kind == "target" else f"{a.kind} from {ends}")
    return parts


def change_words(before: Setup, after: Setup, sheet: Sheet) -> str:
    """What has to be changed to get from one setup to another; empty when nothing."""
    old, new = dict(before.state), dict(after.state)
    moved = [name for name in sheet.controls if old.get(name) != new.get(name)]
    parts = [f"{name} to {new[name]}" for name in moved if name not in sheet.latches]
    off = sorted(after.unplugged - before.unplugged)
    back = sorted(before.unplugged - after.unplugged)
    words = [latch_words(sheet.latches[name], new[name]) for name in moved if name in sheet.latches]
    words += [f"put {listed(parts)}"] if parts else []
    words += [f"take off {listed(off)}"] if off else []
    words += [f"put back {listed(back)}"] if back else []
    return ", ".join(words)


def latch_words(latch: Latch, position: str) -> str:
    """What to do first, so that a latch is set or clear."""
    if position == SET:
        return f"first set {latch.name}: {listed([f'{s.control} {s.position}' for s in latch.by])}, then back"
    return f"first clear {latch.name}" + (f": until {latch.clears}" if latch.clears else "")


def off_words(name: str, sheet: Sheet) -> str:
    """``C5 unplugged``, ``fuse F1 out``."""
    return f"{name} unplugged" if name in sheet.connectors else f"{name} out"


def _point(terminal: str) -> str:
    """A terminal in the words of a point."""
    for ending in (".machine", ".part"):
        if terminal.endswith(ending):
            side = "" if ending == ".machine" else " part side"
            return terminal.removesuffix(ending) + side
    return {"battery.+": "battery+", "battery.-": "battery-"}.get(terminal, terminal)

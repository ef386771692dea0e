"""What was done before a setup: the setup in which its latches were set."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from backprobe.circuit.setup import Setup
from backprobe.sheet.anatomy import Memory
from backprobe.sheet.latches import CLEAR, SET
from backprobe.sheet.logic import atoms, conjuncts, parse_rule
from backprobe.sheet.model import Latch, Sheet


def setup_before(sheet: Sheet, setup: Setup) -> Setup | None:
    """The setup just before this one, while the last of its set latches was being set; None without any.

    The operator did what sets the latch, with the guards of what it releases shut; everything else
    stood as it stands now. Where several latches are set, they were set one after the other.
    """
    state = dict(setup.state)
    done = [latch for latch in sheet.latches.values() if state.get(latch.name) == SET]
    if not done:
        return None
    last = done[-1]
    state |= guard_state(sheet, last) | {s.control: s.position for s in last.by} | {last.name: CLEAR}
    return Setup(tuple(sorted(state.items())), setup.unplugged, setup.attached)


def guard_state(sheet: Sheet, latch: Latch) -> dict[str, str]:
    """Where the controls stand that guard the functions which a latch releases."""
    found: dict[str, str] = {}
    for function in sheet.functions.values():
        if not function.guard or not function.releases:
            continue
        if any(a.subject == latch.name for a in atoms(parse_rule(function.releases))):
            asked = conjuncts(parse_rule(function.guard))
            found |= {a.subject: a.meaning for a in asked if a.subject in sheet.controls}
    return found


def memories(sheet: Sheet, devices: Collection[str]) -> Iterator[Memory]:
    """One device for each latch that a controller keeps; it forgets when its controller loses power.

    Parameters
    ----------
    devices
        Keys of the devices that the parts have; a controller without a supply drawn has none for it.
    """
    boxes = [p for p in sheet.parts.values() if p.kind == "controller"]
    for latch in sheet.latches.values():
        if not latch.sets:
            continue
        named = {a.subject for rule in (latch.sets, latch.clears) for a in atoms(parse_rule(rule))}
        owner = next((b for b in boxes if named & set(b.pins)), boxes[0] if boxes else None)
        power = f"{owner.name}.powered" if owner else ""
        yield Memory(memory_key(latch.name), latch.name, power if power in devices else "")


def memory_key(latch: str) -> str:
    """Key of the device that is true while a latch is set."""
    return f"{latch}.latch"

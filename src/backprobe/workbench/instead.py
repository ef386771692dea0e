"""What is measured in place of a bridge over a guard: it tells the same, and the guard stays as it is."""

from __future__ import annotations

from backprobe.readings.points import passage
from backprobe.workbench.claim import Cure, Guarded
from backprobe.workbench.verdict import HOLDS

TWO = 2


def instead_words(cure: Cure, guarded: Guarded) -> str:
    """The measurement that tells what a made-up guard signal would; empty where no guard is made up."""
    near = guarded.touched(cure) if cure.kind in HOLDS else ()
    if not near:
        return ""
    if where := _across(cure, near, guarded):
        return (
            f"It tells the same: measure volts {where} with the guard truly shut and the key where "
            "it fails. Nearly the battery's volts: it is open there. Next to none: they are lost elsewhere."
        )
    part = next((p for p in guarded.parts if p in near or _plug_of(p, guarded) & set(near)), "")
    signal = f"the signal of {part}" if part else near[0]
    black = "battery-" if "battery" in guarded.sheet.parts else "frame"
    return (
        f"It tells more: measure volts from {signal} to {black} with the plug on, once with the guard "
        "shut and once with it open."
    )


def _across(cure: Cure, near: tuple[str, ...], guarded: Guarded) -> str:
    """``across seat switch`` or ``from C7-1 to C7-2``, where two leads see the whole of it."""
    if len(near) == 1 and passage(near[0], guarded.sheet) is not None and near[0] in guarded.parts:
        return f"across {near[0]}"
    if cure.kind == "join" and len(cure.touches) == TWO and not guarded.told:
        return f"from {cure.touches[0]} to {cure.touches[1]}"
    return ""


def _plug_of(part: str, guarded: Guarded) -> set[str]:
    return {c for plug in guarded.sheet.connectors.values() if plug.part == part for c in plug.cavities}

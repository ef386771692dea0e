"""What lies behind the contact of a relay: it is asked only once the relay clicks."""

from __future__ import annotations

from backprobe.sheet.model import Sheet


def relay_before(part: str, sheet: Sheet) -> str:
    """The relay through whose contact a part gets its current; empty for none."""
    for run in sheet.runs.values():
        names = [i.part for i in run.items]
        if part not in names:
            continue
        for item in run.items[: names.index(part)]:
            own = sheet.parts.get(item.part)
            if item.part != part and own and own.kind == "relay" and item.enter.endswith(".30"):
                return item.part
    return ""


def loose_relays(sheet: Sheet) -> tuple[str, ...]:
    """Relays whose contact is drawn on no run: what they switch is not on the sheet."""
    drawn = {i.part for run in sheet.runs.values() for i in run.items if i.enter.endswith(".30")}
    return tuple(p.name for p in sheet.parts.values() if p.kind == "relay" and p.name not in drawn)

"""A battery typed in a run, ``battery 24 V > ...``: where the run begins, and the machine's volts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from backprobe.errors import Problem, UnitError
from backprobe.sheet.findings import Findings
from backprobe.sheet.kinds import registry
from backprobe.sheet.model import Sheet
from backprobe.sheet.open_ends import line_of
from backprobe.sheet.parts import Draft
from backprobe.sheet.posts import BATTERY
from backprobe.sheet.run_text import ItemText, read_item
from backprobe.units import Toleranced

SYSTEMS = (12.0, 24.0, 36.0, 48.0)
"""Nominal volts of machines [V]."""
LEAST, MOST = 0.7, 1.3
"""Share of its machine's nominal volts that a battery may have [1]; common practice, no source."""
_POSTS = ("battery+", "battery-")


def typed_volts(items: Iterable[str]) -> Toleranced | None:
    """The battery's volts that some item of a run says; None where none does, or it cannot be read."""
    for item in items:
        if BATTERY not in item.lower():
            continue
        try:
            text = read_item(item, registry())
        except UnitError:
            continue
        if text.name in {BATTERY, *_POSTS}:
            for value in text.values:
                if value.unit == "V":
                    return value
    return None


def system_of(items: Iterable[str], system_volts: float) -> float:
    """Nominal volts of the machine [V] after the battery that its runs say.

    Parameters
    ----------
    items
        All things of all runs.
    system_volts
        Taken where no battery is said, where it fits the one that is, and where no machine fits that [V].
    """
    said = typed_volts(items)
    if said is None or fits(said.value, system_volts):
        return system_volts
    nearest = min(SYSTEMS, key=lambda volts: abs(volts - said.value))
    return nearest if fits(said.value, nearest) else system_volts


def fits(battery_volts: float, system_volts: float) -> bool:
    """Whether a battery of a machine of these nominal volts [V] may have these [V]."""
    return LEAST <= battery_volts / system_volts <= MOST


def other_battery(sheet: Sheet) -> tuple[Problem, ...]:
    """A battery that is not its machine's, with both volts: everything reckoned from it would be wrong."""
    battery = sheet.parts.get(BATTERY)
    if battery is None or fits(battery.values["volts"].nominal, sheet.system_volts):
        return ()
    said = f"{battery.values['volts'].nominal:g} V"
    message = f"does not fit a system of {sheet.system_volts:g} V"
    remedy = "Correct one of them: the battery's volts, or the machine's (`system`)."
    passed = (line_of(r, sheet) for r in sheet.runs.values() if any(i.part == BATTERY for i in r.items))
    line = battery.line or next(passed, 0)
    return (Problem("parts.battery.volts", said, message, remedy, sheet.file, line),)


def take_volts(draft: Draft, text: ItemText, system_volts: float, findings: Findings, line: int) -> None:
    """Values said in a run. A ``battery 24 V`` on a 24 V machine is called so; a meter shows more, rested."""
    for value in text.values:
        named = (
            draft.name == BATTERY
            and value.unit == "V"
            and value.value == system_volts
            and not value.given
            and value.digit >= 1
        )
        if not named:
            draft.take_inline(value, findings, line)


def post_of(place: int, run: Sequence[ItemText]) -> str:
    """The post at which a run meets the battery that stands at its begin or end; empty where it passes it."""
    if place == 0:
        return "+"
    charges = "alternator" in run[0].name
    return "" if place < len(run) - 1 else "+" if charges else "-"

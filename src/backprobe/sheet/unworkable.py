"""Sheets that no job is opened on: whatever was read would be reckoned from a circuit that cannot be so."""

from __future__ import annotations

from backprobe.errors import Problem, SheetError
from backprobe.sheet.battery_typed import other_battery
from backprobe.sheet.model import Sheet
from backprobe.sheet.open_ends import open_ends


def unworkable(sheet: Sheet) -> tuple[Problem, ...]:
    """Runs that end in the air, and a battery that is not its machine's, each with what mends it."""
    return (*open_ends(sheet), *other_battery(sheet))


def refuse_unworkable(sheet: Sheet) -> None:
    """Refuse a sheet that no job is opened on.

    Raises
    ------
    SheetError
        With everything of the kind at once.
    """
    if problems := unworkable(sheet):
        raise SheetError(*problems)

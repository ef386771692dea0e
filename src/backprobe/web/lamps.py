"""What can be seen of a machine's lamps and heard of its codes, as reading lines."""

from __future__ import annotations

from backprobe.sheet.functions import inputs_of
from backprobe.sheet.model import Sheet

PLAIN = ("lit", "dim", "dark")
LAMP_KINDS = frozenset({"lamp", "LED indicator"})


def lamp_words(sheet: Sheet) -> tuple[str, ...]:
    """Every lamp in every pattern, such as ``gate lamp 3 flashes``."""
    found: list[str] = []
    for name, patterns in sheet.lamps.items():
        shown = dict.fromkeys([*(p for p, _ in patterns), "dark"])
        found += [f"{name} {pattern}" for pattern in shown]
    plain = [p.name for p in sheet.parts.values() if p.kind in LAMP_KINDS and p.name not in sheet.lamps]
    return tuple([*found, *(f"{name} {pattern}" for name in plain for pattern in PLAIN)])


def code_words(sheet: Sheet) -> tuple[str, ...]:
    """Every input in each of its bands, as a controller's display names it."""
    return tuple(f"{name} shows {band}" for name, bands in inputs_of(sheet).items() for band in bands)

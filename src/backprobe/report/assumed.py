"""How much of a sheet is measured, published, assumed or a mere default."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from backprobe.report.layout import count
from backprobe.sheet.anatomy import Origins, Value
from backprobe.sheet.model import Sheet


def values_of(sheet: Sheet) -> Iterator[Value]:
    """Every value of a sheet, pins and levels included."""
    for part in sheet.parts.values():
        yield from part.values.values()
        yield from part.levels.values()
        for pin in part.pins.values():
            yield from pin.values.values()


def origin_counts(sheet: Sheet) -> dict[str, int]:
    """How many values come from where, in the order of trust."""
    found = Counter(v.origin.kind for v in values_of(sheet))
    return {kind: found[kind] for kind in Origins}


def assumed_words(sheet: Sheet) -> str:
    """One sentence on what the verdict leans on, with the first open question."""
    counts = origin_counts(sheet)
    total, backed = sum(counts.values()), counts["measured"] + counts["published"]
    words = f"It leans on assumed values: {backed} of {count(total, 'value')} measured or published."
    if backed == total:
        words = "All its values are measured or published."
    return f"{words} Worth knowing: {sheet.unknown[0]}" if sheet.unknown else words

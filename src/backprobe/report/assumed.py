"""How much of a sheet is measured, published, assumed or a mere default."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from backprobe.report.layout import count
from backprobe.sheet.anatomy import Origins, Value
from backprobe.sheet.model import Sheet

TYPED = "as written"
"""How the reason begins of a value that somebody wrote without saying where it is from."""


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


def origin_words(sheet: Sheet, joint: str = ", ") -> str:
    """``1 measured, 3 typed, 31 defaults``: a value that somebody typed is no default."""
    counts = origin_counts(sheet)
    typed = sum(v.origin.kind == "assumed" and v.origin.note.startswith(TYPED) for v in values_of(sheet))
    kinds = {"measured": counts["measured"], "published": counts["published"], "typed": typed}
    kinds["assumed"] = counts["assumed"] - typed
    said = [f"{n} {word}" for word, n in kinds.items() if n]
    return joint.join(said + ([count(counts["default"], "default")] if counts["default"] else []))


def assumed_words(sheet: Sheet) -> str:
    """One sentence on what the verdict leans on, with the first open question."""
    counts = origin_counts(sheet)
    words = "All its values are measured or published."
    if counts["assumed"] + counts["default"]:
        words = f"Of {count(sum(counts.values()), 'value')} it leans on: {origin_words(sheet, '; ')}."
    return f"{words} Worth knowing: {sheet.unknown[0]}" if sheet.unknown else words

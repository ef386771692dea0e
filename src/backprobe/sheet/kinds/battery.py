"""Battery: a source with its own resistance."""

from __future__ import annotations

from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind


def build(p: PartBuilder) -> None:
    """One source from post to post, its volts and resistance free to be weak."""
    volts = p.parameter("volts", p.value("volts"))
    _, ohms = p.source("cell", "+", "-", volts, p.value("resistance"))
    scale = p.system_volts / 12
    nominal = p.value("resistance").nominal
    p.fault(
        "weak under load",
        {ohms: tuple(nominal * k for k in (5.0, 15.0, 50.0, 150.0, 500.0))},
        rate=2.0,
        why="source too weak: 3 of 62 field accounts, shared with low charge",
        spread=0.55,
        repair="load-test the battery and its posts, charge or replace it",
        minutes=30,
        cost=120,
        family="source",
    )
    p.fault(
        "low charge",
        {volts: tuple(scale * v for v in (11.3, 10.5, 9.5, 8.0, 6.0))},
        rate=1.5,
        why="source too weak: 3 of 62 field accounts, shared with a weak battery",
        repair="charge the battery, find what drained it, test it again",
        minutes=60,
        family="source",
    )


KIND = Kind(
    name="battery",
    terminals=("+", "-"),
    passes={"": ("-", "+")},
    fields=(
        FieldSpec(
            "volts",
            "V",
            (12.6, 11.9, 13.3),
            "rested to lightly charged lead-acid; common practice, no source",
            scales="volts",
        ),
        FieldSpec(
            "resistance",
            "ohm",
            (0.02, 0.01, 0.04),
            "battery, posts and clamps of a small machine; common practice, no source",
        ),
    ),
    build=build,
    about="The source. Every run that starts at battery+ meets it.",
)

"""Alternator: a regulated source with its own resistance and its own case as return."""

from __future__ import annotations

from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind


def build(p: PartBuilder) -> None:
    """One source from case to stud."""
    volts = p.parameter("volts", p.value("volts"))
    p.source("stator", "stud", "case", volts, p.value("resistance"))
    scale = p.system_volts / 12
    p.fault(
        "charges low",
        {volts: tuple(scale * v for v in (13.3, 12.8, 12.4))},
        rate=2.0,
        why="battery, charging or source too weak: 3 of 62 field accounts",
        repair="test the alternator and its regulator on the machine, then on the bench",
        minutes=60,
        cost=180,
        family="source",
    )


KIND = Kind(
    name="alternator",
    terminals=("stud", "case"),
    passes={"": ("case", "stud")},
    fields=(
        FieldSpec(
            "volts",
            "V",
            (14.2, 13.7, 14.8),
            "charging, engine running; ISO 16750-2 puts the running supply at 14 V and 28 V",
            scales="volts",
        ),
        FieldSpec("resistance", "ohm", (0.01, 0.005, 0.03), "stud to case; common practice, no source"),
    ),
    build=build,
    about="A source while the engine runs; its case is its negative post.",
)

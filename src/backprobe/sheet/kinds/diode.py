"""Diode: conducts one way, fails open or shorted."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN
from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind


def build(p: PartBuilder) -> None:
    """A junction with its drop, and a latent short across it."""
    p.junction("junction", "anode", "cathode", p.value("volts"), p.value("ohms"))
    slope = p.key("junction ohms")
    across = p.latent("short", "anode", "cathode")
    p.fault(
        "open",
        {slope: (OPEN,)},
        rate=0.4,
        why="diode or backfeed: 1 of 62 field accounts",
        repair=f"replace {p.part.name}",
        cost=2,
    )
    p.fault(
        "shorted",
        {across: (0.05, 1.0)},
        rate=0.6,
        why="diode or backfeed: 1 of 62 field accounts, shorted suppressors named",
        repair=f"replace {p.part.name}",
        cost=2,
    )


KIND = Kind(
    name="diode",
    terminals=("anode", "cathode"),
    passes={"": ("anode", "cathode"), "reversed": ("cathode", "anode")},
    fields=(
        FieldSpec("volts", "V", (0.65, 0.5, 0.8), "silicon; about 0.7 V in textbooks"),
        FieldSpec("ohms", "ohm", (0.5, 0.1, 2.0), "slope near 50 mA; common practice, no source"),
    ),
    build=build,
    about="Written inside a run in the direction it conducts; `diode V1 reversed` against it.",
)

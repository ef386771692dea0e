"""Resistor: a plain two-terminal resistance."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN
from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind


def build(p: PartBuilder) -> None:
    """One resistance that can open or drift."""
    ohms = p.resistance("body", "1", "2", p.value("ohms"))
    nominal = p.value("ohms").nominal
    p.fault(
        "open",
        {ohms: (OPEN,)},
        rate=0.5,
        why="common practice, no source",
        repair=f"replace {p.part.name}",
        cost=1,
    )
    p.fault(
        "drifted",
        {ohms: tuple(nominal * k for k in (0.3, 0.6, 1.6, 3.0, 10.0))},
        rate=0.3,
        why="common practice, no source",
        spread=0.3,
        repair=f"replace {p.part.name}",
        cost=1,
    )


KIND = Kind(
    name="resistor",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(FieldSpec("ohms", "ohm", (1e3, 100.0, 1e4), "not stated", matters="what is its resistance?"),),
    build=build,
    about="Written inside a run: `resistor R1 220 ohm`.",
)

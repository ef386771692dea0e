"""Strap: the heavy return conductor between frame, engine and battery, with its two lugs."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN
from backprobe.sheet.build import CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind


def build(p: PartBuilder) -> None:
    """One resistance whose lugs are part of it."""
    ohms = p.resistance("strap", "1", "2", p.value("ohms"))
    p.fault(
        "bad lug or strap (high resistance)",
        {ohms: (0.01, *RESISTIVE)},
        rate=3.0,
        why="high resistance in a return or ground: 12 of 62 field accounts, grounds first",
        spread=CELL_SPREAD,
        repair=f"take off {p.part.name}, clean both faces to bright metal, refit and protect",
        minutes=20,
        cost=3,
        family="copper",
    )
    p.fault(
        "off or broken",
        {ohms: (1e4, OPEN)},
        rate=0.8,
        why="pulled or broken conductor: 11 of 62 field accounts",
        repair=f"refit or replace {p.part.name}",
        minutes=20,
        cost=15,
        family="copper",
    )


KIND = Kind(
    name="strap",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(
        FieldSpec("ohms", "ohm", (0.001, 0.0005, 0.003), "short heavy strap; common practice, no source"),
    ),
    words=("cable", "ground strap", "ground cable", "battery cable"),
    joins=True,
    build=build,
    about="A heavy conductor with lugs: frame to battery-, engine to frame, battery cables.",
)

"""Splice: a crimped or soldered joint in the run of a wire."""

from __future__ import annotations

from backprobe.sheet.build import BROKEN, BROKEN_SPREAD, CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind


def build(p: PartBuilder) -> None:
    """One joint."""
    ohms = p.resistance("joint", "1", "2", p.value("ohms"))
    p.fault(
        "corroded",
        {ohms: RESISTIVE},
        rate=1.5,
        why="high resistance in a joint: 12 of 62 field accounts, unsealed splices often",
        spread=CELL_SPREAD,
        repair=f"remake and seal {p.part.name}",
        minutes=20,
        cost=2,
        family="copper",
    )
    p.fault(
        "open",
        {ohms: BROKEN},
        rate=0.8,
        why="open wire: 11 of 62 field accounts, shared among wires and splices",
        spread=BROKEN_SPREAD,
        repair=f"remake and seal {p.part.name}",
        minutes=20,
        cost=2,
        family="copper",
    )


KIND = Kind(
    name="splice",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(FieldSpec("ohms", "ohm", (0.002, 0.0005, 0.008), "sound joint; common practice, no source"),),
    joins=True,
    build=build,
    about="A joint in a wire; branches may start at it.",
)

"""Terminator: the resistor across one end of a bus pair."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN
from backprobe.sheet.build import CELL_SPREAD, PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind

BUS_SHARE = "electronics and data lines: 3 of 62 field accounts, shared among the parts of a pair"


def build(p: PartBuilder) -> None:
    """One resistance from wire to wire."""
    ohms = p.resistance("track", "high", "low", p.value("ohms"))
    nominal = p.value("ohms").nominal
    p.fault(
        "missing or open",
        {ohms: (OPEN,)},
        rate=2.5,
        why="left out, or pulled off with the attachment at the end of the pair; common practice, no source",
        repair=f"fit {p.part.name} ({nominal:g} ohm) at its end of the pair",
        minutes=15,
        cost=15,
    )
    # From a third more to twenty times: below that the pair's tolerance hides it.
    p.fault(
        "drifted high",
        {ohms: tuple(nominal * k for k in (1.4, 2.0, 3.5, 7.0, 15.0))},
        rate=1.0,
        why=BUS_SHARE + ", wet or overheated",
        spread=CELL_SPREAD,
        repair=f"replace {p.part.name} ({nominal:g} ohm)",
        minutes=15,
        cost=15,
    )
    p.fault(
        "wrong value or shorted",
        {ohms: tuple(nominal * k for k in (0.01, 0.1, 0.3, 0.6))},
        rate=0.3,
        why=BUS_SHARE + ", a resistor of another value or a third terminator in one housing",
        spread=CELL_SPREAD,
        repair=f"replace {p.part.name} ({nominal:g} ohm), look for water or strands in its plug",
        minutes=15,
        cost=15,
    )


KIND = Kind(
    name="terminator",
    terminals=("high", "low"),
    passes={"": ("high", "low")},
    fields=(FieldSpec("ohms", "ohm", (120.0, 114.0, 126.0), "as the pair itself; ISO 11898-2, from memory"),),
    words=("terminating resistor", "end resistor"),
    minutes=3.0,
    build=build,
    about="Across a bus pair: `[X1-1, terminator R1, X1-2]`. Two of them, one at each end, read 60 ohm.",
)

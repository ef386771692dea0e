"""Coil: a valve, clutch, fuel or brake coil as the load of a run."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN
from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind


def build(p: PartBuilder) -> None:
    """One winding that can open or lose turns."""
    ohms = p.resistance("winding", "1", "2", p.value("ohms"))
    p.load("coil", "winding", p.value("works above"))
    nominal = p.value("ohms").nominal
    p.fault(
        "winding open",
        {ohms: (OPEN,)},
        rate=1.4,
        why="coil, clutch winding or lamp faulty: 3 of 62 field accounts",
        repair=f"replace {p.part.name}",
        minutes=30,
        cost=60,
    )
    p.fault(
        "turns shorted",
        {ohms: tuple(nominal * k for k in (0.75, 0.5, 0.25, 0.08))},
        rate=0.8,
        why="coil, clutch winding or lamp faulty: 3 of 62 field accounts",
        spread=0.3,
        repair=f"replace {p.part.name}, check the fuse and driver that fed it",
        minutes=30,
        cost=60,
    )


KIND = Kind(
    name="coil",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(
        FieldSpec(
            "ohms",
            "ohm",
            (12.0, 4.0, 40.0),
            "not stated; coils of one use differ two to one between machines",
            scales="ohms",
            matters="its own resistance when cold?",
        ),
        FieldSpec(
            "works above",
            "V",
            (7.2, 5.8, 8.4),
            "pulls in by about 60 % of its rated volts; common practice, no source",
            scales="volts",
        ),
    ),
    words=("valve coil", "valve", "clutch coil", "blade clutch", "solenoid coil", "lock valve", "solenoid"),
    load=True,
    build=build,
    about="Written inside a run: `coil Y1 8.4 ohm`.",
)

"""Coil: a valve, clutch, fuel or brake coil as the load of a run."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, InMode, Origin, Supplied, Value
from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind
from backprobe.sheet.kinds._suppressor import SUPPRESSOR_FIELDS, suppressor

ENERGISED = 1.0
"""Volts across a coil from which it counts as fed [V]."""
NOT_TOUCHING = Value(OPEN, OPEN, OPEN, "ohm", Origin("default", "by design"))


def build(p: PartBuilder) -> None:
    """One winding that can open or lose turns, and what is fitted across it."""
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
    _worse_when_energised(p, ohms, nominal)
    suppressor(p, "1", "2", (30.0, 60.0))


def _worse_when_energised(p: PartBuilder, winding: str, nominal: float) -> None:
    """Turns, or the lead, that touch only once the coil is pulled in or warm: ohms alone cannot show it."""
    volts = p.fixed("energised volts", ENERGISED, "V")
    energised = p.device(Supplied(p.key("energised"), p.node("1"), p.node("2"), volts))
    touching = p.resistance("turns touching when energised", "1", "2", NOT_TOUCHING, InMode(energised))
    p.fault(
        "turns shorted, more of them once energised",
        {
            winding: tuple(nominal * k for k in (1.0, 0.8, 0.8, 0.6, 0.6, 0.35)),
            touching: tuple(nominal * k for k in (0.3, 0.5, 0.15, 0.5, 0.15, 0.15)),
        },
        rate=0.4,
        why="coil, clutch winding or lamp faulty: 3 of 62 field accounts, one that fails hot",
        spread=0.25,
        repair=f"put a lamp in the fuse's place, {p.part.name} off and on; isolate its lead, then replace it",
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
            copper=True,
        ),
        FieldSpec(
            "works above",
            "V",
            (7.2, 5.8, 8.4),
            "pulls in by about 60 % of its rated volts; common practice, no source",
            scales="volts",
        ),
        *SUPPRESSOR_FIELDS,
    ),
    words=("valve coil", "valve", "clutch coil", "blade clutch", "solenoid coil", "lock valve", "solenoid"),
    load=True,
    build=build,
    about=(
        "Written inside a run: `coil Y1 8.4 ohm`. `suppression` is none, diode or resistor; "
        "terminal 1 is fed plus."
    ),
)

"""What all three-wire sensors share: a supply side that draws, starves and hates to be reversed."""

from __future__ import annotations

from backprobe.sheet.anatomy import Origin, Supplied, Value
from backprobe.sheet.build import CELL_SPREAD, PartBuilder
from backprobe.sheet.kind import FieldSpec

SUPPLY_FIELDS = (
    FieldSpec(
        "supply",
        "V",
        (8.0, 4.5, 16.0),
        "sensors of mobile machines, 4.5 V upwards; common practice, no source",
        matters="from what volts to what volts does it work?",
    ),
    FieldSpec("draw", "A", (0.008, 0.003, 0.02), "Hall sensors draw 3 to 20 mA; from memory"),
)

BODY_DROP = Value(
    0.45, 0.2, 0.75, "V", Origin("assumed", "substrate path of a reversed sensor, small current")
)
BODY_OHMS = Value(50.0, 20.0, 200.0, "ohm", Origin("assumed", "substrate path of a reversed sensor"))


def supply_side(p: PartBuilder) -> str:
    """Supply draw, starving threshold and the path that a reversed sensor conducts by.

    Returns
    -------
    str
        The device that is true while the sensor has enough supply.
    """
    supply, draw = p.value("supply"), p.value("draw")
    floor = p.parameter(
        "least supply",
        Value(supply.low, 0.93 * supply.low, 1.07 * supply.low, "V", supply.origin),
    )
    ohms = supply.nominal / draw.nominal
    drawn = Value(ohms, supply.nominal / draw.high, supply.nominal / draw.low, "ohm", draw.origin)
    p.resistance("draw", "supply", "ground", drawn)
    p.junction("substrate", "ground", "output", BODY_DROP, BODY_OHMS)
    loads = p.latent("supply leak", "supply", "ground")
    p.fault(
        "pulls its supply down",
        {loads: (10.0, 30.0, 100.0, 300.0, 1e3)},
        rate=0.8,
        why="shared sensor supply pulled down: 1 of 62 field accounts, 5 of 50 manual pages",
        spread=CELL_SPREAD,
        repair=f"replace {p.part.name}, look for water in its plug",
        minutes=20,
        cost=60,
    )
    return p.device(Supplied(p.key("powered"), p.node("supply"), p.node("ground"), floor))

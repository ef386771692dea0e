"""Open-collector sensor: three wires, its output pulled to ground (NPN) or to supply (PNP)."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, AtPosition, Attached, Gate, InMode, Origin, Value
from backprobe.sheet.build import CELL_SPREAD, PartBuilder
from backprobe.sheet.kind import CLOSED, TEXT, FieldSpec, Kind
from backprobe.sheet.kinds._three_wire import SUPPLY_FIELDS, supply_side

NOT_FITTED = Value(OPEN, OPEN, OPEN, "ohm", Origin("default", "by design"))
"""An output stage that only a wrongly fitted sensor has."""

SENSOR_SHARE = "sensor worn, gap or travel wrong: 2 of 62 field accounts, 11 of 50 manual pages"


def build(p: PartBuilder) -> None:
    """An output resistance that switches while the sensor has supply and sees its target."""
    powered = supply_side(p)
    far = "supply" if p.part.texts.get("type", "NPN").upper() == "PNP" else "ground"
    off = p.resistance("output at rest", "output", far, p.value("rest ohms"))
    has_supply: Gate = InMode(powered)
    seen = tuple(AtPosition(c, on) for c, on in p.part.closed.items())
    on = p.resistance("output pulled", "output", far, p.value("pulled ohms"), has_supply, *seen)
    by_hand = p.resistance(
        "output pulled by hand", "output", far, p.value("pulled ohms"), has_supply, Attached(p.part.name)
    )
    other_side = "ground" if far == "supply" else "supply"
    wrong = p.resistance("output pulled the other way", "output", other_side, NOT_FITTED, has_supply, *seen)
    p.fault(
        "wrong type fitted (NPN for PNP)",
        {on: (OPEN,), by_hand: (OPEN,), wrong: (p.value("pulled ohms").nominal,)},
        rate=0.4,
        why="wrong part, wrong sensor family: 3 of 62 field accounts, shared with swapped wires",
        repair=f"fit the type of {p.part.name} that the maker names",
        minutes=20,
        cost=60,
        family="wiring",
    )
    stuck = p.latent("output stuck", "output", far)
    p.fault(
        "target missing or gap too wide",
        {on: (OPEN,)},
        rate=3.0,
        why=SENSOR_SHARE + "; the gap before the sensor",
        repair=f"set the gap of {p.part.name}, look for a bent, lost or out-of-line target",
        minutes=15,
    )
    p.fault(
        "does not switch",
        {on: (OPEN,), by_hand: (OPEN,)},
        rate=1.2,
        why=SENSOR_SHARE,
        repair=f"replace {p.part.name}",
        minutes=20,
        cost=60,
    )
    p.fault(
        "stuck on",
        {stuck: (10.0, 300.0)},
        rate=0.6,
        why=SENSOR_SHARE,
        spread=CELL_SPREAD,
        repair=f"replace {p.part.name}",
        minutes=20,
        cost=60,
    )
    p.fault(
        "output broken inside",
        {on: (OPEN,), by_hand: (OPEN,), off: (OPEN,)},
        rate=0.6,
        why=SENSOR_SHARE,
        repair=f"replace {p.part.name}",
        minutes=20,
        cost=60,
    )


KIND = Kind(
    name="open-collector sensor",
    terminals=("supply", "output", "ground"),
    passes={},
    fields=(
        *SUPPLY_FIELDS,
        FieldSpec(
            "pulled ohms", "ohm", (30.0, 5.0, 200.0), "saturated transistor; common practice, no source"
        ),
        FieldSpec("rest ohms", "ohm", (1e6, 2e5, 1e7), "leak of an open transistor; from memory"),
        FieldSpec("pulls", shape=CLOSED),
        FieldSpec("type", shape=TEXT, choices=("NPN", "PNP", "npn", "pnp")),
    ),
    words=("npn sensor", "pnp sensor", "switching sensor"),
    build=build,
    about="`pulls` names the operator states in which the output is pulled.",
)

"""What all three-wire sensors share: a supply side that draws, starves and hates too much or reversed."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.sheet.anatomy import OPEN, Gate, InMode, Origin, Supplied, Value
from backprobe.sheet.build import CELL_SPREAD, PartBuilder
from backprobe.sheet.kind import TEXT, FieldSpec
from backprobe.sheet.kinds._sensor_faults import SENSOR_SHARE, WRONG_PART, worn_out, wrong_part

SUPPLY_FIELDS = (
    FieldSpec(
        "supply",
        "V",
        (8.0, 4.5, 16.0),
        "sensors of mobile machines, 4.5 V upwards; common practice, no source",
        matters="from what volts to what volts does it work?",
    ),
    FieldSpec("least supply", "V"),
    FieldSpec("most supply", "V"),
    FieldSpec("draw", "A", (0.008, 0.003, 0.02), "Hall sensors draw 3 to 20 mA; from memory"),
)

TARGET_FIELD = FieldSpec("target", shape=TEXT, choices=("steel", "magnet"))

RATING = 1.1
"""A supply whose ends are closer than this is a rating, such as 12 V, and says nothing of limits [1]."""
RATED_FLOOR = 0.85
"""From this share of its rated supply a sensor works; common practice, no source [1]."""
LIMIT_SPREAD = 0.07
"""What a stated limit of supply may be off by in one sensor [1]; common practice, no source."""

HIGHER_FLOORS = (8.0, 16.0)
"""Least supply of types for other feeds [V]: codes B and F of ISO 16750-2 begin there."""

BURNT_OHMS = (10.0, 100.0, 1e3)
"""What a burnt supply side conducts by [ohm]; common practice, no source."""
LEAD = Value(0.02, 0.005, 0.08, "ohm", Origin("default", "lead inside the sensor"))
BODY_DROP = Value(
    0.45, 0.2, 0.75, "V", Origin("assumed", "substrate path of a reversed sensor, small current")
)
BODY_OHMS = Value(50.0, 20.0, 200.0, "ohm", Origin("assumed", "substrate path of a reversed sensor"))
CLAMP_OHMS = Value(200.0, 50.0, 1e3, "ohm", Origin("assumed", "protection of an overfed sensor conducts"))


@dataclass(frozen=True, slots=True)
class SupplySide:
    """What a kind needs of the supply side.

    Parameters
    ----------
    powered
        Gates of everything that works only with a supply that is neither too low nor too high.
    lead
        Key of the supply lead's resistance inside.
    plus, minus
        Inner ends of the supply and ground leads.
    """

    powered: tuple[Gate, ...]
    lead: str
    plus: str = "_supply"
    minus: str = "_ground"


def supply_side(p: PartBuilder) -> SupplySide:
    """Leads, draw, the limits of supply and the path that a reversed sensor conducts by."""
    supply, draw = p.value("supply"), p.value("draw")
    leads = (
        p.resistance("supply lead", "supply", "_supply", LEAD),
        p.resistance("ground lead", "_ground", "ground", LEAD),
    )
    ohms = supply.nominal / draw.nominal
    drawn = Value(ohms, supply.nominal / draw.high, supply.nominal / draw.low, "ohm", draw.origin)
    p.resistance("draw", "_supply", "_ground", drawn)
    p.junction("substrate", "_ground", "output", BODY_DROP, BODY_OHMS)
    least, most = limits_of(p)
    floor = p.parameter("least supply", _about(least, supply))
    powered = p.device(Supplied(p.key("powered"), p.node("_supply"), p.node("_ground"), floor))
    gates: tuple[Gate, ...] = (InMode(powered),)
    if most is not None:
        p.junction("overfed", "_supply", "_ground", _about(most, supply), CLAMP_OHMS)
        gates = (*gates, InMode(p.key("overfed"), inverted=True))
    _lead_faults(p, *leads)
    floors = tuple(v for v in HIGHER_FLOORS if v > 1.3 * least)
    if floors:
        wrong_part(p, "type for a higher supply fitted", {floor: floors}, 0.2)
    return SupplySide(gates, leads[0])


def limits_of(p: PartBuilder) -> tuple[float, float | None]:
    """Least and most supply [V]; None where nothing says how much is too much."""
    supply = p.value("supply")
    rating = supply.high < RATING * supply.low
    least = RATED_FLOOR * supply.nominal if rating else supply.low
    most = None if rating or supply.origin.kind == "default" else supply.high
    if p.has("least supply"):
        least = p.value("least supply").nominal
    if p.has("most supply"):
        most = p.value("most supply").nominal
    return least, most


def dies_of_its_supply(p: PartBuilder, side: SupplySide, *outputs: str) -> None:
    """What a reversed or too high supply leaves behind: nothing works, and what it burnt conducts.

    A sensor that survived has no fault of its own: its plug or its feed has. `outputs` are
    resistances that lead to the output without a supply.
    """
    burnt = p.latent("burnt supply side", "supply", "ground")
    p.fault(
        "killed by a reversed or too high supply",
        {burnt: BURNT_OHMS, **dict.fromkeys((side.lead, *outputs), (OPEN,) * len(BURNT_OHMS))},
        rate=0.1,
        why=WRONG_PART + "; many survive it",
        spread=1.0,
        repair=f"first prove supply and ground in the plug of {p.part.name}, then replace it",
        minutes=25,
        cost=60,
    )


def _about(limit: float, supply: Value) -> Value:
    return Value(limit, (1 - LIMIT_SPREAD) * limit, (1 + LIMIT_SPREAD) * limit, "V", supply.origin)


def _lead_faults(p: PartBuilder, supply_lead: str, ground_lead: str) -> None:
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
    crossed = (p.latent("crossed plus", "supply", "_ground"), p.latent("crossed minus", "_supply", "ground"))
    p.fault(
        "supply and ground crossed in its own lead",
        {supply_lead: (OPEN,), ground_lead: (OPEN,), crossed[0]: (0.02,), crossed[1]: (0.02,)},
        rate=0.1,
        why=WRONG_PART + "; a sensor or a lead that was spliced",
        repair=f"put the wires of {p.part.name} right, then check that it survived",
        minutes=20,
        family="wiring",
    )
    worn_out(p, "supply broken inside", {supply_lead: (OPEN,)}, 0.3, why=SENSOR_SHARE)
    worn_out(p, "ground broken inside", {ground_lead: (OPEN,)}, 0.3, why=SENSOR_SHARE)

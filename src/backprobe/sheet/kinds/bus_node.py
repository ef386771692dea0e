"""Bus node: a controller as its bus pair sees it: ohms across the pair, and a bias while it is powered."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, InMode, Supplied, Value
from backprobe.sheet.build import CELL_SPREAD, PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind
from backprobe.sheet.kinds.terminator import BUS_SHARE

LOW_ACROSS = (50.0, 150.0, 400.0, 900.0, 1800.0)
"""What a damaged transceiver or water in a plug leaves across the pair [ohm]."""

SHORTED = (0.5, 5.0, 50.0, 500.0)
"""What is left between a wire of the pair and ground or supply inside a damaged node [ohm]."""


def build(p: PartBuilder) -> None:
    """Two halves from wire to middle; the middle is biased only while the node has supply."""
    ohms = p.value("ohms")
    half = Value(ohms.nominal / 2, ohms.low / 2, ohms.high / 2, "ohm", ohms.origin)
    legs = {wire: p.resistance(f"{wire} leg", wire, "_middle", half) for wire in ("high", "low")}
    floor = p.parameter("least supply", p.value("least supply"))
    powered = p.device(Supplied(p.key("powered"), p.node("supply"), p.node("ground"), floor))
    p.resistance("own draw", "supply", "ground", p.value("own draw ohms"))
    bias = p.parameter("bias volts", p.value("bias"))
    p.source("bias", "_middle", "ground", bias, p.value("bias ohms"), InMode(powered))
    across = p.latent("across the pair", "high", "low")
    inside = {"minutes": 30.0, "cost": 400.0}
    p.fault(
        "low across the pair",
        {across: LOW_ACROSS},
        rate=0.6,
        why=BUS_SHARE + "; transceiver damaged or wet plug",
        repair=f"unplug {p.part.name} and measure the pair again; dry its plug or replace it",
        spread=CELL_SPREAD,
        family="electronics",
        **inside,
    )
    for wire, ohms_key in legs.items():
        p.fault(
            f"{wire} leg open",
            {ohms_key: (OPEN,)},
            rate=0.3,
            why=BUS_SHARE + "; a leg or its pin inside open",
            repair=f"look at the pins of {p.part.name}, then replace it",
            family="electronics",
            **inside,
        )
        for where in ("ground", "supply"):
            p.fault(
                f"{wire} wire shorted to {where} inside",
                {p.latent(f"{wire} to {where}", wire, where): SHORTED},
                rate=0.2,
                why=BUS_SHARE + "; transceiver broken down",
                repair=f"unplug {p.part.name}: when the pair comes back, replace it",
                spread=CELL_SPREAD,
                family="electronics",
                **inside,
            )


KIND = Kind(
    name="bus node",
    terminals=("high", "low", "supply", "ground"),
    passes={"": ("high", "low")},
    fields=(
        FieldSpec(
            "ohms", "ohm", (3e4, 2.25e3, 1.6e5), "transceivers of mobile machines; common practice, no source"
        ),
        FieldSpec("bias", "V", (2.5, 2.0, 3.0), "both wires at rest; ISO 11898-2, from memory"),
        FieldSpec("bias ohms", "ohm", (2e3, 500.0, 2e4), "holds the pair while nobody talks; from memory"),
        FieldSpec("least supply", "V", (6.0, 4.5, 8.0), "transceivers run low; from memory"),
        FieldSpec("own draw ohms", "ohm", (150.0, 50.0, 500.0), "tens of milliamps; from memory"),
    ),
    words=("node",),
    minutes=5.0,
    build=build,
    about=(
        "Across a bus pair: `[X1-1, bus node ECU, X1-2]`. With its `supply` and `ground` on runs it holds "
        "both wires near 2.5 V while powered; without them it is only its ohms."
    ),
)

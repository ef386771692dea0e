"""Contact: one cavity of a connector: the wire's crimp, then pin and socket to the part side."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, WhilePlugged
from backprobe.sheet.build import BROKEN, BROKEN_SPREAD, CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import TEXT, FieldSpec, Kind


def build(p: PartBuilder) -> None:
    """Crimp and pin in series; the pin is only there while its connector is plugged."""
    crimp = p.resistance("crimp", "wire", "machine", p.value("crimp"))
    ohms = p.resistance("pin", "machine", "part", p.value("ohms"), WhilePlugged(p.part.texts["connector"]))
    p.fault(
        "corroded or loose",
        {ohms: RESISTIVE},
        rate=1.2,
        why="high resistance in a joint: 12 of 62 field accounts, shared among the joints of a run",
        spread=CELL_SPREAD,
        repair=f"unplug, look at {p.part.name}, clean or replace the terminal, check its grip",
        minutes=10,
        cost=2,
        family="contact",
    )
    p.fault(
        "pin pushed back",
        {ohms: BROKEN},
        rate=0.5,
        why="pulled plug or pin: part of 11 open-wire accounts in 62",
        spread=BROKEN_SPREAD,
        repair=f"reseat or replace the terminal of {p.part.name}",
        minutes=10,
        cost=2,
        family="contact",
    )
    # The rear of the named cavity is empty then: unlike a pin pushed back, it shows nothing of its wire.
    p.fault(
        "wire in an empty cavity beside it",
        {crimp: (OPEN,)},
        rate=0.12,
        why="wires swapped, wrong part: 3 of 62 field accounts, a wire one cavity off",
        repair=f"compare the wire colours at {p.part.name} with the part side, move the wire to its cavity",
        minutes=10,
        cost=1,
        family="wiring",
    )


KIND = Kind(
    name="contact",
    terminals=("wire", "machine", "part"),
    passes={"": ("wire", "part")},
    fields=(
        FieldSpec(
            "ohms",
            "ohm",
            (0.006, 0.002, 0.02),
            "sound pin and crimps; new connector 2 to 5 mohm in a published drop guide",
        ),
        FieldSpec("crimp", "ohm", (0.001, 0.0005, 0.004), "sound crimp; common practice, no source"),
        FieldSpec("connector", shape=TEXT),
    ),
    joins=True,
    build=build,
    about="Made by naming a cavity such as `C1-3` in a run.",
)

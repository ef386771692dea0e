"""Relay: a coil that pulls a contact; terminals as numbered in DIN 72552."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, InMode, Puller
from backprobe.sheet.build import CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind

HEAT_SHARE = "fuse holder or relay heat and overload: 5 of 62 field accounts"


def build(p: PartBuilder) -> None:
    """Coil 86-85, working contact 30-87, resting contact 30-87a."""
    winding = p.resistance("winding", "86", "85", p.value("coil"))
    pull = p.parameter("pull-in", p.value("pull-in"))
    drop = p.parameter("drop-out", p.value("drop-out"))
    armature = p.device(Puller(p.key("armature"), p.key("winding"), pull, drop))
    p.load("relay", "winding", p.value("pull-in"))
    works = p.resistance("contact", "30", "87", p.value("contact"), InMode(armature))
    rests = p.resistance("resting contact", "30", "87a", p.value("contact"), InMode(armature, inverted=True))
    welded = p.latent("contact welded", "30", "87")
    nominal = p.value("coil").nominal
    p.fault(
        "coil open",
        {winding: (OPEN,)},
        rate=1.0,
        why="coil, clutch winding or lamp faulty: 3 of 62 field accounts",
        repair=f"replace {p.part.name}",
        minutes=5,
        cost=12,
    )
    p.fault(
        "coil turns shorted",
        {winding: tuple(nominal * k for k in (0.6, 0.3, 0.1))},
        rate=0.4,
        why="coil, clutch winding or lamp faulty: 3 of 62 field accounts",
        spread=0.3,
        repair=f"replace {p.part.name}",
        minutes=5,
        cost=12,
    )
    p.fault(
        "contact burnt",
        {works: (*RESISTIVE[1:], OPEN)},
        rate=1.4,
        why=HEAT_SHARE,
        spread=CELL_SPREAD,
        repair=f"replace {p.part.name}, look at its socket",
        minutes=5,
        cost=12,
        family="contact",
    )
    p.fault(
        "contact welded",
        {welded: (0.02,)},
        rate=0.4,
        why=HEAT_SHARE + ", welded the rarer way",
        repair=f"replace {p.part.name}, find what overloaded it",
        minutes=5,
        cost=12,
        family="contact",
    )
    p.fault(
        "resting contact burnt",
        {rests: (*RESISTIVE[1:], OPEN)},
        rate=0.2,
        why=HEAT_SHARE,
        spread=CELL_SPREAD,
        repair=f"replace {p.part.name}, look at its socket",
        minutes=5,
        cost=12,
        family="contact",
    )


KIND = Kind(
    name="relay",
    terminals=("85", "86", "30", "87", "87a"),
    passes={
        "coil": ("86", "85"),
        "contact": ("30", "87"),
        "resting contact": ("30", "87a"),
        "": ("86", "85"),
    },
    fields=(
        FieldSpec(
            "coil",
            "ohm",
            (90.0, 60.0, 120.0),
            "plug-in relay of 12 V, squared with the volts; common practice, no source",
            scales="ohms",
        ),
        FieldSpec(
            "pull-in",
            "V",
            (7.2, 6.2, 8.2),
            "closes by about 60 % of rated volts; common practice, no source",
            scales="volts",
        ),
        FieldSpec(
            "drop-out",
            "V",
            (2.5, 1.2, 4.0),
            "lets go at 10 to 30 % of rated volts; common practice, no source",
            scales="volts",
        ),
        FieldSpec("contact", "ohm", (0.01, 0.004, 0.03), "sound contact; common practice, no source"),
    ),
    words=("relay coil", "relay contact", "relay resting contact"),
    load=True,
    build=build,
    about="`relay coil K1 84 ohm` in one run, `relay contact K1` in another.",
)

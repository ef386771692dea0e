"""Ring lug: a crimp from wire to lug, and a face from lug to metal."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, WhilePlugged
from backprobe.sheet.build import CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind


def build(p: PartBuilder) -> None:
    """Two joints in series; the face comes off when the lug is lifted."""
    crimp = p.resistance("crimp", "wire", "lug", p.value("crimp"))
    face = p.resistance("face", "lug", "metal", p.value("face"), WhilePlugged(p.part.name))
    p.fault(
        "bad crimp (high resistance)",
        {crimp: RESISTIVE},
        rate=0.8,
        why="high resistance in a lug: 12 of 62 field accounts; the crimp less often than the face",
        spread=CELL_SPREAD,
        repair=f"cut off the lug of {p.part.name}, crimp a new one on bright copper",
        minutes=15,
        cost=2,
        family="copper",
    )
    p.fault(
        "bad joint to metal (high resistance)",
        {face: RESISTIVE},
        rate=2.4,
        why="high resistance in a ground: 12 of 62 field accounts, grounds first",
        spread=CELL_SPREAD,
        repair=f"take off {p.part.name}, clean lug and metal bright, refit tight and protect",
        minutes=15,
        cost=1,
        family="copper",
    )
    p.fault(
        "off or broken",
        {face: (1e4, OPEN)},
        rate=0.8,
        why="pulled or broken conductor: 11 of 62 field accounts",
        repair=f"refit {p.part.name} tight on clean metal",
        minutes=10,
        cost=1,
        family="copper",
    )


KIND = Kind(
    name="ring",
    terminals=("wire", "lug", "metal"),
    passes={"": ("wire", "metal"), "reversed": ("metal", "wire")},
    fields=(
        FieldSpec("crimp", "ohm", (0.001, 0.0005, 0.004), "sound crimp; common practice, no source"),
        FieldSpec(
            "face", "ohm", (0.002, 0.0005, 0.008), "clean lug on bright metal; common practice, no source"
        ),
    ),
    words=("ring lug", "ground lug", "stud", "lug"),
    joins=True,
    build=build,
    about="A lug bolted to metal. Its points: wire (before the crimp), lug, metal.",
)

"""Diode: conducts one way, fails open or shorted."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, Origin, Value
from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind

TURNED = Value(OPEN, OPEN, OPEN, "ohm", Origin("default", "by design"))
"""The way that only a diode fitted the wrong way round conducts."""


def build(p: PartBuilder) -> None:
    """A junction with its drop, and a latent short across it."""
    p.junction("junction", "anode", "cathode", p.value("volts"), p.value("ohms"))
    slope = p.key("junction ohms")
    across = p.latent("short", "anode", "cathode")
    p.junction("turned", "cathode", "anode", p.value("volts"), TURNED)
    turned = p.key("turned ohms")
    p.fault(
        "open",
        {slope: (OPEN,)},
        rate=0.4,
        why="diode or backfeed: 1 of 62 field accounts",
        repair=f"replace {p.part.name}",
        cost=2,
    )
    p.fault(
        "shorted",
        {across: (0.05, 1.0)},
        rate=0.6,
        why="diode or backfeed: 1 of 62 field accounts, shorted suppressors named",
        repair=f"replace {p.part.name}",
        cost=2,
    )
    p.fault(
        "fitted the wrong way round",
        {slope: (OPEN,), turned: (p.value("ohms").nominal,)},
        rate=0.2,
        why="wires swapped, wrong part: 3 of 62 field accounts, shared",
        repair=f"turn {p.part.name}: its ring is the end that the current leaves by",
        cost=2,
        family="wiring",
    )


KIND = Kind(
    name="diode",
    terminals=("anode", "cathode"),
    passes={"": ("anode", "cathode"), "reversed": ("cathode", "anode")},
    fields=(
        FieldSpec("volts", "V", (0.65, 0.5, 0.8), "silicon; about 0.7 V in textbooks"),
        FieldSpec("ohms", "ohm", (0.5, 0.1, 2.0), "slope near 50 mA; common practice, no source"),
    ),
    words=("rectifier",),
    build=build,
    about="Written inside a run in the direction it conducts; `diode V1 reversed` against it.",
)

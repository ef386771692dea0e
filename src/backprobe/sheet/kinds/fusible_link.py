"""Fusible link: a short weak wire in the main feed; it opens slowly and may look whole."""

from __future__ import annotations

from math import pi, sqrt

from backprobe.sheet.anatomy import InMode, Melter, Origin, Value
from backprobe.sheet.build import BROKEN, BROKEN_SPREAD, CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind
from backprobe.sheet.kinds.wire import copper_resistance

LENGTH = 0.15
"""A link is about a hand long [m]; common practice, no source."""
PREECE = 80.0
"""Melting current of copper wire in air, `PREECE` d^1.5 with d in millimetres [A mm^-1.5]: W. H. Preece,
Proceedings of the Royal Society 36 (1884), from memory."""
SLOW = 2.0
"""A link holds its rating for ever and melts at about twice it; common practice, no source."""


def melting_amps(square_mm: float) -> float:
    """Current that melts a bare copper wire of this section [mm2] in air [A]."""
    return float(PREECE * (2 * sqrt(square_mm / pi)) ** 1.5)


def refine(values: dict[str, Value], system_volts: float, given: set[str]) -> None:
    """Rating and resistance from the section of its wire, unless they were given."""
    size = values["size"]
    if "rating" not in given and "size" in given:
        nominal, low, high = (melting_amps(s) / SLOW for s in (size.nominal, size.low, size.high))
        values["rating"] = Value(
            nominal, 0.8 * low, 1.25 * high, "A", Origin("assumed", "from its section by Preece's rule")
        )
    if "ohms" not in given and "size" in given:
        ohms = copper_resistance(LENGTH, size.nominal)
        values["ohms"] = Value(ohms, 0.6 * ohms, 2 * ohms, "ohm", Origin("assumed", "copper"))


def build(p: PartBuilder) -> None:
    """A thin wire that melts for good, between two crimps."""
    melts = p.fixed("melting amps", SLOW * p.value("rating").nominal, "A")
    whole = InMode(p.key("wire"), inverted=True)
    wire = p.resistance("wire", "1", "_crimp", p.value("ohms"), whole)
    p.device(Melter(p.key("wire"), p.key("wire"), melts))
    crimp = p.resistance("crimp", "_crimp", "2", p.value("crimp"))
    p.fault(
        "burnt inside its insulation",
        {wire: BROKEN},
        rate=1.2,
        why="fuse, holder or relay heat and overload: 5 of 62 field accounts; a link less often than a fuse",
        spread=BROKEN_SPREAD,
        repair=f"tug at {p.part.name}: what stretches is burnt, though whole to see; find the cause, renew",
        minutes=15,
        cost=8,
        family="copper",
    )
    p.fault(
        "bad crimp (high resistance)",
        {crimp: RESISTIVE},
        rate=0.8,
        why="high resistance in a joint: 12 of 62 field accounts, shared among the joints of a run",
        spread=CELL_SPREAD,
        repair=f"renew {p.part.name} with new crimps",
        minutes=20,
        cost=8,
        family="copper",
    )


KIND = Kind(
    name="fusible link",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(
        FieldSpec("rating", "A", (60.0, 30.0, 100.0), "not stated", matters="its section or rating?"),
        FieldSpec("size", "mm2", (1.0, 0.5, 2.5), "not stated"),
        FieldSpec("ohms", "ohm", (0.003, 0.001, 0.008), "a hand's length of thin copper"),
        FieldSpec("crimp", "ohm", (0.001, 0.0005, 0.004), "sound crimp; common practice, no source"),
    ),
    words=("fuse link", "fusible wire"),
    build=build,
    refine=refine,
    about="Written inside a run: `fusible link 1 mm2` or `fusible link 60 A`. It has no holder.",
)

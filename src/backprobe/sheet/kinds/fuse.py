"""Fuse: a rated element in a holder that can itself be lossy."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, InMode, Melter, Origin, Value, WhilePlugged
from backprobe.sheet.build import CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind

VOLT_AT_RATING = 0.09
"""Drop of a blade fuse at its rated current [V]; from memory, data sheets give 0.08 to 0.11 V."""

MELTS_AT = 1.5
"""Share of its rating that melts it before a mechanic has looked; between that and the rating it may hold for
minutes or for ever; common practice, no source."""


def refine(values: dict[str, Value], system_volts: float, given: set[str]) -> None:
    """Cold resistance from the rating unless it was given."""
    if "ohms" not in given:
        ohms = VOLT_AT_RATING / values["rating"].nominal
        values["ohms"] = Value(
            ohms, 0.6 * ohms, 1.6 * ohms, "ohm", Origin("assumed", "about 0.09 V at rated current")
        )


def build(p: PartBuilder) -> None:
    """Element and holder in series; the element melts for good above 1.5 times its rating."""
    rating = p.value("rating")
    melts = p.fixed("melting amps", MELTS_AT * rating.nominal, "A")
    whole = InMode(p.key("element"), inverted=True)
    element = p.resistance("element", "1", "_element", p.value("ohms"), WhilePlugged(p.part.name), whole)
    p.device(Melter(p.key("element"), p.key("element"), melts))
    holder = p.resistance("holder", "_element", "2", p.value("holder"))
    p.fault(
        "blown",
        {element: (OPEN,)},
        rate=2.5,
        why="fuse, holder or relay heat and overload: 5 of 62 field accounts; a blown fuse has a cause",
        repair=f"find what blew {p.part.name} before fitting another of the same rating",
        minutes=5,
        cost=1,
        family="copper",
    )
    p.fault(
        "weaker fuse fitted",
        {melts: (0.5 * MELTS_AT * rating.nominal, 0.2 * MELTS_AT * rating.nominal)},
        rate=0.2,
        why="wrong part fitted: 3 of 62 field accounts, shared; it blows again with nothing wrong behind it",
        repair=f"read what is printed on {p.part.name}, fit the rating of the sheet, no greater",
        minutes=5,
        cost=1,
        family="wiring",
    )
    p.fault(
        "bad holder (high resistance)",
        {holder: RESISTIVE},
        rate=1.8,
        why="fuse holder heat: 5 of 62 field accounts",
        spread=CELL_SPREAD,
        repair=f"clean or replace the holder of {p.part.name}",
        minutes=20,
        cost=6,
        family="copper",
    )


KIND = Kind(
    name="fuse",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(
        FieldSpec("rating", "A", (10.0, 5.0, 20.0), "not stated", matters="what is printed on the fuse?"),
        FieldSpec("ohms", "ohm", (0.009, 0.005, 0.015), "about 0.09 V at rated current"),
        FieldSpec("holder", "ohm", (0.003, 0.001, 0.01), "sound holder; common practice, no source"),
    ),
    build=build,
    refine=refine,
    about="Written inside a run: `fuse F4 10 A`.",
)

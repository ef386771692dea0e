"""Wire: resistance from size, length and temperature; opens, chafes and corrodes inside."""

from __future__ import annotations

from backprobe.sheet.anatomy import Origin, Value
from backprobe.sheet.build import BROKEN, BROKEN_SPREAD, CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import TEXT, FieldSpec, Kind

COPPER = 1.7241e-8
"""Resistivity of annealed copper at 20 C [ohm m] (IEC 60028)."""


def copper_resistance(length: float, area: float) -> float:
    """Resistance of a copper conductor at 20 C.

    Parameters
    ----------
    length
        Length one way [m].
    area
        Cross-section [mm2].

    Returns
    -------
    float
        Resistance [ohm]: rho l / A with rho of annealed copper (IEC 60028).
    """
    return COPPER * length / (area * 1e-6)


def refine(values: dict[str, Value], system_volts: float, given: set[str]) -> None:
    """Resistance from length and size unless it was given, -8 % to +20 % for strand and heat."""
    if "ohms" in given or not given & {"length", "size"}:
        return
    ohms = copper_resistance(values["length"].nominal, values["size"].nominal)
    values["ohms"] = Value(
        ohms, 0.92 * ohms, 1.2 * ohms, "ohm", Origin("assumed", "copper at 20 C from length and size")
    )


def build(p: PartBuilder) -> None:
    """One resistance, with chafing at its far end."""
    ohms = p.resistance("copper", "1", "2", p.value("ohms"))
    p.fault(
        "broken",
        {ohms: BROKEN},
        rate=1.6,
        why="open wire: 11 of 62 field accounts, shared among about seven wires",
        spread=BROKEN_SPREAD,
        repair=f"find the break in {p.part.name} (hinge, tie, clamp), splice and seal it",
        minutes=30,
        cost=3,
        family="copper",
    )
    p.fault(
        "corroded inside",
        {ohms: RESISTIVE},
        rate=0.6,
        why="high resistance: 12 of 62 field accounts, a wire less often than its ends",
        spread=CELL_SPREAD,
        repair=f"cut back {p.part.name} to bright copper or replace it",
        minutes=30,
        cost=5,
        family="copper",
    )
    p.shorts("2", rate=0.7, why="chafed wire: 5 of 62 field accounts, shared among about seven wires")


KIND = Kind(
    name="wire",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(
        FieldSpec(
            "ohms",
            "ohm",
            (0.03, 0.005, 0.15),
            "up to some metres of 0.75 to 2.5 mm2 copper, not drawn",
            copper=True,
        ),
        FieldSpec("length", "m", (1.5, 0.3, 5.0), "not drawn"),
        FieldSpec("size", "mm2", (1.0, 0.5, 2.5), "not drawn"),
        FieldSpec("colour", shape=TEXT),
    ),
    words=("lead",),
    joins=True,
    build=build,
    refine=refine,
    about="A conductor. Written inside a run: `wire 2.4 m 0.75 mm2 RD`.",
)

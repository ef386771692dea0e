"""Lamp: a filament as the load of a run."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, Origin, Value
from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind


def refine(values: dict[str, Value], system_volts: float, given: set[str]) -> None:
    """Hot resistance from watts at rated volts, or from amps."""
    if "ohms" in given:
        return
    if "amps" in given:
        amps = values["amps"]
        ends = (system_volts / amps.nominal, system_volts / amps.high, system_volts / amps.low)
    else:
        watts = values["watts"]
        ends = tuple(system_volts**2 / w for w in (watts.nominal, watts.high, watts.low))  # type: ignore[assignment]
    values["ohms"] = Value(
        ends[0], min(ends[1], 0.9 * ends[0]), max(ends[2], 1.15 * ends[0]), "ohm", Origin("assumed", "lit")
    )


def build(p: PartBuilder) -> None:
    """One resistance, lit."""
    ohms = p.resistance("filament", "1", "2", p.value("ohms"))
    p.load("lamp", "filament", p.value("works above"))
    p.fault(
        "burnt out",
        {ohms: (OPEN,)},
        rate=2.0,
        why="coil, clutch or lamp faulty: 3 of 62 field accounts",
        repair=f"replace the bulb of {p.part.name}, look at its socket",
        minutes=5,
        cost=2,
    )


KIND = Kind(
    name="lamp",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(
        FieldSpec("ohms", "ohm", (12.0, 5.0, 70.0), "not stated", scales="ohms"),
        FieldSpec("watts", "W", (10.0, 2.0, 25.0), "not stated"),
        FieldSpec("amps", "A", (1.0, 0.2, 2.0), "not stated"),
        FieldSpec(
            "works above",
            "V",
            (7.0, 6.0, 8.0),
            "a filament at six tenths of its volts is clearly dim; common practice, no source",
            scales="volts",
        ),
    ),
    words=("bulb", "test lamp"),
    load=True,
    build=build,
    refine=refine,
    about="Written inside a run: `lamp H1 21 W` or `lamp H1 4.2 A`.",
)

"""Lamp: a filament as the load of a run, cold until it has volts, in a holder of its own."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, InMode, Origin, Supplied, Value
from backprobe.sheet.build import CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind

COLD_SHARE = (0.09, 0.06, 0.14)
"""Cold resistance of a filament as a share of the lit one; about a tenth, from memory."""
WARM_FROM = 0.04
"""Share of its volts from which a filament is no longer cold; common practice, no source."""


def refine(values: dict[str, Value], system_volts: float, given: set[str]) -> None:
    """Hot resistance from watts at rated volts, or from amps; cold resistance from the hot one."""
    if "ohms" not in given:
        values["ohms"] = _lit(values, system_volts, given)
    if "cold ohms" not in given:
        lit = values["ohms"].nominal
        why = Origin("assumed", "about a tenth of the lit resistance")
        cold, low, high = (share * lit for share in COLD_SHARE)
        values["cold ohms"] = Value(cold, low, high, "ohm", why)


def _lit(values: dict[str, Value], system_volts: float, given: set[str]) -> Value:
    if "amps" in given:
        amps = values["amps"]
        nominal, low, high = (system_volts / a for a in (amps.nominal, amps.high, amps.low))
    else:
        watts = values["watts"]
        nominal, low, high = (system_volts**2 / w for w in (watts.nominal, watts.high, watts.low))
    return Value(nominal, min(low, 0.9 * nominal), max(high, 1.15 * nominal), "ohm", Origin("assumed", "lit"))


def build(p: PartBuilder) -> None:
    """Holder, then a filament with one resistance lit and one cold."""
    holder = p.resistance("holder", "1", "_bulb", p.value("holder"))
    warm = p.fixed("warm from", WARM_FROM * p.system_volts, "V")
    ends = (p.node("_bulb"), p.node("2"))
    lit = (Supplied(p.key("warm"), *ends, warm), Supplied(p.key("warm backwards"), *ends[::-1], warm))
    # A filament does not mind which way it is fed; two thresholds, one for either way.
    for device in lit:
        p.device(device)
    ohms = p.resistance("filament", "_bulb", "2", p.value("ohms"))
    cool = tuple(InMode(device.key, inverted=True) for device in lit)
    extra = _parallel(p.value("cold ohms"), p.value("ohms"))
    cold = p.resistance("cold filament", "_bulb", "2", extra, *cool)
    p.load("lamp", "filament", p.value("works above"))
    p.fault(
        "burnt out",
        {ohms: (OPEN,), cold: (OPEN,)},
        rate=2.0,
        why="coil, clutch or lamp faulty: 3 of 62 field accounts",
        repair=f"replace the bulb of {p.part.name}, look at its socket",
        minutes=5,
        cost=2,
    )
    p.fault(
        "holder corroded",
        {holder: (*RESISTIVE, OPEN)},
        rate=1.2,
        why="high resistance in a joint: 12 of 62 field accounts; a lamp's holder sits in the wet",
        spread=CELL_SPREAD,
        repair=f"clean or replace the holder of {p.part.name}",
        minutes=10,
        cost=5,
        family="contact",
    )
    factors = (0.25, 4.0)
    p.fault(
        "bulb of other watts fitted",
        {ohms: _times(p, "ohms", factors), cold: tuple(extra.nominal * k for k in factors)},
        rate=0.4,
        why="wrong part fitted: 3 of 62 field accounts, shared; 5 W for 21 W and the other way",
        spread=0.3,
        repair=f"fit the bulb that {p.part.name} asks for",
        minutes=5,
        cost=2,
        family="wiring",
    )


def _times(p: PartBuilder, field: str, factors: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(p.value(field).nominal * k for k in factors)


def _parallel(cold: Value, lit: Value) -> Value:
    """What beside the lit resistance makes the cold one [ohm]."""

    def beside(ohms: float) -> float:
        return 1 / max(1 / ohms - 1 / lit.nominal, 0.01 / lit.nominal)

    return Value(beside(cold.nominal), beside(cold.low), beside(cold.high), "ohm", cold.origin)


KIND = Kind(
    name="lamp",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(
        FieldSpec("ohms", "ohm", (12.0, 5.0, 70.0), "not stated", scales="ohms"),
        FieldSpec("watts", "W", (10.0, 2.0, 25.0), "not stated"),
        FieldSpec("amps", "A", (1.0, 0.2, 2.0), "not stated"),
        FieldSpec("cold ohms", "ohm", (1.1, 0.4, 7.0), "about a tenth of the lit resistance", scales="ohms"),
        FieldSpec("holder", "ohm", (0.005, 0.002, 0.02), "sound holder; common practice, no source"),
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
    about="Written inside a run: `lamp H1 21 W` or `lamp H1 4.2 A`. Its `ohms` are those of the lit lamp.",
)

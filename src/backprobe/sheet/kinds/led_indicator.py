"""LED indicator: a diode that lights at a few milliamperes, behind its own resistor."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, Origin, Value
from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind

SLOPE = Value(15.0, 5.0, 40.0, "ohm", Origin("default", "slope of a small LED; from memory"))
TURNED = Value(OPEN, OPEN, OPEN, "ohm", Origin("default", "by design"))
"""The chip of an indicator that stands the wrong way round in its socket."""
NEVER = 1e3
"""Volts that no resistor of an indicator sees: a chip that gives no light at any current."""
LAMP_SHARE = "coil, clutch or lamp faulty: 3 of 62 field accounts; an LED less often than a bulb"


def build(p: PartBuilder) -> None:
    """Resistor, then chip."""
    series = p.resistance("resistor", "anode", "_chip", p.value("resistor"))
    p.junction("chip", "_chip", "cathode", p.value("volts"), SLOPE)
    chip = p.key("chip ohms")
    p.junction("chip turned", "cathode", "_chip", p.value("volts"), TURNED)
    turned = p.key("chip turned ohms")
    across = p.latent("chip shorted", "_chip", "cathode")
    lights, nominal = p.value("lights at"), p.value("resistor").nominal
    # Its light goes with its current, which the resistor shows as volts.
    p.load(
        "led",
        "resistor",
        Value(nominal * lights.nominal, nominal * lights.low, nominal * lights.high, "V", lights.origin),
    )
    p.fault(
        "open inside",
        {chip: (OPEN,)},
        rate=0.6,
        why=LAMP_SHARE,
        repair=f"replace {p.part.name}",
        minutes=10,
        cost=4,
    )
    p.fault(
        "fitted the wrong way round",
        {chip: (OPEN,), turned: (SLOPE.nominal,)},
        rate=0.4,
        why="wrong part or wires swapped: 3 of 62 field accounts; an LED in a bulb's socket has two ways",
        repair=f"turn {p.part.name} in its socket, or change over its two wires",
        minutes=5,
        family="wiring",
    )
    p.fault(
        "chip shorted",
        {across: (0.5,), p.key("working volts"): (NEVER,)},
        rate=0.15,
        why=LAMP_SHARE,
        repair=f"replace {p.part.name}, look for what gave it too many volts",
        minutes=10,
        cost=4,
    )
    p.fault(
        "resistor too great or drifted",
        {series: tuple(nominal * k for k in (4.0, 15.0, 60.0))},
        rate=0.2,
        why="indicator for other volts, or a burnt resistor; common practice, no source",
        spread=0.6,
        repair=f"fit an indicator for the machine's volts as {p.part.name}",
        minutes=10,
        cost=4,
    )


KIND = Kind(
    name="LED indicator",
    terminals=("anode", "cathode"),
    passes={"": ("anode", "cathode"), "reversed": ("cathode", "anode")},
    fields=(
        FieldSpec(
            "resistor",
            "ohm",
            (560.0, 330.0, 1500.0),
            "ten to twenty milliamperes at the machine's volts; common practice, no source",
            scales="volts",
        ),
        FieldSpec("volts", "V", (2.1, 1.7, 3.2), "red, yellow, green about 2 V, blue and white about 3 V"),
        FieldSpec(
            "lights at",
            "A",
            (0.002, 0.0005, 0.005),
            "seen in daylight from a few milliamperes; common practice, no source",
        ),
    ),
    words=("led indicator", "led"),
    load=True,
    build=build,
    about="Written inside a run from plus to minus: `LED H3 680 ohm`. A leak makes it glimmer.",
)

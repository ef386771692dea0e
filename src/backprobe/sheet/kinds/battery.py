"""Battery: a source with its own resistance, a state of charge, and a clamp on each post."""

from __future__ import annotations

from dataclasses import replace

from backprobe.sheet.anatomy import OPEN, Origin, Value
from backprobe.sheet.build import CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind

EMPTY_VOLTS, FULL_VOLTS = 11.8, 12.7
"""Rested open-circuit volts of a 12 V lead-acid battery, empty and full [V]; common practice, no source."""
REST_SPREAD = 0.1
"""How far rested volts may be off the straight line between them [V]; common practice, no source."""
CELL_VOLTS = 2.1
"""One lead-acid cell [V]; about 2 V in textbooks. A 24 V machine has twice as many cells, not other ones."""
CLAMP = Value(0.0005, 0.0001, 0.002, "ohm", Origin("default", "clean clamp; common practice, no source"))


def refine(values: dict[str, Value], system_volts: float, given: set[str]) -> None:
    """Volts and resistance from the state of charge, where that is what the sheet says."""
    if "charge" not in given:
        return
    charge = values["charge"]
    why = Origin("assumed", f"rested at {charge.nominal:g} % charge; common practice, no source")
    if "volts" not in given:
        scale = system_volts / 12
        nominal, low, high = (rested_volts(c) for c in (charge.nominal, charge.low, charge.high))
        values["volts"] = Value(
            nominal * scale, (low - REST_SPREAD) * scale, (high + REST_SPREAD) * scale, "V", why
        )
    if "resistance" not in given:
        # The acid of an empty battery is near to water: about twice the resistance of a full one.
        factor = 2 - min(max(charge.nominal, 0.0), 100.0) / 100
        full = values["resistance"]
        values["resistance"] = replace(
            full, nominal=full.nominal * factor, low=full.low * factor, high=full.high * factor, origin=why
        )


def rested_volts(charge: float) -> float:
    """Open-circuit volts of a rested 12 V lead-acid battery at a state of charge [%], as volts [V]."""
    share = min(max(charge, 0.0), 100.0) / 100
    return EMPTY_VOLTS + share * (FULL_VOLTS - EMPTY_VOLTS)


def build(p: PartBuilder) -> None:
    """Cells between the posts, and a clamp on either; a run meets the clamps."""
    volts = p.parameter("volts", p.value("volts"))
    _, ohms = p.source("cell", "post +", "post -", volts, p.value("resistance"))
    clamps = {
        "plus": p.resistance("plus clamp", "post +", "+", CLAMP),
        "minus": p.resistance("minus clamp", "-", "post -", CLAMP),
    }
    scale = p.system_volts / 12
    nominal = p.value("resistance").nominal
    rested = p.value("volts").nominal
    p.fault(
        "weak under load",
        {ohms: tuple(nominal * k for k in (5.0, 15.0, 50.0, 150.0, 500.0))},
        rate=2.0,
        why="source too weak: 3 of 62 field accounts, shared with low charge; old, sulphated or frozen",
        spread=0.55,
        repair="load-test the battery and its posts, charge or replace it",
        minutes=30,
        cost=120,
        family="source",
    )
    p.fault(
        "low charge",
        {volts: tuple(scale * v for v in (11.3, 10.5, 9.5, 8.0, 6.0))},
        rate=1.5,
        why="source too weak: 3 of 62 field accounts, shared with a weak battery",
        repair="charge the battery, find what drained it, test it again",
        minutes=60,
        family="source",
    )
    p.fault(
        "one cell dead",
        {volts: (rested - CELL_VOLTS,), ohms: (3 * nominal,)},
        rate=0.4,
        why="source too weak: 3 of 62 field accounts, one dead cell the rarer way",
        repair="charge and rest it: if it stays two volts short, replace the battery",
        minutes=60,
        cost=120,
        family="source",
    )
    for post, clamp in clamps.items():
        p.fault(
            f"{post} clamp loose or corroded",
            {clamp: (*RESISTIVE, OPEN)},
            rate=0.7,
            why="high resistance in a joint: 12 of 62 field accounts, battery posts named among them",
            spread=CELL_SPREAD,
            repair=f"take off the {post} clamp, minus first, clean post and clamp bright, refit tight",
            minutes=10,
            cost=1,
            family="copper",
        )


KIND = Kind(
    name="battery",
    terminals=("+", "-", "post +", "post -"),
    passes={"": ("-", "+")},
    fields=(
        FieldSpec(
            "volts",
            "V",
            (12.6, 11.9, 13.3),
            "rested to lightly charged lead-acid; common practice, no source",
            scales="volts",
        ),
        FieldSpec(
            "resistance",
            "ohm",
            (0.02, 0.01, 0.04),
            "battery of a small machine; common practice, no source",
        ),
        FieldSpec("charge", "%"),
    ),
    build=build,
    refine=refine,
    about=(
        "The source. Every run that starts at battery+ meets it at its clamp; leads also reach its posts, "
        "`battery+ post` and `battery- post`."
    ),
)

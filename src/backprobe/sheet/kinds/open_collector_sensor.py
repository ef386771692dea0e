"""Open-collector sensor: three wires, its output pulled to ground (NPN) or to supply (PNP)."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.sheet.anatomy import OPEN, Attached
from backprobe.sheet.build import CELL_SPREAD, PartBuilder
from backprobe.sheet.kind import CLOSED, TEXT, FieldSpec, Kind
from backprobe.sheet.kinds import _sensor_faults as faults
from backprobe.sheet.kinds._contacts import closed_gates, opposite_gates
from backprobe.sheet.kinds._sensor_faults import NOT_FITTED
from backprobe.sheet.kinds._three_wire import (
    SUPPLY_FIELDS,
    TARGET_FIELD,
    SupplySide,
    dies_of_its_supply,
    supply_side,
)


@dataclass(frozen=True, slots=True)
class Output:
    """Keys of the output stage: pulled by the target, by hand, and its leak at rest."""

    on: str
    by_hand: str
    off: str
    far: str


def build(p: PartBuilder) -> None:
    """An output resistance that switches while the sensor has supply and sees its target."""
    side = supply_side(p)
    pnp = p.part.texts.get("type", "NPN").upper() == "PNP"
    far, other = (side.plus, side.minus) if pnp else (side.minus, side.plus)
    pulled = p.value("pulled ohms")
    seen = closed_gates(p.part.closed)
    output = Output(
        p.resistance("output pulled", "output", far, pulled, *side.powered, *seen),
        p.resistance("output pulled by hand", "output", far, pulled, *side.powered, Attached(p.part.name)),
        p.resistance("output at rest", "output", far, p.value("rest ohms")),
        far,
    )
    _before_the_face(p, output)
    _inside(p, output)
    dies_of_its_supply(p, side, output.off)
    _another_type(p, output, side, other)


def _before_the_face(p: PartBuilder, output: Output) -> None:
    unseen = {output.on: (OPEN,)}
    faults.gap_too_wide(p, unseen)
    faults.target_missing(p, unseen)
    faults.comes_and_goes(p, unseen)
    faults.keeper_left_on(p, {**unseen, output.by_hand: (OPEN,)})


def _inside(p: PartBuilder, output: Output) -> None:
    dead = {output.on: (OPEN,), output.by_hand: (OPEN,)}
    faults.worn_out(p, "does not switch", dead, 1.2)
    stuck = p.latent("output stuck", "output", output.far)
    faults.worn_out(p, "stuck on", {stuck: (10.0, 300.0)}, 0.6, spread=CELL_SPREAD)
    faults.worn_out(p, "output broken inside", {**dead, output.off: (OPEN,)}, 0.6)
    rest, pulled = p.value("rest ohms").nominal, p.value("pulled ohms").nominal
    # Between what a sound one leaks and what a pulled one passes, else there is nothing to tell.
    leaks = tuple(v for v in (1e3, 3e3, 1e4, 3e4, 1e5) if 3 * pulled < v < rest / 3)
    if leaks:
        why = faults.SENSOR_SHARE + ", drifted the rarer way"
        faults.worn_out(p, "leaks at rest", {output.off: leaks}, 0.2, why=why, spread=CELL_SPREAD)


def _another_type(p: PartBuilder, output: Output, side: SupplySide, other: str) -> None:
    pulled = p.value("pulled ohms").nominal
    seen = closed_gates(p.part.closed)
    hand = Attached(p.part.name)
    wrong = p.resistance("output pulled the other way", "output", other, NOT_FITTED, *side.powered, *seen)
    by_hand = p.resistance(
        "output pulled the other way by hand", "output", other, NOT_FITTED, *side.powered, hand
    )
    turned = {output.on: (OPEN,), output.by_hand: (OPEN,), wrong: (pulled,), by_hand: (pulled,)}
    faults.wrong_part(p, "wrong type fitted (NPN for PNP)", turned, 0.4)
    away = Attached(p.part.name, inverted=True)
    driven = [
        p.resistance(
            f"output driven at rest {k + 1}", "output", other, NOT_FITTED, *side.powered, *gates, away
        )
        for k, gates in enumerate(opposite_gates(p.part.closed))
    ]
    if driven:
        faults.wrong_part(p, "push-pull type fitted", {key: (pulled,) for key in driven}, 0.15)


FIELDS = (
    *SUPPLY_FIELDS,
    TARGET_FIELD,
    FieldSpec("pulled ohms", "ohm", (30.0, 5.0, 200.0), "saturated transistor; common practice, no source"),
    FieldSpec("rest ohms", "ohm", (1e6, 2e5, 1e7), "leak of an open transistor; from memory"),
    FieldSpec("pulls", shape=CLOSED),
    FieldSpec("type", shape=TEXT, choices=("NPN", "PNP", "npn", "pnp")),
)

KIND = Kind(
    name="open-collector sensor",
    terminals=("supply", "output", "ground"),
    passes={},
    fields=FIELDS,
    words=("npn sensor", "pnp sensor", "switching sensor"),
    build=build,
    about="`pulls` names the operator states in which the output is pulled. "
    "A `supply` with two ends says from what to what volts it works. `target` says what is held to its "
    "face for a check: steel when missing.",
)

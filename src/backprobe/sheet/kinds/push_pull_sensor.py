"""Push-pull sensor: three wires, its output driven to supply or to ground, never let go."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, Attached
from backprobe.sheet.build import CELL_SPREAD, PartBuilder
from backprobe.sheet.kind import CLOSED, TEXT, FieldSpec, Kind
from backprobe.sheet.kinds import _sensor_faults as faults
from backprobe.sheet.kinds._contacts import closed_gates, opposite_gates
from backprobe.sheet.kinds._sensor_faults import NOT_FITTED
from backprobe.sheet.kinds._three_wire import SUPPLY_FIELDS, TARGET_FIELD, dies_of_its_supply, supply_side


def build(p: PartBuilder) -> None:
    """One of two output transistors conducts: one with the target seen, the other without it."""
    side = supply_side(p)
    gives_high = p.part.texts.get("target gives", "high") == "high"
    seen_end, rest_end = (side.plus, side.minus) if gives_high else (side.minus, side.plus)
    driven = p.value("driven ohms")
    hand, away = Attached(p.part.name), Attached(p.part.name, inverted=True)
    seen: list[str] = []
    rest: list[str] = []
    # High in all the positions together; low as soon as one control stands elsewhere.
    high_sets = [closed_gates(p.part.closed)] if p.part.closed else []
    low_sets = opposite_gates(p.part.closed)
    for word, end, gate_sets in (("high", side.plus, high_sets), ("low", side.minus, low_sets)):
        keys = seen if (word == "high") == gives_high else rest
        for k, gates in enumerate(gate_sets):
            label = f"output driven {word} {k + 1}"
            keys.append(p.resistance(label, "output", end, driven, *side.powered, *gates, away))
    by_hand = p.resistance("output driven by hand", "output", seen_end, driven, *side.powered, hand)
    unseen = p.resistance("output with nothing seen", "output", rest_end, NOT_FITTED, *side.powered, away)
    blind = p.resistance("output of a blind sensor", "output", rest_end, NOT_FITTED, *side.powered)
    on = (driven.nominal,)
    never = {key: (OPEN,) for key in seen}
    lost = {**never, unseen: on}
    faults.gap_too_wide(p, lost)
    faults.target_missing(p, lost)
    faults.comes_and_goes(p, lost)
    dead = {**never, by_hand: (OPEN,), blind: on}
    faults.keeper_left_on(p, dead)
    faults.worn_out(p, "does not switch", dead, 1.2)
    stuck = p.resistance("output stuck", "output", seen_end, NOT_FITTED, *side.powered)
    faults.worn_out(p, "stuck on", {**{key: (OPEN,) for key in rest}, stuck: on}, 0.6)
    silent = {key: (OPEN,) for key in (*seen, *rest, by_hand)}
    faults.worn_out(p, "output broken inside", silent, 0.6)
    weak = tuple(k * driven.nominal for k in (10.0, 30.0, 100.0))
    faults.worn_out(p, "output weak", dict.fromkeys((*seen, *rest, by_hand), weak), 0.3, spread=CELL_SPREAD)
    dies_of_its_supply(p, side)
    high = seen if gives_high else rest
    low = rest if gives_high else seen
    for word, lost_side, by_target in (("low", high, gives_high), ("high", low, not gives_high)):
        changes = {key: (OPEN,) for key in (*lost_side, *([by_hand] if by_target else []))}
        if changes:
            faults.wrong_part(p, f"open-collector type fitted (only pulls {word})", changes, 0.2)


KIND = Kind(
    name="push-pull sensor",
    terminals=("supply", "output", "ground"),
    passes={},
    fields=(
        *SUPPLY_FIELDS,
        TARGET_FIELD,
        FieldSpec("driven ohms", "ohm", (60.0, 15.0, 250.0), "output transistor that is on; common practice"),
        FieldSpec("high", shape=CLOSED),
        FieldSpec("target gives", shape=TEXT, choices=("high", "low")),
    ),
    words=("push pull sensor",),
    build=build,
    about="`high` names the operator states in which its output is driven to supply; in all others it is "
    "driven to ground. `target gives` says which of the two its target makes: high when missing.",
)

"""Two-wire sensor after IEC 60947-5-6: it tells what it sees by the current it lets through.

The standard fixes that current where the sensor is fed from 8.2 V through 1 kohm. It is modelled as
the resistance that meets this load line at each current, R = U/I - Rs: linear in every mode, no
current without supply, and what an ohmmeter or a low supply would see is at least of the right kind.
A constant current would be exact away from 8.2 V, where the standard says nothing.
"""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, AtPosition, Attached, Gate, Origin, Value
from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import LEVELS, TEXT, FieldSpec, Kind
from backprobe.sheet.kinds import _sensor_faults as faults

STUCK_AMPS = (0.5e-3, 1.0e-3, 1.65e-3, 2.2e-3, 3.0e-3)
"""From well inside `actuated` to well inside `not actuated`, and the middle of neither [A]."""
UNKNOWN = Value(1.5e-3, 0.5e-3, 3e-3, "A", Origin("default", "no current is stated"))
"""The current of a sensor of which nothing is said [A]."""
SHORT = (1.0, 30.0, 300.0)
"""Up to 367 ohm the loop carries its 6 mA and is taken for shorted [ohm]."""
LEAKS = (1e6, 1e5, 3e4, 1e4, 3e3)
"""From the least insulation that the standard allows downwards [ohm]."""


def build(p: PartBuilder) -> None:
    """A resistance for each operator state, one with metal held to the face, and the ways to lose them."""
    metal_takes = min if p.part.texts.get("with metal", "low") == "low" else max
    bare_takes = max if metal_takes is min else min
    away: Gate = Attached(p.part.name, inverted=True)
    body: dict[str, float] = {}
    for state, level in p.part.levels.items():
        gate = AtPosition(state.control, frozenset({state.position}))
        body[p.resistance(f"body at {state}", "1", "2", _ohms(p, level), gate, away)] = level.nominal
    if not body:
        body[p.resistance("body", "1", "2", _ohms(p, UNKNOWN), away)] = UNKNOWN.nominal
    listed = p.part.levels.values()
    seen = metal_takes(listed, key=lambda v: v.nominal, default=UNKNOWN)
    bare = bare_takes(listed, key=lambda v: v.nominal, default=UNKNOWN).nominal
    by_hand = p.resistance("body with metal held to it", "1", "2", _ohms(p, seen), Attached(p.part.name))
    missed = {key: (_ohm(p, bare),) for key, amps in body.items()}
    if seen.nominal != bare:
        between = (seen.nominal * bare) ** 0.5
        near = {
            key: (_ohm(p, bare), _ohm(p, between)) if amps == seen.nominal else (_ohm(p, amps),) * 2
            for key, amps in body.items()
        }
        faults.gap_too_wide(p, near)
        faults.target_missing(p, missed)
        faults.comes_and_goes(p, missed)
        faults.keeper_left_on(p, {key: (_ohm(p, seen.nominal),) for key in body})
    stuck = tuple(_ohm(p, amps) for amps in STUCK_AMPS)
    faults.worn_out(p, "current stuck", dict.fromkeys((*body, by_hand), stuck), 1.0, spread=0.2)
    faults.worn_out(p, "open inside", dict.fromkeys((*body, by_hand), (OPEN,)), 0.8)
    short = p.latent("shorted", "1", "2")
    faults.worn_out(p, "shorted inside", {short: SHORT}, 0.5, spread=1.0)
    leak = p.latent("insulation", "1", "2")
    p.fault(
        "insulation leaks",
        {leak: LEAKS},
        rate=0.3,
        why="wet sensor or lead; common practice, no source",
        spread=0.7,
        repair=f"dry and seal the lead and plug of {p.part.name}, else replace it",
        minutes=20,
        cost=60,
    )
    _wrong_family(p, body, by_hand, seen.nominal, bare)


def _wrong_family(p: PartBuilder, body: dict[str, float], by_hand: str, seen: float, bare: float) -> None:
    """The type whose current goes the other way with metal before its face."""
    turned = {key: (_ohm(p, bare if amps == seen else seen),) for key, amps in body.items()}
    if seen != bare and turned:
        changes = {**turned, by_hand: (_ohm(p, bare),)}
        faults.wrong_part(p, "wrong type fitted (current the other way round)", changes, 0.3)


def _ohm(p: PartBuilder, amps: float) -> float:
    """The resistance that lets this current through on the load line [ohm]; at least 1 ohm."""
    # `0..1 mA` is how a leaflet says it; a microampere is as good as none.
    return max(p.value("supply").nominal / max(amps, 1e-6) - p.value("source ohms").nominal, 1.0)


def _ohms(p: PartBuilder, amps: Value) -> Value:
    """The same with its tolerance: the higher current is the lower resistance."""
    return Value(_ohm(p, amps.nominal), _ohm(p, amps.high), _ohm(p, amps.low), "ohm", amps.origin)


KIND = Kind(
    name="two-wire sensor",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(
        FieldSpec("supply", "V", (8.2, 7.8, 8.6), "load line of IEC 60947-5-6; from memory"),
        FieldSpec("source ohms", "ohm", (1e3, 950.0, 1050.0), "load line of IEC 60947-5-6; from memory"),
        FieldSpec("amps", "A", shape=LEVELS),
        FieldSpec("with metal", shape=TEXT, choices=("low", "high")),
    ),
    words=("two wire sensor", "current sensor"),
    build=build,
    about="`amps` gives the current in each operator state, fed from `supply` through `source ohms`: at most "
    "1 mA with metal before its face, at least 2.2 mA without. `with metal: high` is the other type.",
)

"""Coil pick-up: a winding round a magnet that makes its own alternating volts at a toothed wheel.

Standing still it is a resistance and nothing else. `volts` says what a meter on AC shows while the
wheel turns, with the pick-up alone on its leads; without it only the winding can be judged.
"""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, AtPosition, Gate, Value
from backprobe.sheet.build import CELL_SPREAD, PartBuilder
from backprobe.sheet.kind import LEVELS, FieldSpec, Kind
from backprobe.sheet.kinds._sensor_faults import Changes, worn_out

TURNING = "sensor gap or travel wrong: 2 of 62 field accounts, 11 of 50 manual pages"
JOINT = 1e-3


def build(p: PartBuilder) -> None:
    """A winding in series with what it makes in each operator state."""
    winding = p.resistance("winding", "1", "_tip", p.value("ohms"))
    made = _made_volts(p)
    nominal = p.value("ohms").nominal
    worn_out(p, "winding open", {winding: (OPEN,)}, 1.0)
    turns = tuple(nominal * k for k in (0.7, 0.4, 0.15))
    worn_out(p, "turns shorted", {winding: turns}, 0.5, spread=0.3)
    short = p.latent("winding shorted", "1", "2")
    worn_out(p, "winding shorted", {short: (0.5, 10.0)}, 0.4, spread=CELL_SPREAD)
    ground = p.latent("winding to case", "_tip", "frame")
    worn_out(p, "winding touches its case", {ground: (1.0, 100.0, 1e4)}, 0.3, spread=1.0)
    if not made:
        return
    _weak(p, "metal dust on its tip", _times(made, (0.7, 0.4, 0.15)), 0.6, f"clean the tip of {p.part.name}")
    _weak(p, "gap too wide", _times(made, (0.5, 0.2, 0.05)), 1.0, f"set the gap of {p.part.name}")
    _weak(p, "tooth wheel loose or missing", _times(made, (0.0,)), 0.3, f"look behind {p.part.name}")


def _made_volts(p: PartBuilder) -> dict[str, float]:
    """A source for each state with `volts`, and a plain joint in all others."""
    made: dict[str, float] = {}
    turning: dict[str, set[str]] = {}
    for state, level in p.part.levels.items():
        volts = p.parameter(f"volts at {state}", level)
        gate = AtPosition(state.control, frozenset({state.position}))
        joint = Value(JOINT, JOINT, JOINT, "ohm", level.origin)
        p.source(f"made at {state}", "_tip", "2", volts, joint, gate)
        made[volts] = level.nominal
        turning.setdefault(state.control, set()).add(state.position)
    gates: tuple[Gate, ...] = tuple(
        AtPosition(control, frozenset(positions), inverted=True) for control, positions in turning.items()
    )
    p.resistance("standing still", "_tip", "2", Value(JOINT, JOINT, JOINT, "ohm"), *gates)
    return made


def _times(made: dict[str, float], factors: tuple[float, ...]) -> Changes:
    return {key: tuple(volts * k for k in factors) for key, volts in made.items()}


def _weak(p: PartBuilder, mode: str, changes: Changes, rate: float, repair: str) -> None:
    p.fault(mode, changes, rate=rate, why=TURNING, repair=repair, minutes=15)


KIND = Kind(
    name="coil pick-up",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(
        FieldSpec(
            "ohms",
            "ohm",
            (900.0, 200.0, 2500.0),
            "windings of pick-ups, 200 ohm to 2.5 kohm; common practice, no source",
            matters="its own resistance when cold?",
            copper=True,
        ),
        FieldSpec("volts", "V", shape=LEVELS),
    ),
    words=("coil pickup", "magnetic pick-up", "reluctance pick-up"),
    build=build,
    about="A still reading gives its ohms only. `volts` says what a meter on AC shows at it, alone, in the "
    "operator states in which the wheel turns.",
)

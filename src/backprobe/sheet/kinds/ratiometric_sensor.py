"""Ratiometric sensor: three wires, its output a share of its supply."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, AtPosition, InMode, Value
from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import LEVELS, FieldSpec, Kind
from backprobe.sheet.kinds._three_wire import SUPPLY_FIELDS, supply_side

SENSOR_SHARE = "sensor worn, gap or travel wrong: 2 of 62 field accounts, 11 of 50 manual pages"
STUCK_AT = (0.02, 0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9, 0.98)


def build(p: PartBuilder) -> None:
    """For each operator state a divider from supply to ground, there while the sensor has supply."""
    powered = InMode(supply_side(p))
    total = p.value("output ohms")
    upper: dict[str, float] = {}
    lower: dict[str, float] = {}
    for state, level in p.part.levels.items():
        gate = AtPosition(state.control, frozenset({state.position}))
        slack = max((level.high - level.low) / 2, 0.01)
        for side, share, found in (("upper", 1 - level.nominal, upper), ("lower", level.nominal, lower)):
            ohms = max(share, 5e-3) * total.nominal
            width = min(slack / max(share, 5e-3), 0.5)
            value = Value(ohms, ohms * (1 - width), ohms * (1 + width), "ohm", level.origin)
            ends = ("supply", "output") if side == "upper" else ("output", "ground")
            found[p.resistance(f"{side} share at {state}", *ends, value, powered, gate)] = share
    p.fault(
        "output stuck",
        {
            **{k: tuple((1 - s) * total.nominal for s in STUCK_AT) for k in upper},
            **{k: tuple(s * total.nominal for s in STUCK_AT) for k in lower},
        },
        rate=1.6,
        why=SENSOR_SHARE,
        repair=f"look for a lost or blocked target of {p.part.name}, else replace it",
        spread=0.2,
        minutes=20,
        cost=60,
    )
    shifts = (-0.3, -0.2, -0.1, 0.1, 0.2, 0.3)
    p.fault(
        "target out of line",
        {
            **{k: tuple(max(s - d, 0.02) * total.nominal for d in shifts) for k, s in upper.items()},
            **{k: tuple(max(s + d, 0.02) * total.nominal for d in shifts) for k, s in lower.items()},
        },
        rate=2.4,
        why=SENSOR_SHARE + "; worn bushings and bent brackets before the sensor",
        repair=f"align the target of {p.part.name}, look for worn pivots",
        spread=0.15,
        minutes=20,
    )
    p.fault(
        "wrong family fitted (output the other way round)",
        {
            **{k: (s * total.nominal,) for k, s in ((k, max(1 - s, 5e-3)) for k, s in upper.items())},
            **{k: (s * total.nominal,) for k, s in ((k, max(1 - s, 5e-3)) for k, s in lower.items())},
        },
        rate=0.4,
        why="wrong part, wrong sensor family: 3 of 62 field accounts, shared with swapped wires",
        repair=f"fit the type of {p.part.name} that the maker names",
        minutes=20,
        cost=60,
        family="wiring",
    )
    p.fault(
        "output broken inside",
        {k: (OPEN,) for k in (*upper, *lower)},
        rate=0.6,
        why=SENSOR_SHARE,
        repair=f"replace {p.part.name}",
        minutes=20,
        cost=60,
    )


KIND = Kind(
    name="ratiometric sensor",
    terminals=("supply", "output", "ground"),
    passes={},
    fields=(
        *SUPPLY_FIELDS,
        FieldSpec("output ohms", "ohm", (1000.0, 500.0, 2000.0), "output stage; from memory"),
        FieldSpec("output", "%", shape=LEVELS),
    ),
    words=("hall sensor", "angle sensor", "position sensor"),
    build=build,
    about="`output` gives its share of the supply in each operator state.",
)

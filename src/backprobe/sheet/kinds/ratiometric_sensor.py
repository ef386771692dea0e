"""Ratiometric sensor: three wires, its output a share of its supply."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from backprobe.sheet.anatomy import OPEN, AtPosition, Attached, Gate, Origin, Value
from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import LEVELS, FieldSpec, Kind
from backprobe.sheet.kinds import _sensor_faults as faults
from backprobe.sheet.kinds._sensor_faults import SENSOR_SHARE, toward
from backprobe.sheet.kinds._three_wire import SUPPLY_FIELDS, TARGET_FIELD, dies_of_its_supply, supply_side
from backprobe.sheet.model import State

STUCK_AT = (0.02, 0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9, 0.98)
SHIFTS = (-0.3, -0.2, -0.1, 0.1, 0.2, 0.3)
DRIFTS = (-0.1, -0.05, 0.05, 0.1)
LEAST_SHARE = 5e-3
UNKNOWN = Value(0.5, 0.05, 0.95, "", Origin("default", "no level is stated"))
"""The level of a sensor of which nothing is said [1]."""
BY_HAND = Value(0.5, 0.05, 5.0, "", Origin("default", "what a magnet in the hand makes of it is not known"))
"""Share of the output stage on either side of the output while a magnet is held to the face [1]."""


@dataclass(frozen=True, slots=True)
class Stage:
    """The output stage: for each operator state a divider from supply to ground, and one by hand.

    Parameters
    ----------
    pairs
        Keys of the upper and the lower resistance and the level [1] of each state.
    hand
        Keys of the divider while a magnet is held to the face.
    ohms
        Both resistances together [ohm].
    """

    pairs: tuple[tuple[str, str, float], ...]
    hand: tuple[str, str]
    ohms: float

    def moved(self, move: Callable[[float], tuple[float, ...]]) -> dict[str, tuple[float, ...]]:
        """Changes that take each level to those that `move` makes of it."""
        found: dict[str, tuple[float, ...]] = {}
        for upper, lower, level in self.pairs:
            found |= self._divider(upper, lower, move(level))
        return found

    def blind(self, levels: tuple[float, ...]) -> dict[str, tuple[float, ...]]:
        """Changes that hold the output at a level whatever is before the face."""
        return self.moved(lambda _: levels) | self._divider(*self.hand, levels)

    def gone(self) -> dict[str, tuple[float, ...]]:
        """Changes that take the output stage away."""
        keys = (*(k for upper, lower, _ in self.pairs for k in (upper, lower)), *self.hand)
        return {key: (OPEN,) for key in keys}

    def _divider(self, upper: str, lower: str, levels: tuple[float, ...]) -> dict[str, tuple[float, ...]]:
        kept = [min(max(x, LEAST_SHARE), 1 - LEAST_SHARE) for x in levels]
        return {upper: tuple((1 - x) * self.ohms for x in kept), lower: tuple(x * self.ohms for x in kept)}


def build(p: PartBuilder) -> None:
    """For each operator state a divider from supply to ground, there while the sensor has supply."""
    side = supply_side(p)
    total = p.value("output ohms").nominal
    away: Gate = Attached(p.part.name, inverted=True)

    def share(label: str, of: Value, *gates: Gate) -> str:
        ends = (side.plus, "output") if label.startswith("upper") else ("output", side.minus)
        value = Value(of.nominal * total, of.low * total, of.high * total, "ohm", of.origin)
        return p.resistance(label, *ends, value, *side.powered, *gates)

    pairs: list[tuple[str, str, float]] = []
    known: list[tuple[State | None, Value]] = [*p.part.levels.items()] or [(None, UNKNOWN)]
    for state, level in known:
        where: str = "any position"
        gates: tuple[Gate, ...] = (away,)
        if state is not None:
            where, gates = str(state), (AtPosition(state.control, frozenset({state.position})), away)
        slack = max((level.high - level.low) / 2, 0.01)
        upper = share(f"upper share at {where}", _side(1 - level.nominal, slack, level.origin), *gates)
        lower = share(f"lower share at {where}", _side(level.nominal, slack, level.origin), *gates)
        pairs.append((upper, lower, level.nominal))
    by_hand = Attached(p.part.name)
    hand = (share("upper share by hand", BY_HAND, by_hand), share("lower share by hand", BY_HAND, by_hand))
    stage = Stage(tuple(pairs), hand, total)
    _before_the_face(p, stage)
    _inside(p, stage)
    dies_of_its_supply(p, side)


def _side(share: float, slack: float, origin: Origin) -> Value:
    """One side of a divider: its share of the whole, as sure as the level is [1]."""
    kept = max(share, LEAST_SHARE)
    width = min(slack / kept, 0.5)
    return Value(kept, kept * (1 - width), kept * (1 + width), "", origin)


def _before_the_face(p: PartBuilder, stage: Stage) -> None:
    null = p.value("null").nominal / 100
    p.fault(
        "target out of line",
        stage.moved(lambda x: tuple(x + d for d in SHIFTS)),
        rate=2.4,
        why=SENSOR_SHARE + "; worn bushings and bent brackets before the sensor",
        repair=f"align the target of {p.part.name}, look for worn pivots",
        spread=0.15,
        minutes=20,
    )
    if any(abs(level - null) > 0.03 for _, _, level in stage.pairs):
        faults.gap_too_wide(p, stage.moved(lambda x: toward(x, null, (0.75, 0.5, 0.25))))
        faults.target_missing(p, stage.moved(lambda _: (null,)))
        faults.keeper_left_on(p, stage.blind((null,)))
        slopes = (0.5, 0.7, 1.4)
        faults.wrong_part(
            p, "type of another slope fitted", stage.moved(lambda x: toward(x, null, slopes)), 0.2
        )
    if any(abs(level - 0.5) > 0.03 for _, _, level in stage.pairs):
        turned = stage.moved(lambda x: (1 - x,))
        faults.wrong_part(p, "wrong family fitted (output the other way round)", turned, 0.4)


def _inside(p: PartBuilder, stage: Stage) -> None:
    p.fault(
        "output stuck",
        stage.blind(STUCK_AT),
        rate=1.0,
        why=SENSOR_SHARE,
        repair=f"replace {p.part.name}",
        spread=0.2,
        minutes=20,
        cost=60,
    )
    drifted = stage.moved(lambda x: tuple(x + d for d in DRIFTS))
    faults.worn_out(p, "drifted", drifted, 0.5, spread=0.1)
    faults.worn_out(p, "output broken inside", stage.gone(), 0.6)


KIND = Kind(
    name="ratiometric sensor",
    terminals=("supply", "output", "ground"),
    passes={},
    face="magnet",
    fields=(
        *SUPPLY_FIELDS,
        TARGET_FIELD,
        FieldSpec("output ohms", "ohm", (1000.0, 500.0, 2000.0), "output stage; from memory"),
        FieldSpec(
            "null", "%", (50.0, 46.0, 54.0), "a Hall sensor with no field gives half its supply; from memory"
        ),
        FieldSpec("output", "%", shape=LEVELS),
    ),
    words=("hall sensor", "angle sensor", "position sensor"),
    build=build,
    about="`output` gives its share of the supply in each operator state, `null` that with no target. "
    "`target` says what is held to its face for a check: a magnet when missing.",
)

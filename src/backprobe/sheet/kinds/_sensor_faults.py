"""Faults that sensors share: before the face, inside, and another type fitted.

Some leave the same volts and are still faults of their own, because what is done about them
differs; a look at the target, or steel held by hand, tells them apart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from backprobe.sheet.anatomy import OPEN, Origin, Value
from backprobe.sheet.build import PartBuilder

SENSOR_SHARE = "sensor worn, gap or travel wrong: 2 of 62 field accounts, 11 of 50 manual pages"
WRONG_PART = "wrong part, wrong sensor family: 3 of 62 field accounts, shared with swapped wires"

NOT_FITTED = Value(OPEN, OPEN, OPEN, "ohm", Origin("default", "by design"))
"""An output stage that only a wrongly fitted or a faulty sensor has."""

Changes = Mapping[str, tuple[float, ...]]


def gap_too_wide(p: PartBuilder, changes: Changes) -> None:
    """The target passes, but too far from the face."""
    p.fault(
        "gap too wide",
        changes,
        rate=1.8,
        why=SENSOR_SHARE + "; the gap before the sensor",
        repair=f"set the gap of {p.part.name}, look for a bent bracket",
        minutes=15,
    )


def target_missing(p: PartBuilder, changes: Changes) -> None:
    """Nothing comes before the face any more."""
    p.fault(
        "target missing",
        changes,
        rate=1.0,
        why=SENSOR_SHARE + "; a lost target less often than a wide gap",
        repair=f"fit the target of {p.part.name} again, look for what took it off",
        minutes=20,
        cost=15,
    )


def keeper_left_on(p: PartBuilder, changes: Changes) -> None:
    """A new sensor with the shipping metal still on its face: it sees nothing else."""
    p.fault(
        "shipping keeper left on",
        changes,
        rate=0.15,
        why="a new sensor ships with metal on its face; common practice, no source",
        repair=f"take the metal keeper off the face of {p.part.name}",
        minutes=15,
        family="wiring",
    )


def comes_and_goes(p: PartBuilder, changes: Changes) -> None:
    """The target passes beside the face: now it switches, now it does not."""
    p.fault(
        "target out of line, switches now and then",
        changes,
        rate=0.6,
        why=SENSOR_SHARE + "; worn bushings",
        repair=f"align the target of {p.part.name}, look for worn pivots and bushings",
        minutes=20,
    )


def worn_out(
    p: PartBuilder,
    mode: str,
    changes: Changes,
    rate: float,
    *,
    why: str = SENSOR_SHARE,
    spread: float = 0.0,
) -> None:
    """Something inside has failed: a new one is the repair."""
    p.fault(
        mode,
        changes,
        rate=rate,
        why=why,
        spread=spread,
        repair=f"replace {p.part.name}",
        minutes=20,
        cost=60,
    )


def wrong_part(p: PartBuilder, mode: str, changes: Changes, rate: float, *, why: str = WRONG_PART) -> None:
    """Another type than the machine's own was fitted."""
    p.fault(
        mode,
        changes,
        rate=rate,
        why=why,
        repair=f"fit the type of {p.part.name} that the maker names",
        minutes=20,
        cost=60,
        family="wiring",
    )


def toward(share: float, null: float, factors: Sequence[float]) -> tuple[float, ...]:
    """Levels whose distance from `null` is multiplied; within 0.5 % of the ends at most [1]."""
    return tuple(min(max(null + (share - null) * k, 5e-3), 0.995) for k in factors)

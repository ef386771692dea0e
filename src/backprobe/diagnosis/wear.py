"""Wear beside the cause: shared among all the joints that the readings cannot tell apart."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from backprobe.diagnosis.answer import Worn
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.given import Readings

SHOWN = 0.08
MILD = 3.0
"""Wear at which joints are compared [ohm]."""
MOVED = 1.0
"""Meter spreads that wear must move some reading by to be seen in it [1]."""
SAME_SPREADS = 1.0
CAUSE = 0.3
"""Chance of being the cure from which a joint is a suspect and not merely worn."""

Severity = Callable[[int], tuple[float, float, float] | None]


def worn_joints(
    engine: Engine,
    alike: Mapping[int, list[int]],
    present: Mapping[int, float],
    cure: Mapping[tuple[int, ...], float],
    severity: Severity,
) -> tuple[Worn, ...]:
    """What is worn although it is not the cause, most probable first.

    Parameters
    ----------
    alike
        As `alike_joints` gives it.
    present
        Mode to the chance that it is there.
    cure
        Modes repaired together to the chance that this is the cure.
    severity
        Gives a mode's resistance as ``(low, best, high)`` [ohm].
    """
    shared: dict[int, float] = {}
    source: dict[int, int] = {}
    for mode, chance in present.items():
        left = chance - cure.get((mode,), 0.0)
        if mode not in alike or left <= 0:
            continue
        members = alike[mode]
        weight = np.exp(engine.log_extra_of_mode[members])
        for member, part in zip(members, weight / weight.sum(), strict=True):
            shared[member] = shared.get(member, 0.0) + left * float(part)
            source.setdefault(member, mode)
    worn = [
        Worn(engine.catalogue.modes[m].name, chance, severity(m) or severity(source[m]))
        for m, chance in shared.items()
        if chance > SHOWN and cure.get((m,), 0.0) < CAUSE
    ]
    return tuple(sorted(worn, key=lambda w: (-w.present, w.name)))


def alike_at(engine: Engine, readings: Readings, mode: int, others: Sequence[int], ohms: float) -> list[int]:
    """Those of some joints that would show on every number what `mode` shows with so many ohms.

    What looks alike a little worn may be told apart by the same readings once it is badly worn.
    """
    if not readings.numbers:
        return list(others)
    joints = [mode, *others]
    rows = [_nearest_row(engine, m, ohms) for m in joints]
    predicted = [engine.single_number(r).mean for r in readings.numbers]
    shift = np.array([p[rows] - p[0] for p in predicted]).T / np.sqrt(np.diag(readings.noise))
    near = SAME_SPREADS + 0.05 * np.abs(shift[0])
    same = (np.abs(shift[1:] - shift[0]) < near).all(axis=1)
    return [m for m, alike in zip(others, same.tolist(), strict=True) if alike or m == mode]


def _nearest_row(engine: Engine, mode: int, ohms: float) -> int:
    """The row of a joint's mode whose resistance is nearest."""
    grid = np.array(next(iter(engine.catalogue.modes[mode].changes.values())))
    return int(engine.rows_of_mode[mode][int(np.argmin(np.abs(np.log(grid / ohms))))])


def alike_joints(engine: Engine, readings: Readings) -> dict[int, list[int]]:
    """For each joint that can be worn, the joints whose wear would show the same on every number."""
    modes = engine.catalogue.modes
    joints = [m for m, mode in enumerate(modes) if mode.is_wear]
    if not readings.numbers:
        return {m: [m] for m in joints}
    rows = [_nearest_row(engine, m, MILD) for m in joints]
    predicted = [engine.single_number(r).mean for r in readings.numbers]
    shift = np.array([p[rows] - p[0] for p in predicted]).T / np.sqrt(np.diag(readings.noise))
    moved = np.abs(shift).max(axis=1) > MOVED
    found: dict[int, list[int]] = {}
    for a, mode in enumerate(joints):
        near = SAME_SPREADS + 0.05 * np.abs(shift[a])
        same = (np.abs(shift - shift[a]) < near).all(axis=1) & (moved == moved[a])
        found[mode] = [joints[b] for b in np.flatnonzero(same)]
    return found

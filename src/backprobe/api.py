"""The public functions: everything that a screen or a command offers is here first."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from backprobe.circuit.setup import Setup, make_setup
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.builds import next_checks_of_builds, rank_builds
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.plan import DEPTH, STEPS, Plan, make_plan
from backprobe.diagnosis.predict import predict_number, predict_port, selector_of
from backprobe.readings.lines import Context, parse_readings
from backprobe.readings.model import Reading
from backprobe.readings.points import find_point, reachable_points
from backprobe.sheet.model import Sheet

if TYPE_CHECKING:
    from backprobe.circuit.compiled import Floats


def rank(
    sheet: Sheet | Engine, readings: str | Sequence[Reading], *, circumstances: Iterable[str] = ()
) -> Answer:
    """Rank what can be wrong by what was read.

    Parameters
    ----------
    sheet
        A sheet, or an `Engine` made from one (which keeps its solved circuits between calls).
    readings
        Readings, or their typed lines.
    circumstances
        What the complaint says besides: ``wet``, ``after repair``, ``rough ground``, ``after storage``.

    Raises
    ------
    ReadingError
        When typed lines cannot be understood.
    """
    engine = sheet if isinstance(sheet, Engine) else Engine(sheet, circumstances)
    listed = parse_readings(readings, engine.sheet) if isinstance(readings, str) else list(readings)
    return rank_builds(engine, listed)


def next_checks(answer: Answer, count: int = 6, *, without: Collection[str] = ()) -> tuple[Check, ...]:
    """The checks most worth doing after an answer, best first.

    Parameters
    ----------
    count
        How many to return.
    without
        Points, parts and plugs that cannot be reached, by name.
    """
    return next_checks_of_builds(answer, count, without)


def plan(
    sheet: Sheet | Engine,
    complaint: str | Sequence[Reading] = (),
    *,
    depth: int = DEPTH,
    steps: int = STEPS,
    circumstances: Iterable[str] = (),
) -> Plan:
    """A decision tree of checks ahead of time.

    Parameters
    ----------
    sheet
        A sheet, or an `Engine` made from one.
    complaint
        What is dead, and what was read already; without it the first function that should work is
        taken to be dead.
    depth, steps
        Most checks in a row, and in all.
    circumstances
        As for `rank`.

    Raises
    ------
    ReadingError
        When typed lines cannot be understood.
    """
    engine = sheet if isinstance(sheet, Engine) else Engine(sheet, circumstances)
    listed = parse_readings(complaint, engine.sheet) if isinstance(complaint, str) else list(complaint)
    return make_plan(engine, listed, depth, steps)


@dataclass(frozen=True, slots=True)
class Expected:
    """What a sound circuit shows at one point, with the width that tolerances leave.

    Parameters
    ----------
    volts, low, high
        Expected volts and 95 % interval [V].
    ohms
        Resistance seen from the two leads [ohm].
    """

    point: str
    black: str
    volts: float
    low: float
    high: float
    ohms: float


def predict(
    sheet: Sheet | Engine,
    state: Mapping[str, str] | Setup | None = None,
    *,
    points: Sequence[str] = (),
    black: str = "battery-",
    fault: str = "",
) -> tuple[Expected, ...]:
    """What the meter should show, point by point, in one operator state.

    Parameters
    ----------
    state
        Control to position, or a whole setup; controls not named stand at rest.
    points
        Names of points; all reachable ones when empty.
    fault
        ``part: mode`` of a fault to act out (at its middle severity); empty for a sound circuit.

    Raises
    ------
    KeyError
        For an unknown point or fault.
    """
    engine = sheet if isinstance(sheet, Engine) else Engine(sheet)
    setup = state if isinstance(state, Setup) else make_setup(engine.sheet, state)
    names = points or [p.name for p in reachable_points(engine.sheet, setup.unplugged)]
    foot = find_point(black, engine.sheet, setup.unplugged)
    if foot is None:
        raise KeyError(black)
    row = _row_of(engine, fault)
    solution = engine.singles(setup)
    spread: Floats = engine.single_spread[row]
    found: list[Expected] = []
    for name in names:
        point = find_point(name, engine.sheet, setup.unplugged)
        if point is None:
            raise KeyError(name)
        reading = Reading("volts", setup, point.terminal, foot.terminal, point.name, foot.name)
        p = predict_number(solution, reading)
        _, ohms, _ = predict_port(solution, selector_of(engine.circuit, reading))
        volts = float(p.mean[row])
        half = 1.96 * float(np.sqrt(((p.loading[row] * spread) ** 2).sum() + p.extra[row]))
        found.append(Expected(point.name, foot.name, volts, volts - half, volts + half, float(ohms[row])))
    return tuple(found)


def _row_of(engine: Engine, fault: str) -> int:
    if not fault:
        return 0
    for m, mode in enumerate(engine.catalogue.modes):
        if mode.name == fault:
            rows = engine.catalogue.rows_of(m)
            return int(rows[len(rows) // 2])
    raise KeyError(fault)


__all__ = [
    "Answer",
    "Check",
    "Context",
    "Engine",
    "Expected",
    "Plan",
    "Reading",
    "next_checks",
    "plan",
    "predict",
    "rank",
]

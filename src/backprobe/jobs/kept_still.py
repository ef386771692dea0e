"""How an engine is kept from cranking while guards are tried, and where it shows that it would crank."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.cautions import START, small_wire_relays
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.guard_tries import GuardTry
from backprobe.diagnosis.predict import function_works, predict_number
from backprobe.diagnosis.states import WORKS
from backprobe.readings.model import Reading
from backprobe.readings.points import Point, find_point, reachable_points
from backprobe.sheet.model import Sheet

BLACK = "battery-"
NEARLY, NEXT_TO_NONE = 0.7, 0.1
"""Shares of the machine's volts from which a point is taken as live, and up to which as dead [1]; common
practice, no source."""


@dataclass(frozen=True, slots=True)
class Still:
    """What is off while nothing may turn.

    Parameters
    ----------
    relays
        Relays behind which the small wire of the starter is taken off; empty where a plug is.
    plug
        The plug between the relay and what turns the engine; empty where the small wire is off.
    point
        Where volts to `BLACK` mean that it would crank; empty for the loose end of the small wire.
    behind
        Functions that can do nothing while the plug is off.
    """

    relays: tuple[str, ...] = ()
    plug: str = ""
    point: str = ""
    behind: frozenset[str] = frozenset()


def cranks(sheet: Sheet, setup: Setup | None) -> bool:
    """Whether the state, or where none is known any control, is one in which an engine is cranked."""
    if setup is not None:
        return START in dict(setup.state).values()
    return any(START in control.positions for control in sheet.controls.values())


def kept_still(engine: Engine, tries: Sequence[GuardTry]) -> Still | None:
    """What is taken off while the states are tried in which nothing may run; None where nothing can be.

    A plug is only taken that leaves every other function as it is, and at which volts tell the states in
    which the engine may crank from those in which it must not.
    """
    if relays := small_wire_relays(engine.sheet):
        return Still(relays)
    turning = [t for t in tries if t.setup is not None and cranks(engine.sheet, t.setup)]
    works = [t.setup for t in turning if t.works and t.setup is not None]
    held = [t.setup for t in turning if not t.works and t.setup is not None]
    if not works or not held:
        return None
    for plug in engine.sheet.connectors:
        behind = _behind(engine, tries, plug)
        if not any(t.function in behind for t in turning):
            continue
        point = _telling(engine, plug, works, held)
        if point is not None:
            return Still(plug=plug, point=point.name, behind=behind)
    return None


def _behind(engine: Engine, tries: Sequence[GuardTry], plug: str) -> frozenset[str]:
    """Functions that stop with a plug off; none where one is no matter of cranking, or is a relay's."""
    sheet, found = engine.sheet, set()
    for one in tries:
        if not one.works or one.setup is None or _alive(engine, one.setup.without(plug), one.function):
            continue
        function = sheet.functions[one.function]
        relay = any(sheet.parts[n].kind == "relay" for n in function.loads)
        if relay or function.drives or not cranks(sheet, one.setup):
            return frozenset()
        found.add(one.function)
    return frozenset(found)


def _alive(engine: Engine, setup: Setup, function: str) -> bool:
    return bool(function_works(engine.sound(setup), function)[0] > WORKS)


def _telling(engine: Engine, plug: str, works: Collection[Setup], held: Collection[Setup]) -> Point | None:
    """The cavity of an unplugged plug that is live where the engine may crank, and dead where it must not."""
    full = engine.sheet.system_volts
    for point in reachable_points(engine.sheet, {plug}):
        if point.connector != plug or not point.side:
            continue
        on = min(_volts(engine, s.without(plug), point) for s in works)
        off = max(abs(_volts(engine, s.without(plug), point)) for s in held)
        if on > NEARLY * full and off < NEXT_TO_NONE * full:
            return point
    return None


def _volts(engine: Engine, setup: Setup, point: Point) -> float:
    """What a meter shows at a point of the sound circuit [V]."""
    foot = find_point(BLACK, engine.sheet, setup.unplugged)
    if foot is None:
        return 0.0
    reading = Reading("volts", setup, point.terminal, foot.terminal, point.name, foot.name)
    return float(predict_number(engine.sound(setup), reading).mean[0])

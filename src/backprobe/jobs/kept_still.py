"""How an engine is kept from cranking while guards are tried, and where it shows that it would crank."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.cautions import START, small_wire_relays
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.guard_tries import GuardTry
from backprobe.diagnosis.predict import predict_number
from backprobe.jobs.cranking import MUST, MUST_NOT, alive, crankers, cranking, cranks
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
        Functions that crank, and can do nothing while the plug is off.
    """

    relays: tuple[str, ...] = ()
    plug: str = ""
    point: str = ""
    behind: frozenset[str] = frozenset()


def kept_still(engine: Engine, tries: Sequence[GuardTry]) -> Still | None:
    """What is taken off while the states are tried in which nothing may run; None where nothing can be.

    A plug is only taken that leaves every other function as it is, with guards open and shut, and at which
    volts tell the states in which the engine may crank from those in which it must not.
    """
    sheet, turning = engine.sheet, crankers(engine, tries)
    if relays := _small_wires(engine, tries, turning):
        return Still(relays)
    starts = [t for t in tries if t.setup is not None and cranks(sheet, t.setup)]
    told = [(t, cranking(engine, [t], turning)) for t in starts]
    works = [t.setup for t, said in told if t.works and said == MUST and t.setup is not None]
    held = [t.setup for t, said in told if not t.works and said == MUST_NOT and t.setup is not None]
    if not works or not held:
        return None
    for plug in sheet.connectors:
        behind = _behind(engine, starts, plug)
        if not _stops(sheet, turning, behind) or not _else_alike(engine, starts, plug, behind):
            continue
        point = _telling(engine, plug, works, held)
        if point is not None:
            return Still(plug=plug, point=point.name, behind=behind)
    return None


def _small_wires(engine: Engine, tries: Sequence[GuardTry], turning: Collection[str]) -> tuple[str, ...]:
    """Relays that may feed the starter; none where something else cranks, or where one is dead at start."""
    functions = engine.sheet.functions
    relays, named = small_wire_relays(engine.sheet), turning
    if any(not {*relays} & {*functions[n].loads} for n in turning):
        return ()
    if not turning:
        # What works at start and elsewhere too may still be all that the sheet draws of a starter.
        homes = [(t.function, t.setup) for t in tries if t.works and t.setup is not None]
        named = {n for n, home in homes for s in _at_start(engine.sheet, home) if alive(engine, s, n)}
    return tuple(r for r in relays if any(r in functions[n].loads for n in named))


def _at_start(sheet: Sheet, setup: Setup) -> list[Setup]:
    return [setup.moved(n, START) for n, _ in setup.state if START in sheet.controls[n].positions]


def _behind(engine: Engine, starts: Sequence[GuardTry], plug: str) -> frozenset[str]:
    """Functions that work at start and stop with a plug off."""
    return frozenset(
        t.function
        for t in starts
        if t.works and t.setup is not None and not alive(engine, t.setup.without(plug), t.function)
    )


def _stops(sheet: Sheet, turning: Collection[str], behind: Collection[str]) -> bool:
    """Whether a plug stops what turns the engine, and nothing else that is tried.

    A relay before it may go on clicking; one behind it would not be tried at all.
    """
    relays = {n for n in sheet.functions if _is_relay(sheet, n)}
    drives = any(sheet.functions[n].drives for n in behind)
    return bool(behind) and {*behind} == {*turning} - relays and not drives


def _is_relay(sheet: Sheet, function: str) -> bool:
    return any(sheet.parts[n].kind == "relay" for n in sheet.functions[function].loads)


def _else_alike(engine: Engine, starts: Sequence[GuardTry], plug: str, behind: Collection[str]) -> bool:
    """Whether what is held at start stays so without a plug, and all that is not behind it does the same."""
    for one in starts:
        if one.setup is None:
            continue
        off = one.setup.without(plug)
        if not one.works and alive(engine, off, one.function):
            return False
        others = [n for n in engine.sheet.functions if n not in behind]
        if any(alive(engine, off, n) != alive(engine, one.setup, n) for n in others):
            return False
    return True


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

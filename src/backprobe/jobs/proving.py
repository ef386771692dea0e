"""What has to be ticked, each by hand, before a job is closed as repaired and tried."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.cautions import START, small_wire_relays
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.guard_tries import GuardTry, guard_tries
from backprobe.errors import JobError, Problem
from backprobe.jobs.log import JSON, Entry
from backprobe.jobs.repairs import TRIED
from backprobe.sheet.model import Sheet

UNTRIED = "closed without trying the guards"
"""What the record says of a repair after which nobody ticked the tries."""
PLUGGED, SMALL_WIRE, NOTHING_LEFT = "plugged", "small wire", "nothing left"
"""Keys of the ticks that belong to no guard: plugs on, the starter's wire on, no jumper left."""


@dataclass(frozen=True, slots=True)
class Tick:
    """One thing to tick.

    Parameters
    ----------
    key
        What a form or a command sends for it.
    tries
        What is tried in one operator state; empty for what is to be put back.
    """

    key: str
    tries: tuple[GuardTry, ...] = ()

    @property
    def works(self) -> bool:
        """Whether something is tried that must work, every guard shut."""
        return bool(self.tries) and self.tries[0].works


def ticks_of(engine: Engine) -> tuple[Tick, ...]:
    """Everything to tick, in the order in which it is done.

    What must not work comes first, while the starter's small wire is still off: a click is heard, and nothing
    turns. The wire goes back on last, before the engine is meant to crank.
    """
    together: dict[str, list[GuardTry]] = {}
    for one in guard_tries(engine):
        together.setdefault(_key(one), []).append(one)
    sheet = engine.sheet
    tried = [Tick(key, tuple(tries)) for key, tries in together.items()]
    turning = [t for t in tried if t.works and cranks(sheet, t.tries[0].setup)]
    return (
        Tick(PLUGGED),
        *(t for t in tried if not t.works),
        *(t for t in tried if t.works and t not in turning),
        *([Tick(SMALL_WIRE)] if small_wire_relays(sheet) else []),
        *turning,
        Tick(NOTHING_LEFT),
    )


def cranks(sheet: Sheet, setup: Setup | None) -> bool:
    """Whether the state, or where none is known any control, is one in which an engine is cranked."""
    if setup is not None:
        return START in dict(setup.state).values()
    return any(START in control.positions for control in sheet.controls.values())


def _key(one: GuardTry) -> str:
    # Functions that are tried in the same state are tried at once.
    kind = "works" if one.works else "must not"
    if one.setup is None:
        return f"{one.function} {kind}"
    return ", ".join([*(f"{c} {p}" for c, p in one.setup.state), kind])


def check_proof(engine: Engine, ticked: Collection[str]) -> None:
    """Refuse to close as tried until everything is ticked.

    Raises
    ------
    JobError
        With how many are missing.
    """
    missing = [t for t in ticks_of(engine) if t.key not in ticked]
    if missing:
        count = len(missing)
        raise JobError(
            Problem(
                "tried",
                "",
                f"{count} of {len(ticks_of(engine))} on the list {'is' if count == 1 else 'are'} not ticked",
                f"Try and tick each one, or close the job for another reason: it is then {UNTRIED}.",
            )
        )


def closing_data(
    engine: Engine, reason: str, tried: Mapping[str, str], *, repaired: bool
) -> Mapping[str, JSON]:
    """The data of the entry that closes a job.

    Parameters
    ----------
    tried
        Key of each tick to what was ticked, in words.
    repaired
        Whether a repair stands: closed without its tries, the record says so.

    Raises
    ------
    JobError
        When it would be closed as tried and not everything is ticked.
    """
    if reason.casefold() == TRIED:
        check_proof(engine, tried)
        return {"reason": TRIED, "tried": [tried[t.key] for t in ticks_of(engine)]}
    said = reason.removesuffix(UNTRIED).rstrip(" ,")
    if not repaired:
        return {"reason": reason}
    return {"reason": f"{said}, {UNTRIED}" if said else UNTRIED}


def tried_of(entry: Entry | None) -> tuple[str, ...]:
    """What was ticked when a job was closed, in words; empty where nothing was."""
    found = entry.data.get("tried") if entry is not None and entry.kind == "closed" else None
    return tuple(str(t) for t in found) if isinstance(found, list) else ()

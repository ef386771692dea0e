"""What has to be ticked, each by hand, before a job is closed as repaired and tried."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.guard_tries import GuardTry, guard_tries
from backprobe.errors import JobError, Problem
from backprobe.jobs.kept_still import Still, cranks, kept_still
from backprobe.jobs.log import JSON, Entry
from backprobe.jobs.repairs import TRIED

UNTRIED = "closed without trying the guards"
"""What the record says of a repair after which nobody ticked the tries."""
PLUGGED, SMALL_WIRE, NOTHING_LEFT = "plugged", "small wire", "nothing left"
STARTER_PLUG = "starter plug"
"""Keys of the ticks that belong to no guard: plugs on, the starter's wire or its plug on, no jumper left."""


@dataclass(frozen=True, slots=True)
class Tick:
    """One thing to tick.

    Parameters
    ----------
    key
        What a form or a command sends for it.
    tries
        What is tried in one operator state; empty for what is to be put back.
    still
        What keeps the engine from cranking at that moment, or goes back on with this; None for nothing.
    """

    key: str
    tries: tuple[GuardTry, ...] = ()
    still: Still | None = None

    @property
    def works(self) -> bool:
        """Whether something is tried that must work, every guard shut."""
        return bool(self.tries) and self.tries[0].works


def ticks_of(engine: Engine) -> tuple[Tick, ...]:
    """Everything to tick, in the order in which it is done.

    What must not work comes first, while the starter's small wire (or the plug before it) is still off: a
    click is heard, a meter at its end shows volts, and nothing turns. It goes back on last, before the engine
    is meant to crank.
    """
    tries = guard_tries(engine)
    together: dict[str, list[GuardTry]] = {}
    for one in tries:
        together.setdefault(_key(one), []).append(one)
    still, sheet = kept_still(engine, tries), engine.sheet
    turning, before = [], []
    for key, own in together.items():
        if own[0].works and cranks(sheet, own[0].setup):
            turning.append(Tick(key, tuple(own)))
        else:
            before.append(Tick(key, tuple(_without(t, still) for t in own), still))
    before.sort(key=lambda t: t.works)
    back = [Tick(STARTER_PLUG if still.plug else SMALL_WIRE, still=still)] if still is not None else []
    return (Tick(PLUGGED, still=still), *before, *back, *turning, Tick(NOTHING_LEFT))


def _without(one: GuardTry, still: Still | None) -> GuardTry:
    """A try as it is made while the plug before the starter is off."""
    if still is None or not still.plug or one.setup is None:
        return one
    return replace(one, setup=one.setup.without(still.plug))


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

"""What has to be ticked, each by hand, before a job is closed as repaired and tried."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.guard_tries import GuardTry, guard_tries
from backprobe.errors import JobError, Problem
from backprobe.jobs.cranking import crankers, cranking, cranks
from backprobe.jobs.guard_proof import Against, check_against, untried_guards
from backprobe.jobs.kept_still import Still, kept_still
from backprobe.jobs.log import JSON, Entry
from backprobe.jobs.repairs import TRIED, read_words
from backprobe.sheet.model import Sheet

UNTRIED = "closed without trying the guards"
"""What the record says of a repair after which nobody ticked the tries."""
NONE_PROVEN, NOT_EVERY = "repaired, no guard proven", "repaired, not every guard proven"
"""As what a job is closed with every tick where no try of a guard is known, or not of every guard."""
KEPT = 6
"""Engines whose ticks are kept: a page asks for them several times, and they rest on the sheet alone."""
GUARD_FAILED = "closed though a guard failed"
"""What the record says of a job that is closed while a guard is known not to hold."""
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
    crank
        What the engine must or may do meanwhile (`cranking.MUST` and its like); empty for nothing.
    """

    key: str
    tries: tuple[GuardTry, ...] = ()
    still: Still | None = None
    crank: str = ""

    @property
    def works(self) -> bool:
        """Whether something is tried that must work, every guard shut."""
        return bool(self.tries) and self.tries[0].works

    @property
    def guards(self) -> bool:
        """Whether something is tried that must not work, a guard open."""
        return bool(self.tries) and not self.tries[0].works


@lru_cache(maxsize=KEPT)
def ticks_of(engine: Engine) -> tuple[Tick, ...]:
    """Everything to tick, in the order in which it is done.

    What must not work comes first, while the starter's small wire (or the plug before it) is still off: a
    click is heard, a meter at its end shows volts, and nothing turns. The wire goes back on last, before the
    engine is meant to crank; a plug at once after the states at start, for a guard may run through it.
    """
    tries = guard_tries(engine)
    together: dict[str, list[GuardTry]] = {}
    for one in tries:
        together.setdefault(_key(one), []).append(one)
    still, turns, sheet = kept_still(engine, tries), crankers(engine, tries), engine.sheet
    silent, before, turning = [], [], []
    for key, own in together.items():
        crank = cranking(engine, own, turns)
        if own[0].works and cranks(sheet, own[0].setup):
            turning.append(Tick(key, tuple(own), crank=crank))
        elif still is not None and (not still.plug or _off(sheet, own[0])):
            silent.append(Tick(key, tuple(_without(t, still) for t in own), still, crank))
        else:
            before.append(Tick(key, tuple(own), crank=crank))
    silent.sort(key=lambda t: t.works)
    before.sort(key=lambda t: t.works)
    back = [Tick(STARTER_PLUG if still.plug else SMALL_WIRE, still=still)] if still is not None else []
    return (Tick(PLUGGED, still=still), *silent, *back, *before, *turning, Tick(NOTHING_LEFT))


def _off(sheet: Sheet, one: GuardTry) -> bool:
    """Whether a try is made while the plug before the starter is off: at start, where something is held."""
    return not one.works and one.setup is not None and cranks(sheet, one.setup)


def _without(one: GuardTry, still: Still) -> GuardTry:
    """A try as it is made while the plug before the starter is off."""
    if not still.plug or one.setup is None:
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


def proven_as(engine: Engine) -> str:
    """As what a job is closed once everything is ticked: as tried only where every guard has a try."""
    if not any(t.guards for t in ticks_of(engine)):
        return NONE_PROVEN
    return NOT_EVERY if untried_guards(engine) else TRIED


def closing_data(
    engine: Engine,
    reason: str,
    tried: Mapping[str, str],
    *,
    repaired: bool,
    against: Sequence[Against] = (),
    by_hand: str = "",
) -> Mapping[str, JSON]:
    """The data of the entry that closes a job.

    Parameters
    ----------
    tried
        Key of each tick to what was ticked, in words.
    repaired
        Whether a repair stands: closed without its tries, the record says so.
    against
        What forbids to close it as tried.
    by_hand
        What else was tried by hand, in the mechanic's words.

    Raises
    ------
    JobError
        When it would be closed as tried and not everything is ticked, or something stands against it.
    """
    told: dict[str, JSON] = {"by hand": read_words("by hand", by_hand)} if by_hand.strip() else {}
    if reason.casefold() in {TRIED, proven_as(engine)}:
        check_against(against)
        check_proof(engine, tried)
        ticks, untried = ticks_of(engine), untried_guards(engine)
        told |= {"guards": sum(t.guards for t in ticks), **({"untried": untried} if untried else {})}
        return {"reason": proven_as(engine), "tried": [tried[t.key] for t in ticks], **told}
    if any(a.held for a in against):
        return {"reason": _also(reason, GUARD_FAILED), **told}
    return {"reason": _also(reason, UNTRIED) if repaired else reason, **told}


def _also(reason: str, what: str) -> str:
    """A reason, and what the record says besides."""
    said = reason.removesuffix(UNTRIED).removesuffix(what).rstrip(" ,")
    return f"{said}, {what}" if said else what


def tried_of(entry: Entry | None) -> tuple[str, ...]:
    """What was ticked when a job was closed, in words; empty where nothing was."""
    found = entry.data.get("tried") if entry is not None and entry.kind == "closed" else None
    return tuple(str(t) for t in found) if isinstance(found, list) else ()


def by_hand_of(entry: Entry | None) -> str:
    """What else was tried by hand when a job was closed; empty where nobody said."""
    return str(entry.data.get("by hand", "")) if entry is not None and entry.kind == "closed" else ""


def guards_of(entry: Entry | None, engine: Engine) -> tuple[int, int]:
    """How many guards were tried when a job was closed, and how many there are to try."""
    ticks, untried = ticks_of(engine), len(untried_guards(engine))
    now = sum(t.guards for t in ticks)
    if entry is None or not tried_of(entry):
        return 0, now + untried
    kept, left = entry.data.get("guards"), entry.data.get("untried")
    # A record from before guards were counted apart: everything was ticked that was on its list.
    done = kept if isinstance(kept, int) else now
    return done, done + (len(left) if isinstance(left, list) else 0)

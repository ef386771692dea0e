"""Verdicts on a proposed cure, worst first, each with its reasons in plain words."""

from __future__ import annotations

import numpy as np

from backprobe.circuit.compiled import Bools, Ints
from backprobe.circuit.setup import Setup
from backprobe.sheet.model import Function
from backprobe.units import format_quantity
from backprobe.workbench.acts import act_words, open_words
from backprobe.workbench.claim import Cure
from backprobe.workbench.claim_joins import listed
from backprobe.workbench.trial_effects import Seen, Watch

DEFEATS = "defeats the guard"
DAMAGES = "damages"
CODE = "raises a code"
NO_EFFECT = "no effect"
SOUND_TEST = "sound test"
SOUND_REPAIR = "sound repair"
VERDICTS = (DEFEATS, DAMAGES, CODE, NO_EFFECT, SOUND_TEST, SOUND_REPAIR)
RANK = (NO_EFFECT, CODE, DAMAGES, DEFEATS)
"""Verdicts by severity, as `severity` counts them."""
ALL_WELL = "if that is the cause, every function works again with its guard shut, and stops with it open"
MENDS_NOTHING = "nothing that is suspected is mended by it"
NOTHING = "no function, lamp or code changes in any operator state"
NOT_FITTED = "what is not fitted on this build cannot be the cause"
HOLDS = frozenset({"join", "resistor", "source", "fix"})
"""Kinds of cures by which the signal of a guard is made up."""
LOST = "the guard is lost: "
SAFE = (
    "Safe set-up first: engine off, wheels or arms blocked, attachment on the ground, nobody in reach, the "
    "guard itself truly shut."
)
ONLY_TO_SEE = (
    "At most to see for a second whether it clicks or answers, with the starter wire off or the machine "
    "blocked; never to work with it."
)
WORSE = 1.5
"""What was damaged anyway is made worse from this many times its load on [1]."""


def severity(seen: Seen, before: Seen, asked: Bools | None = None) -> Ints:
    """``(c,)`` place in `RANK`: what a cure does that the circuit did not do before it.

    A function let go with its guard open counts whatever the circuit did before: nothing that leaves a
    machine so is called by a milder name. One that runs without being asked, for good, is alike: what
    should stop it no longer does.

    Parameters
    ----------
    asked
        ``(f,)`` functions that a sound machine lets go in this operator state; None for what is done for a
        moment, with people clear.
    """
    found = np.zeros(len(seen.released), np.int64)
    found[(seen.codes & ~before.codes).any(axis=1)] = 1
    found[damaged(seen, before).any(axis=1) | (seen.blown & ~before.blown).any(axis=1)] = 2
    found[seen.opened.any(axis=1)] = 3
    if asked is not None:
        found[unasked(seen, before, asked).any(axis=1)] = 3
    return found


def unasked(seen: Seen, before: Seen, asked: Bools) -> Bools:
    """``(c, f)`` functions that a cure lets go where nothing asks for them."""
    result: Bools = seen.released & ~before.released & ~asked
    return result


def damaged(seen: Seen, before: Seen) -> Bools:
    """``(c, l)`` what bears more than its limit, and did not before."""
    ratio = seen.measured.ratio
    old = np.zeros_like(ratio)
    old[:, : before.measured.ratio.shape[1]] = before.measured.ratio
    result: Bools = (ratio > 1) & ((old <= 1) | (ratio > WORSE * old))
    return result


def reasons(watch: Watch, seen: Seen, before: Seen, asked: Bools, state: Setup) -> tuple[str, ...]:
    """Why one circuit in one operator state is judged as it is; `seen` and `before` are batches of one.

    Parameters
    ----------
    asked
        ``(f,)`` functions that a sound machine lets go in this state.
    """
    found = _opened(watch, seen, before, state)
    names = [f.name for f in watch.functions]
    for k in np.flatnonzero(damaged(seen, before)[0]):
        found.append(_harm(watch, seen, int(k)))
    fuses = watch.fuse_names()
    found += [f"opens {fuses[m]}" for m in np.flatnonzero(seen.blown[0] & ~before.blown[0])]
    new = np.flatnonzero(seen.codes[0] & ~before.codes[0])
    found += [f"sets {watch.codes[k][0]}" for k in new]
    gone = np.flatnonzero(before.codes[0] & ~seen.codes[0])
    found += [f"clears {watch.codes[k][0]}" for k in gone]
    freed = seen.released[0] & ~before.released[0] & seen.shut
    if (freed & ~asked).any():
        found.append(f"runs {_of(names, freed & ~asked)} unasked, though the guard is shut")
    if (freed & asked).any():
        found.append(f"lets {_of(names, freed & asked)} run, the guard being shut")
    # Let go, but without its volts, a function stands still as well.
    stopped = (~seen.released[0] & before.released[0]) | (~seen.works[0] & before.works[0])
    if stopped.any():
        found.append(f"stops {_of(names, stopped)}")
    for g in np.flatnonzero(seen.limiting[0] & ~before.limiting[0]):
        key = watch.feeds[g][1].removesuffix(" limiting")
        found.append(f"{key} goes into its current limit and survives")
    if seen.chatters[0] and not before.chatters[0]:
        found.append("the circuit chatters")
    return tuple(dict.fromkeys(found))


def _opened(watch: Watch, seen: Seen, before: Seen, state: Setup) -> list[str]:
    """Functions let go with their guard open, those that want the same together."""
    groups: dict[tuple[str, bool], list[Function]] = {}
    for f in np.flatnonzero(seen.opened[0]):
        function = watch.functions[f]
        groups.setdefault((open_words(function.guard, state), bool(before.opened[0, f])), []).append(function)
    return [
        f"{LOST}{act_words(own, watch.sheet, state)} with {how}{', as it did before' if already else ''}"
        for (how, already), own in groups.items()
    ]


def _of(names: list[str], which: Bools) -> str:
    return listed([names[f] for f in np.flatnonzero(which)])


def _harm(watch: Watch, seen: Seen, k: int) -> str:
    limit = seen.measured.limits[k]
    own = watch.limits.high
    high = float(own[k]) if k < len(own) else limit.high
    value = float(seen.measured.value[0, k])
    if limit.what == "sensor":
        return f"{limit.name} is fed more than it bears"
    if limit.unit == "V":
        if value < 0:
            return (
                f"{limit.name} is pulled to {format_quantity(value, 'V')}, below its ground: may be damaged"
            )
        what = {"feed": "a regulated feed", "input": "its highest band ends there"}.get(
            limit.what, "it bears"
        )
        return (
            f"{limit.name} sees {format_quantity(value, 'V')}, more than "
            f"{format_quantity(high, 'V')} ({what}): may be damaged"
        )
    verb = "takes" if limit.unit == "W" else "carries"
    of = format_quantity(high, limit.unit)
    return f"{limit.name} {verb} {format_quantity(value, limit.unit)} of {of}: burns"


def refusal(points: tuple[str, ...], functions: tuple[str, ...], *, told: bool) -> str:
    """Why what makes up a guard is refused as a repair.

    Parameters
    ----------
    points
        Guard cavities and parts that are made up.
    functions
        What the guard holds.
    told
        Whether a controller holds it; else the guard's own contacts do.
    """
    named, held = listed(points[:4]), listed(functions) or "the machine"
    one = len(points[:4]) == 1
    if told:
        first = f"{named} {'tells' if one else 'tell'} the controller where people are."
    else:
        verb = "is" if one else "are"
        first = f"{named} {verb} part of the guard itself, no controller watches over it."
    return f"Refused as a repair: {first} Then nothing stops {held} when the guard opens, and nobody notices."


def refusal_of(words: str, functions: tuple[str, ...]) -> str:
    """Why what lets a machine run as it should not is refused, where it touches no part of a guard."""
    if not functions:
        return f"Refused as a repair: with {words} it runs unasked, and what should stop it no longer does."
    held = listed(functions)
    return f"Refused as a repair: with {words} nothing stops {held} when the guard opens, and nobody notices."


def cautions(cure: Cure, refused: str) -> tuple[str, ...]:
    """What is said beside a cure: why it is refused, or how to do it for a moment.

    What defeats a guard gets no steps: they would read as a recipe under a ban.

    Parameters
    ----------
    refused
        Why it is no repair; empty where it defeats no guard.
    """
    if refused:
        return (refused,) if cure.lasting else (refused, ONLY_TO_SEE)
    if not cure.lasting and (cure.kind in HOLDS or cure.kind == "unplug"):
        return (SAFE, put_back_words(cure))
    return ()


def put_back_words(cure: Cure) -> str:
    """How a momentary cure is undone."""
    steps = []
    if cure.attached:
        steps.append(f"take the {_things(cure)} off {listed(cure.touches) or 'the points'}")
    if cure.fixed:
        steps.append(f"let go of {listed(cure.fixed)}")
    parts = sorted(n for n in cure.unplugged if " " in n)
    plugs = sorted(n for n in cure.unplugged if n not in parts)
    if plugs:
        steps.append(f"plug {listed(plugs)} again")
    if parts:
        steps.append(f"put {listed(parts)} back in")
    return f"Put back: {listed(steps)}; then open the guard and see that every function stops."


def _things(cure: Cure) -> str:
    kinds = {a.kind for a in cure.attached}
    return "jumper" if kinds == {"jumper"} else listed(sorted(kinds))

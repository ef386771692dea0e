"""Cautions of a check on the page: the first new one in full, a headline of each other; what to put back."""

from __future__ import annotations

import re
from dataclasses import dataclass

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.cautions import (
    BEFORE_UNPLUGGING,
    CRANKS,
    HELPER,
    MEASURED,
    MOVES,
    NO_CRANKING,
    OHMS_DEAD,
    ROLLS,
    STEEL,
    state_cautions,
)
from backprobe.diagnosis.cautions import SMALL_WIRE as TAKE_SMALL_WIRE
from backprobe.diagnosis.check import Check
from backprobe.report.repair_words import before_trying
from backprobe.web.desk import Work
from backprobe.web.texts import N_, Texts

HEADS = (
    (NO_CRANKING, N_("Unplug {name} first: no cranking")),
    (TAKE_SMALL_WIRE, N_("Small starter wire off first")),
    (CRANKS.partition(":")[0], N_("The engine may crank")),
    (MOVES, N_("The function may move")),
    (HELPER, N_("Needs a second person")),
    (BEFORE_UNPLUGGING, N_("Key off before {name}")),
    (ROLLS, N_("Block the wheels first")),
    (OHMS_DEAD, N_("Ohms only with the key off")),
    (STEEL, N_("Steel held: machine still")),
)
"""What a caution begins with, gaps in braces, and its headline: short enough for one line of a phone."""


def _pattern(said: str) -> str:
    """What a caution is known by, its gaps named."""
    return re.sub(r"\\\{(\w+)\\\}", r"(?P<\1>.+?)", re.escape(said))


_HEADS = tuple((re.compile(_pattern(begins)), head) for begins, head in HEADS)
_KEEPS_STILL = tuple(re.compile(_pattern(said)) for said in (NO_CRANKING, TAKE_SMALL_WIRE, HELPER))
_CLAUSE = re.compile(r"[:;,] ")


@dataclass(frozen=True, slots=True)
class Headed:
    """A caution that is folded under its headline.

    Parameters
    ----------
    head
        In the reader's words.
    text
        The whole caution, as the engine says it.
    before
        Whether it stood with an earlier reading of this job in the same setup.
    """

    head: str
    text: str
    before: bool


@dataclass(frozen=True, slots=True)
class Cautions:
    """The cautions of a check.

    Parameters
    ----------
    first
        The most important of those not shown before, in full; empty where all were.
    further
        All others by headline, new ones first.
    """

    first: str
    further: tuple[Headed, ...]


def cautions_on(work: Work, check: Check, spoken: Texts) -> Cautions:
    """The cautions of a check; those of its setup are not new where something was read in it before."""
    setup = check.candidate.setup
    here = (setup.state, setup.unplugged)
    read = any(
        r.kind in MEASURED and (r.setup.state, r.setup.unplugged) == here for r in work.job.readings_now()
    )
    known = {*state_cautions(work.engine, Setup(*here)), *work.sheet.cautions} if read else set()
    fresh = [c for c in check.cautions if c not in known]
    further = [*fresh[1:], *(c for c in check.cautions if c in known)]
    headed = (Headed(head_of(c, spoken), c, c in known) for c in further)
    return Cautions(fresh[0] if fresh else "", tuple(headed))


def head_of(caution: str, spoken: Texts) -> str:
    """The headline of a caution; of one that the sheet says itself its first clause."""
    for pattern, head in _HEADS:
        if found := pattern.match(caution):
            return spoken.gettext(head).format(**found.groupdict())
    return _CLAUSE.split(spoken.said(caution).removesuffix("."), maxsplit=1)[0]


def put_back(work: Work, setup: Setup, spoken: Texts) -> list[str]:
    """What goes back before a function is tried again, and what stays off the starter at first."""
    return [spoken.said(text) for text in before_trying(work.job, setup)]


def try_cautions(work: Work, setup: Setup) -> tuple[str, ...]:
    """What to mind when the function itself is tried: here it is meant to move, so nothing is kept still."""
    own = [c for c in state_cautions(work.engine, setup) if not any(k.fullmatch(c) for k in _KEEPS_STILL)]
    return tuple(dict.fromkeys([*own, *work.sheet.cautions]))

"""Cautions of a check on the page: new ones in full, those shown before in one line; what to put back."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.cautions import MEASURED, small_wire_relays, state_cautions
from backprobe.diagnosis.check import Check
from backprobe.jobs.proving import PLUGGED, SMALL_WIRE
from backprobe.report.repair_words import PUT_BACK
from backprobe.web.desk import Work
from backprobe.web.texts import Texts


@dataclass(frozen=True, slots=True)
class Cautions:
    """The cautions of a check, each group the most important first.

    Parameters
    ----------
    fresh
        What is shown in full.
    before
        What stood with an earlier reading of this job in the same setup: one line, never gone.
    """

    fresh: tuple[str, ...]
    before: tuple[str, ...]


def told_before(work: Work, check: Check) -> Cautions:
    """The cautions of a check, those of its setup folded where something was read in that setup before."""
    setup = check.candidate.setup
    here = (setup.state, setup.unplugged)
    read = any(
        r.kind in MEASURED and (r.setup.state, r.setup.unplugged) == here for r in work.job.readings_now()
    )
    if not read:
        return Cautions(check.cautions, ())
    known = {*state_cautions(work.engine, Setup(*here)), *work.sheet.cautions}
    return Cautions(
        tuple(c for c in check.cautions if c not in known), tuple(c for c in check.cautions if c in known)
    )


def put_back(work: Work, setup: Setup, spoken: Texts) -> list[str]:
    """What goes back before a function is tried again: plugs, and what kept the engine from cranking."""
    made = [r.setup for r in work.job.readings() if r.placed]
    off = sorted({name for s in made for name in s.unplugged} - setup.unplugged)
    said = [spoken.gettext("Put back: {names}.").format(names=", ".join(off))] if off else []
    keys = ([] if off else [PLUGGED]) + ([SMALL_WIRE] if small_wire_relays(work.sheet) else [])
    return [*said, *(spoken.said(PUT_BACK[key]) for key in keys)]


def try_cautions(work: Work, setup: Setup) -> tuple[str, ...]:
    """What to mind when the function itself is tried: here it is meant to move, so nothing is kept still."""
    keeps_still = ("unplug ", "where ", "needs a second ")
    found = [*state_cautions(work.engine, setup), *work.sheet.cautions]
    return tuple(c for c in dict.fromkeys(found) if not c.casefold().startswith(keeps_still))

"""Suspects and why: the reading that speaks most for each and against, what parts those that look alike."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from math import isfinite

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.answer import Answer, Reason, Suspect, Worn
from backprobe.diagnosis.doubts import doubts, live_ohms
from backprobe.diagnosis.expected_codes import expected_codes
from backprobe.diagnosis.split import splitting_check
from backprobe.faults.failure_mode import PinCode
from backprobe.jobs.standing import standing_of
from backprobe.report.assumed import assumed_words
from backprobe.report.build_words import build_lines
from backprobe.report.check_words import NAMES, shows_words, worth_doing
from backprobe.report.coach_words import (
    AGAIN,
    doubt_words,
    drop_words,
    live_words,
    slip_words,
    told_slips,
)
from backprobe.report.controller_words import CONTROLLER, SHOWN
from backprobe.report.layout import percent, quantity
from backprobe.report.reading_words import UNITS, strongest, telling
from backprobe.report.setup_words import parts_of
from backprobe.report.stretch_words import group_words, shown_first
from backprobe.report.words import (
    LEAST,
    OPEN_OHMS,
    PINNED,
    WORN_AS_WELL,
    WORN_PERHAPS,
    headline,
    leads_electronics,
    none_leads,
    nothing_read,
    shown_groups,
    worn_as_well,
)
from backprobe.web.check_view import Told, do_of
from backprobe.web.desk import Work
from backprobe.web.frame import MenuItem, localised, page, texts_of, work_of
from backprobe.web.past_view import answer_of, past_of
from backprobe.web.reading_view import placed_words, told_words
from backprobe.web.texts import N_, Texts

MENU = [MenuItem("job", N_("Suspects"), "/job/{name}/suspects", 20)]
MEMBERS = 6
NOT_SHOWN = 1e-3
"""Volts below which a meter in its volts range shows next to nothing [V]."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One reading beside what a suspect predicts for it.

    Parameters
    ----------
    side
        ``for``, ``against`` or empty: the reading that speaks most for the suspect, and most against it.
    """

    reading: str
    measured: str
    predicted: str
    sound: str
    side: str


@dataclass(frozen=True, slots=True)
class Person:
    """A suspect as the page shows it."""

    suspect: Suspect
    severity: str
    seen: tuple[Seen, ...]
    codes: tuple[PinCode, ...]
    held: bool

    @property
    def parts(self) -> tuple[str, ...]:
        """What its repair is made on."""
        return tuple(dict.fromkeys(name.partition(":")[0] for name in self.suspect.names))


@dataclass(frozen=True, slots=True)
class Apart:
    """The check that tells a group apart, and what it would say of whom."""

    do: str
    red: str
    black: str
    setup: str
    cautions: tuple[str, ...]
    told: tuple[Told, ...]
    number: int | None


def show(request: Request) -> Response:
    """Suspects of a job, most probable first."""
    work, spoken = work_of(request), texts_of(request)
    with work.lock:
        answer = answer_of(work, standing_of(work.job))
        past = past_of(work, answer, spoken)
        codes = expected_codes(answer)
        held = {h.suspect for h in answer.held if h.probability >= SHOWN}
        groups = [
            (
                group,
                [
                    _person(answer, s, spoken, codes.get(s.name, ()), held=s.name in held)
                    for s in group.suspects[:MEMBERS]
                    if s.probability >= LEAST or s is group.suspects[0]
                ],
                _apart(work, answer, k, spoken) if len(group.suspects) > 1 and k == 0 and not past else None,
                spoken.said(group_words(answer, group)),
                shown_first(answer, group, MEMBERS),
            )
            for k, group in enumerate(shown_groups(answer))
        ]
        local = partial(localised, spoken)
        return page(
            request,
            "suspects.html",
            {
                "work": work,
                "answer": answer,
                "nothing": nothing_read(answer),
                "past": past,
                "headline": spoken.said(headline(answer)),
                "none_leads": none_leads(answer),
                "groups": groups,
                "members": MEMBERS,
                "held": [h for h in answer.held if h.probability >= SHOWN],
                "controller": CONTROLLER if leads_electronics(answer) or held else "",
                "doubts": [
                    (
                        told_words(answer, doubt_words(answer, d), spoken),
                        [
                            (
                                s.chance,
                                spoken.said(slip_words(s, answer.readings.all[d.reading])),
                                AGAIN.get(s.kind, ""),
                            )
                            for s in told_slips(d)
                        ],
                    )
                    for d in (() if past else doubts(answer))
                ],
                "live": [
                    told_words(answer, live_words(answer, found), spoken)
                    for found in (() if past else live_ohms(answer))
                ],
                "drops": [told_words(answer, drop_words(answer, d), spoken) for d in answer.drops],
                "worn": [
                    (title, [(w, _ohms(w.severity, local)) for w in found])
                    for title, found in (
                        (spoken.gettext(WORN_AS_WELL), worn_as_well(answer)),
                        (spoken.gettext(WORN_PERHAPS), _worn_perhaps(answer)),
                    )
                    if found
                ],
                "builds": [spoken.said(" ".join(line.split())) for line in build_lines(answer)],
                "assumed": assumed_words(answer.engine.sheet),
                "factors": answer.engine.catalogue.factors,
            },
        )


def _worn_perhaps(answer: Answer) -> list[Worn]:
    sure = worn_as_well(answer)
    return [w for w in answer.worn if w.present >= LEAST and w not in sure]


def _person(
    answer: Answer, suspect: Suspect, spoken: Texts, codes: tuple[PinCode, ...], *, held: bool
) -> Person:
    local = partial(localised, spoken)
    pro, contra = strongest(suspect)
    if pro is None and contra is None:
        pro = telling(answer, suspect)
    seen = tuple(
        _seen(answer, r, spoken, "for" if r is pro else "against" if r is contra else "")
        for r in suspect.reasons
    )
    return Person(suspect, _ohms(suspect.severity, local), seen, tuple(codes[:2]), held)


def _seen(answer: Answer, reason: Reason, spoken: Texts, side: str) -> Seen:
    local = partial(localised, spoken)
    reading = answer.readings.all[reason.reading]
    unit = UNITS.get(reading.kind)
    number = unit is not None and not reading.over_range and not reading.unsteady

    def shown(value: float) -> str:
        if not isfinite(value):
            return ""
        if unit == "V" and number and 0 < abs(value) < NOT_SHOWN:
            return local(spoken.gettext("under 1 mV"))
        return local(quantity(value, unit) if number and unit else percent(value))

    measured = local(quantity(reason.measured, unit)) if number and unit else ""
    return Seen(
        placed_words(answer, reading, spoken), measured, shown(reason.predicted), shown(reason.as_built), side
    )


def _ohms(severity: tuple[float, float, float] | None, local: partial[str]) -> str:
    """A fault's resistance where the readings pin it down; empty where its name says enough."""
    if severity is None:
        return ""
    low, best, high = severity
    if high > PINNED * low or best > OPEN_OHMS:
        return ""
    return local(quantity(best, "ohm", 2))


def _apart(work: Work, answer: Answer, place: int, spoken: Texts) -> Apart | None:
    checks = work.checks()
    found = splitting_check(answer, checks, answer.groups[place], without=work.job.out_of_reach)
    if found is None:
        return None
    c = found.check.candidate
    bare = Setup(c.setup.state, c.setup.unplugged)
    worth = worth_doing(checks)
    told = tuple(
        Told(
            spoken.said(
                localised(spoken, shows_words(found.check.outcomes[i], c.kind).replace(" to ", " \u2013 "))
                if c.kind in UNITS
                else shows_words(found.check.outcomes[i], c.kind)
            ),
            found.check.outcomes[i].chance,
            names[:NAMES],
            max(0, len(names) - NAMES),
        )
        for i, names in found.apart
    )
    return Apart(
        do_of(found.check, spoken, work.sheet),
        c.red.name if c.red else "",
        c.black.name if c.black else "",
        ", ".join(spoken.said(p) for p in parts_of(bare, work.sheet)) if c.red else "",
        found.check.cautions,
        told,
        worth.index(found.check) if found.check in worth else None,
    )


ROUTES = [Route("/job/{name}/suspects", show)]

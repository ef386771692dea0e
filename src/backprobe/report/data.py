"""Answers, checks and expectations as plain JSON values; `backprobe.report.schemas` describes them.

JSON knows no infinity and no not-a-number: over-range and unsteady are said in words, and
what has no value is null.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isfinite
from typing import TypeAlias

from backprobe.api import Expected
from backprobe.circuit.setup import Setup
from backprobe.diagnosis.answer import Answer, Reason, Suspect
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.coach import Advice
from backprobe.diagnosis.doubts import Doubt, doubts, live_ohms
from backprobe.diagnosis.expected_codes import expected_codes
from backprobe.diagnosis.split import Split, splitting_check
from backprobe.diagnosis.stretch import stretches
from backprobe.errors import Problem
from backprobe.faults.failure_mode import PinCode
from backprobe.readings.model import Reading
from backprobe.report.assumed import origin_counts
from backprobe.report.check_words import do_words, repair_advice, shows_words
from backprobe.report.coach_words import AGAIN
from backprobe.report.reading_words import UNITS
from backprobe.report.words import headline, leads_electronics, none_leads

Json: TypeAlias = "bool | int | float | str | Sequence[Json] | Mapping[str, Json] | None"
Object: TypeAlias = "dict[str, Json]"


def number(value: float) -> float | None:
    """A finite number, or null."""
    return float(value) if isfinite(value) else None


def answer_data(answer: Answer, checks: Sequence[Check] = ()) -> Object:
    """An answer with the checks that could follow it."""
    split = splitting_check(answer, checks, answer.groups[0]) if answer.groups and checks else None
    codes = expected_codes(answer)
    return {
        "sheet": answer.engine.sheet.name,
        "headline": headline(answer),
        "none_of_these_leads": none_leads(answer),
        "controller_needs_proof": leads_electronics(answer),
        "held_back": [
            {"name": h.suspect, "probability": number(h.probability), "missing": [m.what for m in h.missing]}
            for h in answer.held
        ],
        "readings": [reading_data(r) for r in answer.readings.all],
        "groups": [
            {
                "probability": number(group.probability),
                "series": [
                    {
                        "start": s.start,
                        "end": s.end,
                        "through": s.through,
                        "probability": number(s.probability),
                    }
                    for s in stretches(answer, group)
                ],
                "suspects": [suspect_data(s, answer, codes.get(s.name, ())) for s in group.suspects],
            }
            for group in answer.groups
        ],
        "as_built": number(answer.as_built),
        "none_of_these": number(answer.none_of_these),
        "builds": [{"values": dict(b.choices), "probability": number(b.probability)} for b in answer.builds],
        "worn": [
            {"name": w.name, "present": number(w.present), "ohms": interval(w.severity)} for w in answer.worn
        ],
        "values": [
            {
                "name": e.parameter,
                "unit": e.unit,
                "low": number(e.low),
                "best": number(e.best),
                "high": number(e.high),
            }
            for e in answer.estimates
        ],
        "take_again": [doubt_data(d) for d in doubts(answer)],
        "live_ohms": [{"reading": o.reading, "volts": number(o.volts)} for o in live_ohms(answer)],
        "drops": [
            {"readings": list(d.readings), "gap": number(d.gap), "spread": number(d.spread)}
            for d in answer.drops
        ],
        "factors": {family: number(factor) for family, factor in answer.engine.catalogue.factors.items()},
        "origins": dict(origin_counts(answer.engine.sheet)),
        "asks": list(answer.engine.sheet.unknown),
        "tells_apart": None if split is None else split_data(split),
        "repair_now": stop_data(answer, checks),
        "checks": [check_data(c) for c in checks],
    }


def stop_data(answer: Answer, checks: Sequence[Check]) -> Json:
    """The advice to repair now, or null."""
    stop = repair_advice(answer, checks)
    if stop is None:
        return None
    return {
        "suspect": stop.suspect.name,
        "wasted": number(stop.wasted),
        "check_minutes": number(stop.check_minutes),
        "chance": number(stop.chance),
        "may": stop.may,
    }


def doubt_data(doubt: Doubt) -> Object:
    """A reading in doubt, with the kinds of slip that it may be."""
    return {
        "reading": doubt.reading,
        "probability": number(doubt.probability),
        "expected": number(doubt.expected),
        "slips": [
            {
                "kind": s.kind,
                "chance": number(s.chance),
                "shows": number(s.value),
                "where": s.where,
                "detail": number(s.detail),
                "do": AGAIN.get(s.kind, ""),
            }
            for s in doubt.slips
        ],
    }


def advice_data(advice: Sequence[Advice]) -> Json:
    """What to mind."""
    return [{"kind": a.kind, "text": a.text} for a in advice]


def suspect_data(suspect: Suspect, answer: Answer, codes: Sequence[PinCode] = ()) -> Object:
    """A suspect with all its reasons, and what the controller would say of its pins."""
    modes = answer.engine.catalogue.modes
    families: list[Json] = list(dict.fromkeys(modes[m].family for m in suspect.modes))
    return {
        "name": suspect.name,
        "faults": list(suspect.names),
        "families": families,
        "probability": number(suspect.probability),
        "present": number(suspect.present),
        "ohms": interval(suspect.severity),
        "repair": suspect.repair,
        "minutes": number(suspect.minutes),
        "cost": number(suspect.cost),
        "fmi": [{"pin": c.pin, "number": c.fmi, "words": c.words} for c in codes],
        "reasons": [_reason(r) for r in suspect.reasons],
    }


def _reason(reason: Reason) -> Object:
    return {
        "reading": reason.reading,
        "predicted": number(reason.predicted),
        "as_built": number(reason.as_built),
        "measured": number(reason.measured),
        "speaks": number(reason.speaks),
    }


def interval(severity: tuple[float, float, float] | None) -> Json:
    """``{low, best, high}`` [ohm], or null."""
    if severity is None:
        return None
    low, best, high = severity
    return {"low": number(low), "best": number(best), "high": number(high)}


def setup_data(setup: Setup) -> Object:
    """A setup: state, what is unplugged, what is attached."""
    return {
        "state": dict(setup.state),
        "unplugged": sorted(setup.unplugged),
        "attached": [
            {"kind": a.kind, "red": a.red, "black": a.black, "ohms": number(a.ohms), "volts": number(a.volts)}
            for a in setup.attached
        ],
    }


def reading_data(reading: Reading) -> Object:
    """A reading with its four things: red, black, plugs and state."""
    numeric = reading.kind in UNITS
    return {
        "kind": reading.kind,
        "text": reading.text or reading.words(),
        "red": reading.red_name,
        "black": reading.black_name,
        "value": number(reading.value) if numeric else None,
        "unit": UNITS.get(reading.kind, ""),
        "leads": number(reading.leads) if reading.leads is not None else None,
        "moving": {"low": number(reading.low), "high": number(reading.high)} if reading.moving else None,
        "over_range": numeric and reading.over_range,
        "unsteady": reading.unsteady,
        "subject": reading.subject,
        "seen": reading.seen,
        "setup": setup_data(reading.setup),
    }


def check_data(check: Check) -> Object:
    """A check with what each outcome would mean."""
    c = check.candidate
    return {
        "kind": c.kind,
        "do": do_words(check),
        "red": c.red.name if c.red else "",
        "black": c.black.name if c.black else "",
        "part": c.part,
        "setup": setup_data(c.setup),
        "minutes": number(check.minutes),
        "bits": number(check.information),
        "cautions": list(check.cautions),
        "proves": check.proves,
        "outcomes": [
            {
                "low": number(o.low),
                "high": number(o.high),
                "unit": UNITS.get(c.kind, ""),
                "shows": shows_words(o, c.kind),
                "means": list(o.means),
                "probability": number(o.chance),
            }
            for o in check.outcomes
        ],
    }


def split_data(split: Split) -> Object:
    """The check that tells the leading group apart."""
    return {
        "check": check_data(split.check),
        "apart": [{"outcome": i, "means": list(names)} for i, names in split.apart],
        "separated": number(split.separated),
    }


def checks_data(answer: Answer, checks: Sequence[Check]) -> Object:
    """Checks on their own."""
    return {
        "sheet": answer.engine.sheet.name,
        "headline": headline(answer),
        "checks": [check_data(c) for c in checks],
    }


def expected_data(
    sheet: str, setup: Setup, expected: Sequence[Expected], *, fault: str = "", works: Sequence[str] = ()
) -> Object:
    """Expected volts and ohms, point by point."""
    return {
        "sheet": sheet,
        "setup": setup_data(setup),
        "fault": fault,
        "works": list(works),
        "points": [
            {
                "red": e.point,
                "black": e.black,
                "volts": number(e.volts),
                "low": number(e.low),
                "high": number(e.high),
                "ohms": number(e.ohms),
            }
            for e in expected
        ],
    }


def problem_data(problem: Problem) -> Object:
    """One problem of an input."""
    return {
        "file": problem.file,
        "line": problem.line,
        "field": problem.field,
        "value": problem.value,
        "message": problem.message,
        "remedy": problem.remedy,
    }

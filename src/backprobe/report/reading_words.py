"""Readings in words: as seen, and as a suspect predicts them."""

from __future__ import annotations

from math import isfinite, log

from backprobe.diagnosis.answer import Answer, Reason, Suspect
from backprobe.readings.model import Reading
from backprobe.report.layout import listed, percent, quantity
from backprobe.report.setup_words import parts_of

UNITS = {"volts": "V", "ohms": "ohm", "amps": "A"}
SPEAKS = 0.05
"""Natural-log ratio below which a reading says nothing for or against a suspect."""


def strongest(suspect: Suspect) -> tuple[Reason | None, Reason | None]:
    """The reading that speaks most for a suspect and the one that speaks most against it."""
    pro = max(suspect.reasons, key=lambda r: r.speaks, default=None)
    contra = min(suspect.reasons, key=lambda r: r.speaks, default=None)
    return (
        pro if pro and pro.speaks > SPEAKS else None,
        contra if contra and contra.speaks < -SPEAKS else None,
    )


def telling(answer: Answer, suspect: Suspect) -> Reason | None:
    """The reading that the suspect explains and a sound circuit would not.

    For the case that the readings speak together only, and none of them by itself.
    """

    def gain(reason: Reason) -> float:
        reading = answer.readings.all[reason.reading]
        if not isfinite(reason.as_built) or not isfinite(reason.predicted):
            return 0.0
        if not reading.numeric or reading.over_range:
            return log((reason.predicted + 0.01) / (reason.as_built + 0.01))
        blur = reading.own_spread + 0.02 * abs(reason.measured) + 1e-3
        return (abs(reason.measured - reason.as_built) - abs(reason.measured - reason.predicted)) / blur

    best = max(suspect.reasons, key=gain, default=None)
    return best if best and gain(best) > 0 else None


def as_typed(reading: Reading) -> str:
    """What was seen, in the mechanic's own words, without the setup; ohms without the leads as well."""
    said = reading.text.replace(";", ",").split(",")[0].strip() or reading.words()
    if reading.kind == "ohms" and reading.leads:
        return f"{said} (less {reading.leads:g} ohm of leads: {quantity(reading.value, 'ohm')})"
    return said


def with_place(answer: Answer, reading: Reading) -> str:
    """A reading with what sets its setup apart from the setups of the others."""
    setups = [set(parts_of(r.setup, answer.engine.sheet)) for r in answer.readings.all if has_setup(r)]
    if not setups or not has_setup(reading):
        return as_typed(reading)
    common = set.intersection(*setups)
    own = [p for p in parts_of(reading.setup, answer.engine.sheet) if p not in common]
    return f"{as_typed(reading)}{f' with {listed(own)}' if own else ''}"


def has_setup(reading: Reading) -> bool:
    """Whether operator state and plugs matter to a reading."""
    return reading.placed


def reason_words(answer: Answer, reason: Reason) -> str:
    """One reading, with what the suspect predicts for it and what a sound circuit would show."""
    reading = answer.readings.all[reason.reading]
    with_fault, sound = _shown(reading, reason.predicted), _shown(reading, reason.as_built)
    if reading.kind in UNITS:
        words = f"{with_place(answer, reading)}; with this fault {with_fault}"
        return f"{words}, sound circuit {sound}" if sound else words
    words = f"{with_place(answer, reading)}: chance {with_fault} with this fault"
    return f"{words}, {sound} in a sound circuit" if sound else words


def _shown(reading: Reading, value: float) -> str:
    if reading.kind not in UNITS or reading.over_range or reading.unsteady:
        return percent(value) if isfinite(value) else ""
    return quantity(value, UNITS[reading.kind]) if isfinite(value) else ""

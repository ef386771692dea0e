"""Hearsay as one table, and as an answer that can be pasted as a reply."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.report.guard_words import must_parts
from backprobe.report.layout import FIRST, joined, listed, percent, wrap
from backprobe.report.reading_words import as_typed
from backprobe.report.trial_words import ALLOWED, REFUSED, together, verdict_words
from backprobe.sheet.model import Sheet
from backprobe.workbench.claim_repairs import LAST
from backprobe.workbench.hearsay import Hearsay, Said
from backprobe.workbench.trial_values import Meaning
from backprobe.workbench.verdict import (
    ALL_WELL,
    CODE,
    DAMAGES,
    DEFEATS,
    MENDS_NOTHING,
    NO_EFFECT,
    NOT_FITTED,
    NOTHING,
    SOUND_REPAIR,
    SOUND_TEST,
)

EVIDENCE = 6
"""Readings that an answer tells."""
PLAIN = frozenset({ALL_WELL, MENDS_NOTHING, NOTHING, NOT_FITTED})
"""Reasons that a heading says already."""


def hearsay_text(found: Hearsay) -> str:
    """The table, then the answer."""
    rows = [line for s in found.said for line in _row(s)]
    return joined(
        wrap(found.sheet.name), rows, ["The answer, to be pasted as a reply:"], [answer_text(found)]
    )


def _row(said: Said) -> list[str]:
    if said.worst is None:
        return [*wrap(f"{said.line}. {said.text}: NOT JUDGED"), *wrap(said.problem, "    ")]
    chance = f", {cures_words(said)}" if said.cure_chance and said.verdict in ALLOWED else ""
    lines = wrap(f"{said.line}. {said.text}: {verdict_words(said.worst)}{chance}")
    return lines + wrap(f"{_as(said)}{'; '.join(said.worst.reasons[:3])}", "    ")


def cures_words(said: Said) -> str:
    """``cures it with 41 %``; of what only stands in, ``makes it work with 41 %``."""
    mends = said.verdict == SOUND_REPAIR
    return f"{'cures it' if mends else 'makes it work'} with {percent(said.cure_chance)}"


def _as(said: Said) -> str:
    """Which meaning is judged, where there are several."""
    several = said.worst and said.trial and len(said.trial.meanings) > 1
    return f"taken as {said.worst.cure.words}: " if several and said.worst else ""


def answer_text(found: Hearsay) -> str:
    """A reply in plain words, with the evidence and the cautions."""
    worst, harm, code, none = (found.of(v) for v in (DEFEATS, DAMAGES, CODE, NO_EFFECT))
    here = [s for s in none if not _unfitted(s)]
    good = sorted(found.of(SOUND_REPAIR, SOUND_TEST), key=lambda s: -s.cure_chance)
    refused = [c for c in together(_deciding((*worst, *harm, *code))) if c.startswith(REFUSED)]
    return joined(
        _evidence(found),
        _block("Do not do this, it defeats the guard:", worst),
        _block("This burns something, or may:", harm),
        _block("This only sets a code:", code),
        [line for c in refused[:1] for line in wrap(c)],
        _sound(good),
        _block("This does not help:", here),
        _not_fitted([s for s in none if _unfitted(s)]),
        _unread(found),
        wrap(f"{_prove(found)} {FIRST}"),
    )


def open_guard_words(sheet: Sheet) -> list[str]:
    """What must not happen with a guard open, one thing each; none where no function has a guard."""
    return must_parts([f for f in sheet.functions.values() if f.guard], sheet, works=False)


def _prove(found: Hearsay) -> str:
    told = open_guard_words(found.sheet)
    stops = f": {listed(told)}" if told else ""
    return f"After any repair prove the guard: open it, and see that every function stops{stops}."


def _deciding(said: Sequence[Said]) -> list[Meaning]:
    return [s.worst for s in said if s.worst]


def _block(title: str, said: Sequence[Said]) -> list[str]:
    return [title, *(line for s in said for line in wrap(_named(s), "- "))] if said else []


def _named(said: Said) -> str:
    """A saying with why it is judged so, and what to mind."""
    assert said.worst is not None
    reasons = [r for r in said.worst.reasons if r not in PLAIN][:2]
    why = f"{_as(said)}{'; '.join(reasons)}" if reasons else ""
    # How to do a repair is of no use where it mends nothing; that a controller comes last always is.
    cure = said.worst.cure
    minds = cure.minds[:1] if not cure.mends or cure.minds == LAST else ()
    told = " ".join([*([f"{why}."] if why else []), *minds])
    return f"{said.text}: {told}" if told else said.text


def _unfitted(said: Said) -> bool:
    return bool(said.worst and said.worst.cure.kind == "not fitted")


def _not_fitted(said: Sequence[Said]) -> list[str]:
    """Sayings of what is not there, in one sentence, with what is there instead."""
    if not said:
        return []
    there = [m for s in said if s.worst for m in s.worst.cure.minds]
    what = f" {there[0][0].upper()}{there[0][1:]}." if there else ""
    return wrap(f"Not fitted on this build, so not the cause: {'; '.join(s.text for s in said)}.{what}")


def _sound(good: Sequence[Said]) -> list[str]:
    if not good:
        return []
    lines = ["Allowed, and worth doing in this order:"]
    for said in good:
        chance = f"{cures_words(said)}." if said.cure_chance else "a test, no cure."
        lines += wrap(" ".join([f"{said.text}: {chance}", *_minded(said)]), "- ")
    return lines


def _minded(said: Said) -> Sequence[str]:
    """What to mind with a repair; with a test its safe set-up and its way back."""
    if said.worst is None:
        return ()
    return said.worst.cautions if said.worst.verdict == SOUND_TEST else said.worst.cure.minds


def _unread(found: Hearsay) -> list[str]:
    lost = [s.text for s in found.said if s.worst is None]
    return wrap(f"I do not know what is meant by: {'; '.join(lost)}.") if lost else []


def _evidence(found: Hearsay) -> list[str]:
    builds = [f"{words} ({percent(p)})" for words, p in found.builds]
    which = wrap(f"Which build it is stays open: {listed(builds, 'or')}.") if len(builds) > 1 else []
    if not found.readings:
        return (
            wrap(
                "Nothing was measured yet, so this says what each proposal does on the circuit as drawn, and "
                "how often such things fail; a few readings would tell more."
            )
            + which
        )
    read = [as_typed(r) for r in found.readings[:EVIDENCE]]
    more = [f"{len(found.readings) - EVIDENCE} more"] if len(found.readings) > EVIDENCE else []
    names = [f"{n} ({percent(p)})" for n, p in found.suspects]
    speaks = wrap(f"That speaks for {listed(names, 'or')}.") if names else []
    return wrap(f"What was read: {'; '.join([*read, *more])}.") + speaks + which

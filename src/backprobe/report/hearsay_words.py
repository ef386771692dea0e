"""Hearsay as one table, and as an answer that can be pasted as a reply."""

from __future__ import annotations

from backprobe.report.layout import FIRST, joined, listed, percent, wrap
from backprobe.report.reading_words import as_typed
from backprobe.workbench.hearsay import Hearsay, Said
from backprobe.workbench.verdict import CODE, DAMAGES, DEFEATS, NO_EFFECT, SOUND_REPAIR, SOUND_TEST

EVIDENCE = 6


def hearsay_text(found: Hearsay) -> str:
    """The table, then the answer."""
    rows = [line for s in found.said for line in _row(s)]
    return joined(
        wrap(found.sheet.name), rows, ["The answer, to be pasted as a reply:"], [answer_text(found)]
    )


def _row(said: Said) -> list[str]:
    if said.worst is None:
        return [*wrap(f"{said.line}. {said.text}: NOT UNDERSTOOD"), *wrap(said.problem, "    ")]
    several = "" if said.trial is None or len(said.trial.meanings) == 1 else f" (as {said.worst.cure.words})"
    chance = f", the cure with {percent(said.cure_chance)}" if said.cure_chance else ""
    lines = wrap(f"{said.line}. {said.text}: {said.worst.verdict.upper()}{chance}")
    return lines + wrap(f"{'; '.join(said.worst.reasons[:2])}{several}", "    ")


def answer_text(found: Hearsay) -> str:
    """A reply in plain words, with the evidence and the cautions."""
    blocks = [_evidence(found)]
    worst, harm, code, none = (found.of(v) for v in (DEFEATS, DAMAGES, CODE, NO_EFFECT))
    if worst:
        blocks.append(wrap(f"Do not do this, it lets the machine run with its guard open: {_named(worst)}"))
    if harm:
        blocks.append(wrap(f"This burns or may burn something: {_named(harm)}"))
    if code:
        blocks.append(wrap(f"This only sets a code: {_named(code)}"))
    if none:
        blocks.append(wrap(f"This changes nothing for the better: {_named(none)}"))
    good = sorted(found.of(SOUND_REPAIR, SOUND_TEST), key=lambda s: -s.cure_chance)
    if good:
        told = [f"{s.text} ({_chance(s)})" for s in good]
        blocks.append(wrap(f"Sound, and worth doing in this order: {'; '.join(told)}."))
    said = [m.cautions for s in found.said if s.trial for m in s.trial.meanings]
    cautions = list(dict.fromkeys(c for group in said for c in group))
    blocks.append([line for c in cautions[:3] for line in wrap(c)])
    blocks.append(
        wrap(f"After any repair prove the guard: open it, and see that every function stops. {FIRST}")
    )
    return joined(*blocks)


def _chance(said: Said) -> str:
    return f"the cure with {percent(said.cure_chance)}" if said.cure_chance else "a test, no cure"


def _named(said: tuple[Said, ...]) -> str:
    told = [f"{s.text} ({s.worst.reasons[0]})" for s in said if s.worst]
    return f"{'; '.join(told)}."


def _evidence(found: Hearsay) -> list[str]:
    if not found.readings:
        return wrap(
            "Nothing was measured yet, so this says what each proposal does on the circuit as drawn, and "
            "what fails most often; a few readings would tell more."
        )
    read = "; ".join(as_typed(r) for r in found.readings[:EVIDENCE])
    names = [f"{n} ({percent(p)})" for n, p in found.suspects]
    return wrap(f"What was read: {read}.") + wrap(f"That speaks for {listed(names, 'or')}.")

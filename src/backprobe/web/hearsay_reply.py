"""The answer to what people propose, in the reader's language, to be pasted as a reply."""

from __future__ import annotations

from backprobe.report.hearsay_words import EVIDENCE, PLAIN, open_guard_words
from backprobe.report.layout import percent
from backprobe.report.trial_words import together
from backprobe.web.reading_view import read_words
from backprobe.web.texts import N_, Texts
from backprobe.workbench.hearsay import Hearsay, Said
from backprobe.workbench.trial_values import Meaning
from backprobe.workbench.verdict import CODE, DAMAGES, DEFEATS, NO_EFFECT, SOUND_REPAIR, SOUND_TEST

SORTS = {
    DEFEATS: N_("Do not do this, it lets the machine run with its guard open: {list}."),
    DAMAGES: N_("This burns or may burn something: {list}."),
    CODE: N_("This only sets a code: {list}."),
    NO_EFFECT: N_("This does not help: {list}."),
}
"""What is said of cures by their verdict, the worst first."""
SOUND = N_("Allowed, and worth doing in this order: {list}.")
CAUTIONS = 3


def reply(found: Hearsay, spoken: Texts) -> str:
    """Evidence, verdicts, cautions, and what to do after any repair; a paragraph each."""
    _, said = spoken.gettext, spoken.said
    blocks = [_evidence(found, spoken)]
    for verdict, words in SORTS.items():
        if cures := found.of(verdict):
            told = [f"{s.text} ({_why(s.worst, spoken)})" for s in cures if s.worst]
            blocks.append(_(words).format(list="; ".join(told)))
    if good := sorted(found.of(SOUND_REPAIR, SOUND_TEST), key=lambda s: -s.cure_chance):
        blocks.append(_(SOUND).format(list="; ".join(f"{s.text} ({_chance(s, spoken)})" for s in good)))
    cautions = [said(c) for c in together([s.worst for s in found.said if s.worst])]
    if cautions:
        blocks.append("\n".join(cautions[:CAUTIONS]))
    last = _("After any repair prove the guard: open it, and see that every function stops.")
    if told := open_guard_words(found.sheet):
        opened = _("With it open: {list}.").format(list="; ".join(map(said, told)))
        last = f"{last} {opened}"
    first = _("Local rules, the maker's instructions and licensed trades come first.")
    return "\n\n".join([*blocks, f"{last} {first}"])


def _why(meaning: Meaning, spoken: Texts) -> str:
    """The first two reasons of a verdict that say more than the verdict."""
    told = [r for r in meaning.reasons if r not in PLAIN] or list(meaning.reasons)
    return "; ".join(spoken.said(r) for r in told[:2])


def _chance(one: Said, spoken: Texts) -> str:
    if not one.cure_chance:
        return spoken.gettext("a test, no cure")
    return spoken.gettext("cures it with {chance}").format(chance=spoken.said(percent(one.cure_chance)))


def _evidence(found: Hearsay, spoken: Texts) -> str:
    _ = spoken.gettext
    if not found.readings:
        return _(
            "Nothing was measured yet, so this says what each proposal does on the circuit as drawn, and "
            "what fails most often; a few readings would tell more."
        )
    read = "; ".join(read_words(r, spoken) for r in found.readings[:EVIDENCE])
    names = [f"{spoken.said(name)} ({spoken.said(percent(chance))})" for name, chance in found.suspects]
    either = f" {spoken.said('or')} "
    joined = either.join(part for part in (", ".join(names[:-1]), names[-1] if names else "") if part)
    return "\n".join(
        (_("What was read: {list}.").format(list=read), _("That speaks for {list}.").format(list=joined))
    )

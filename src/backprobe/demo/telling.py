"""What the demo says: a job as a page of plain text, everything taken from the answers themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from backprobe.api import Answer
from backprobe.demo.story import Played, Story
from backprobe.diagnosis.answer import Group, Suspect
from backprobe.diagnosis.split import Split, splitting_check
from backprobe.diagnosis.stop import stop_rule
from backprobe.report.check_words import do_words, shows_words
from backprobe.report.layout import FIRST, listed, minutes, percent, quantity, wrap
from backprobe.report.setup_words import setup_words

NAMED = 3
"""Suspects named after each reading."""
WORTH_NAMING = 0.02
"""Belief below which a suspect is only counted [1]."""


@dataclass(frozen=True, slots=True, eq=False)
class Alike:
    """Suspects that looked alike after a step, and the check that tells them apart.

    Parameters
    ----------
    step
        Index of the step.
    suspects
        Most probable first.
    split
        The check that parts them; None when none that can be reached does.
    """

    step: int
    suspects: tuple[Suspect, ...]
    split: Split | None

    @property
    def names(self) -> tuple[str, ...]:
        """The suspects in words."""
        return tuple(s.name for s in self.suspects)


def head_lines(story: Story, number: int, count: int) -> list[str]:
    """Machine, sheet and what the sheet warns of."""
    lines = [f"{number} of {count}  {story.title}"]
    lines += ["-" * len(lines[0])]
    lines += wrap(story.machine, "Machine    ")
    lines += wrap(story.sheet.name, "Sheet      ")
    said = "; ".join([story.steps[0].line, *story.circumstances])
    lines += wrap(said, "Complaint  ")
    for caution in story.sheet.cautions:
        lines += wrap(caution, "Caution    ")
    return lines


def step_lines(number: int, played: Played) -> list[str]:
    """One step: what he does, what he types, who leads now."""
    lines = ["", *wrap(played.step.does, f"{number:2}  ")]
    lines += wrap(played.step.line, "    > ")
    lines += wrap(leaders(played.answer), "    suspects: ", "      ")
    if played.checks:
        lines += wrap(do_words(played.checks[0]), "    proposes: ", "      ")
    taken = slip_words(played.answer)
    if taken:
        lines += wrap(taken, "    ! ")
    return lines


def leaders(answer: Answer) -> str:
    """The leading suspects in one sentence, and how many more there are."""
    shown = answer.suspects[:NAMED]
    if not shown:
        return f"none of the faults on the sheet explains this ({percent(answer.none_of_these)})"
    words = ", ".join(f"{s.name} {percent(s.probability)}" for s in shown)
    more = sum(s.probability >= WORTH_NAMING for s in answer.suspects[NAMED:])
    return f"{words}; and {more} more" if more else words


def slip_words(answer: Answer) -> str:
    """The readings that had better be taken again; empty when there is none."""
    readings = answer.readings.all
    named = [f"reading {i + 1} ({readings[i].words()}), {percent(p)} a slip" for i, p in answer.slips]
    return f"take again {listed(named)}" if named else ""


def alike(group: Group) -> tuple[Suspect, ...]:
    """The suspects of a group that carry enough belief to matter."""
    return tuple(s for s in group.suspects if s.probability >= max(WORTH_NAMING, 0.1 * group.probability))


def find_alike(steps: Sequence[Played]) -> Alike | None:
    """What the readings leave alike, and what parts it; None where they have told it apart."""
    for index in range(len(steps) - 1, -1, -1):
        answer = steps[index].answer
        if index < len(steps) - 1 and _settled(steps[index], steps[-1]):
            # What a later reading settled is no longer to be split.
            return None
        suspects = alike(answer.groups[0]) if answer.groups else ()
        if len(suspects) > 1:
            return Alike(index, suspects, splitting_check(answer, steps[index].checks, Group(suspects)))
    return None


def _settled(then: Played, now: Played) -> bool:
    """Whether the suspects that were alike have been told apart since."""
    return len(alike(then.answer.groups[0])) > 1 and len(alike(now.answer.groups[0])) == 1


def alike_lines(found: Alike | None, story: Story) -> list[str]:
    """What could not be told apart, and the check that does."""
    if found is None:
        return []
    share = percent(sum(s.probability for s in found.suspects))
    names = listed(found.names, "or")
    lines = wrap(f"after reading {found.step + 1} one of these, {share} together: {names}", "Alike      ")
    if found.split is None:
        return lines + wrap("no check that can be reached tells them apart", " " * 11)
    check = found.split.check
    setup = setup_words(check.candidate.setup, story.sheet)
    where = f"; {setup}" if check.candidate.red is not None else ""
    lines += wrap(f"{do_words(check)}{where} ({minutes(check.minutes)})", "Splits it  ")
    for index, names_of in found.split.apart:
        seen = shows_words(check.outcomes[index], check.candidate.kind)
        lines += wrap(f"{seen}: {listed(names_of, 'or')}", " " * 13, " " * 15)
    return lines + [line for c in check.cautions for line in wrap(c, " " * 11 + "CAUTION  ")]


def end_lines(story: Story, steps: Sequence[Played]) -> list[str]:
    """The end of a job: what is odd, alike, to be repaired, worn, and what it really was."""
    answer = steps[-1].answer
    lines = [""]
    lines += wrap(slip_words(answer) or "no reading is out of place", "Readings   ")
    lines += alike_lines(find_alike(steps), story)
    if answer.suspects:
        first = answer.suspects[0]
        lines += wrap(f"{first.name}, {percent(first.probability)} the cure{_size(first)}", "Cause      ")
        lines += wrap(f"{first.repair} ({minutes(first.minutes)})", "Repair     ")
    lines += _stop_lines(answer, steps[-1])
    for worn in answer.worn:
        lines += wrap(f"{worn.name} {percent(worn.present)}: not the cause, look at it", "Worn too   ")
    return lines + wrap(f"{story.acted.fault} (known because it was acted out)", "It was     ")


def _stop_lines(answer: Answer, last: Played) -> list[str]:
    stop = stop_rule(answer, last.checks)
    if stop is None:
        return wrap("one more check costs less than a repair in vain", "Stop rule  ") if last.checks else []
    if not last.checks:
        return wrap("repair now: no check that can be reached would tell more", "Stop rule  ")
    if stop.may:
        return wrap(
            f"{listed(stop.parts)} {percent(stop.chance)}: may be repaired now, one more check of "
            f"{minutes(stop.check_minutes)} would pay",
            "Stop rule  ",
        )
    return wrap(
        f"repair now: {minutes(stop.wasted)} in vain are to be expected, one more check takes "
        f"{minutes(stop.check_minutes)}",
        "Stop rule  ",
    )


def _size(suspect: Suspect) -> str:
    if suspect.severity is None:
        return ""
    low, best, high = suspect.severity
    return f", about {quantity(best, 'ohm')} ({quantity(low, 'ohm')} to {quantity(high, 'ohm')})"


def last_lines() -> list[str]:
    """What to try next."""
    return [
        "Try next",
        "--------",
        "A circuit of your own, typed as you follow it from source to return:",
        '  backprobe sketch "battery+ > fuse F1 5 A > key > relay coil K1 > frame"',
        "What is wrong, from what you read, and what to measure next:",
        "  backprobe rank SHEET READINGS",
        "  backprobe next SHEET READINGS",
        "The same on a sheet of this fleet:",
        "  backprobe demo --sheet sprayer > sprayer.yaml",
        "  backprobe sheet check sprayer.yaml",
        "A job that is kept: one machine, one complaint, every reading:",
        "  backprobe job new SHEET",
        "",
        *wrap(FIRST),
    ]

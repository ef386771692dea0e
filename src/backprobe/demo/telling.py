"""What the demo says: a job as a page of plain text, everything taken from the answers themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from backprobe.api import Answer, Check
from backprobe.demo.story import Played, Story
from backprobe.diagnosis.answer import Group, Suspect
from backprobe.diagnosis.stop import stop_rule
from backprobe.report.layout import listed, minutes, percent, quantity, wrap

NAMED = 3
"""Suspects named after each reading."""
WORTH_NAMING = 0.02
"""Belief below which a suspect is only counted [1]."""


@dataclass(frozen=True, slots=True)
class Split:
    """Suspects that looked alike after a step, and the check that tells them apart.

    Parameters
    ----------
    step
        Index of the step.
    names
        The suspects that looked alike, most probable first.
    check
        The best proposal that parts them; None when no proposal does.
    """

    step: int
    names: tuple[str, ...]
    check: Check | None


def head_lines(story: Story, number: int, count: int) -> list[str]:
    """Machine, sheet and what the sheet warns of."""
    lines = [f"{number} of {count}  {story.title}"]
    lines += ["-" * len(lines[0])]
    lines += wrap(f"{story.machine}; {story.sheet.name}", "Machine    ")
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


def find_split(steps: Sequence[Played]) -> Split | None:
    """The last step that left suspects alike, and what parts them."""
    for index in range(len(steps) - 1, -1, -1):
        groups = steps[index].answer.groups
        names = tuple(s.name for s in alike(groups[0])) if groups else ()
        if len(names) > 1:
            return Split(index, names, _parting(steps[index].checks, names))
    return None


def _parting(checks: Sequence[Check], names: Sequence[str]) -> Check | None:
    """The first check one of whose outcomes speaks of some of the names and not of others."""
    for check in checks:
        for outcome in check.outcomes:
            if 0 < len(set(names) & set(outcome.means)) < len(names):
                return check
    return None


def split_lines(split: Split | None) -> list[str]:
    """What could not be told apart, and the check that does."""
    if split is None:
        return []
    lines = wrap(f"{listed(split.names)} (after reading {split.step + 1})", "Alike      ")
    if split.check is None:
        return lines + wrap("no check on this sheet parts them", "           ")
    lines += wrap(f"{split.check.words()} ({minutes(split.check.minutes)})", "Splits it  ")
    for caution in split.check.cautions:
        lines += wrap(caution, "           caution: ")
    return lines


def end_lines(story: Story, steps: Sequence[Played]) -> list[str]:
    """The end of a job: what is odd, alike, to be repaired, worn, and what it really was."""
    answer, checks = steps[-1].answer, steps[-1].checks
    lines = [""]
    lines += wrap(slip_words(answer) or "no reading is out of place", "Readings   ")
    lines += split_lines(find_split(steps))
    if answer.suspects:
        first = answer.suspects[0]
        lines += wrap(f"{first.name}, {percent(first.probability)} the cure{_size(first)}", "Cause      ")
        lines += wrap(f"{first.repair} ({minutes(first.minutes)})", "Repair     ")
    stop = stop_rule(answer, checks)
    if stop:
        lines += wrap(
            f"repair now: at worst {minutes(stop.wasted)} in vain are to be expected, another check "
            f"takes {minutes(stop.check_minutes)}"
            if checks
            else "repair now: no check on this sheet would tell more",
            "Stop rule  ",
        )
    for worn in answer.worn:
        lines += wrap(f"{worn.name} {percent(worn.present)}: not the cause, look at it", "Worn too   ")
    return lines + wrap(f"{story.acted.fault} (known because it was acted out)", "It was     ")


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
        '  backprobe sketch "battery+ > fuse F1 5 A > key > seat switch > relay coil K1 > frame"',
        "What is wrong, from what you read, and what to measure next:",
        "  backprobe rank SHEET READINGS",
        "  backprobe next SHEET READINGS",
        "A job that is kept: one machine, one complaint, every reading:",
        "  backprobe job new SHEET",
    ]

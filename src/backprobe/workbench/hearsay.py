"""Everything that people propose as a cure, judged in one table."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from backprobe.diagnosis.engine import Engine
from backprobe.errors import BackprobeError, Problem
from backprobe.readings.model import Reading
from backprobe.sheet.model import Sheet
from backprobe.workbench import verdict as v
from backprobe.workbench.claims import ClaimError
from backprobe.workbench.trial import Trials
from backprobe.workbench.trial_values import Meaning, Trial

_MARK = re.compile(r"^\s*(?:[-*\u2022]+|\d+[.)])\s+")
"""What a list puts before a line."""
MOST_LINES = 200
"""Cures of one table; common practice, no source."""
NAMED = 4
"""Suspects that an answer names."""


@dataclass(frozen=True, slots=True)
class Said:
    """One proposed cure.

    Parameters
    ----------
    line
        Where it stands, from 1.
    trial
        What became of it; None where it was not understood.
    problem
        Why it was not understood, and the nearest known form; empty where it was.
    """

    line: int
    text: str
    trial: Trial | None
    problem: str

    @property
    def worst(self) -> Meaning | None:
        """The meaning that decides: the worst, or where none does harm the best; of those alike the first."""
        if self.trial is None:
            return None
        harmful = [m for m in self.trial.meanings if m.verdict in v.RANK[1:]]
        if harmful:
            return min(harmful, key=lambda m: v.VERDICTS.index(m.verdict))
        return max(self.trial.meanings, key=lambda m: v.VERDICTS.index(m.verdict))

    @property
    def verdict(self) -> str:
        """That meaning's verdict; empty where nothing was understood."""
        return self.worst.verdict if self.worst else ""

    @property
    def cure_chance(self) -> float:
        """The most probable cure among the meanings that are sound repairs or tests [1]."""
        kinds = {v.SOUND_REPAIR, v.SOUND_TEST}
        meanings = self.trial.meanings if self.trial else ()
        return max((m.cure_chance for m in meanings if m.verdict in kinds and m.cures), default=0.0)


@dataclass(frozen=True, slots=True)
class Hearsay:
    """All that was proposed.

    Parameters
    ----------
    suspects
        What the readings speak for, likeliest first, with probability; empty without readings.
    builds
        Builds that the sheet leaves open, with probability; empty where it is known.
    """

    sheet: Sheet
    said: tuple[Said, ...]
    readings: tuple[Reading, ...]
    suspects: tuple[tuple[str, float], ...]
    builds: tuple[tuple[str, float], ...] = ()

    def of(self, *verdicts: str) -> tuple[Said, ...]:
        """Those that are judged with one of these verdicts."""
        return tuple(s for s in self.said if s.verdict in verdicts)


def hearsay(
    sheet: Sheet | Engine, text: str, readings: str | Sequence[Reading] = (), *, file: str = ""
) -> Hearsay:
    """Judge proposed cures, one a line; ``#`` begins a remark.

    Parameters
    ----------
    sheet
        A sheet, or an `Engine` made from one.
    text
        The lines.
    readings
        What was read, or its typed lines; the current suspects follow from it.
    file
        Where the lines come from, for messages.

    Raises
    ------
    ClaimError
        When there is no line, too many, or none that is understood.
    """
    lines = [
        (n, body)
        for n, raw in enumerate(text.splitlines(), 1)
        if (body := _MARK.sub("", raw.split("#", 1)[0]).strip())
    ]
    if not lines or len(lines) > MOST_LINES:
        message = "holds no proposed cure" if not lines else f"holds more than {MOST_LINES} proposed cures"
        remedy = "Write one cure a line, such as: unplug C2."
        raise ClaimError(Problem("hearsay", "", message, remedy, file))
    trials = Trials(sheet, readings)
    said = tuple(_judged(trials, n, body, file) for n, body in lines)
    if all(s.trial is None for s in said):
        raise ClaimError(*(p for s in said for p in _problems(trials, s, file)))
    suspects: tuple[tuple[str, float], ...] = ()
    if trials.readings:
        suspects = tuple((s.name, s.probability) for s in trials.answer.suspects[:NAMED])
    builds = tuple((words, p) for words, p, _ in trials.builds)
    return Hearsay(trials.engine.sheet, said, trials.readings, suspects, builds)


def _judged(trials: Trials, line: int, text: str, file: str) -> Said:
    try:
        return Said(line, text, trials.read(text, file=file, line=line), "")
    except BackprobeError as error:
        return Said(line, text, None, "; ".join(str(p) for p in error.problems))


def _problems(trials: Trials, said: Said, file: str) -> tuple[Problem, ...]:
    try:
        trials.read(said.text, file=file, line=said.line)
    except BackprobeError as error:
        return error.problems
    return ()

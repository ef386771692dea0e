"""A trial: a proposed cure acted out in every operator state before anyone touches the machine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.builds import choice_words, rank_builds
from backprobe.diagnosis.engine import Engine
from backprobe.errors import Problem
from backprobe.readings.lines import parse_readings
from backprobe.readings.model import Reading
from backprobe.sheet.model import Sheet
from backprobe.workbench import verdict as v
from backprobe.workbench.claim import Cure
from backprobe.workbench.claim_words import read_claim
from backprobe.workbench.claims import ClaimError
from backprobe.workbench.complained import Complained
from backprobe.workbench.trial_bench import UNACTED, Bench
from backprobe.workbench.trial_builds import alike, over_builds
from backprobe.workbench.trial_values import AsCheck, Meaning, Trial

MOST_SUSPECTS = 24
"""Suspects that a claim is judged for, the likeliest."""
MOST_UNREAD = 80
"""The same for a repair while nothing was read: what fails most often."""
MOST_TRIED = 200
"""Meanings of one claim times builds that are acted out: some seconds."""
LEAST_BUILD = 0.01
"""Builds less probable than this, by what was read, are not acted out [1]."""


class Trials:
    """Judges cures on one sheet; what every claim shares is reckoned once.

    A sheet that leaves its build open is tried on each build that the readings leave.

    Parameters
    ----------
    sheet
        A sheet, or an `Engine` made from one.
    readings
        What was read, or its typed lines; suspects follow from it.
    """

    def __init__(self, sheet: Sheet | Engine, readings: str | Sequence[Reading] = ()) -> None:
        self.engine = sheet if isinstance(sheet, Engine) else Engine(sheet)
        listed = parse_readings(readings, self.engine.sheet) if isinstance(readings, str) else list(readings)
        self.readings = tuple(listed)
        most = MOST_SUSPECTS if self.readings else MOST_UNREAD
        heard = Complained.of(self.readings, self.engine.sheet) if self.readings else None
        self.bench = Bench(self.engine, lambda: self._answer_of(self.engine), most, heard)
        """The bench of the first build."""
        self._others = {
            e: Bench(e, lambda e=e: self._answer_of(e), most, heard)  # type: ignore[misc]
            for e in self.engine.builds[1:]
        }
        self.guarded, self.watch = self.bench.guarded, self.bench.watch

    @cached_property
    def answer(self) -> Answer:
        """What the readings speak for; without any, what fails most often."""
        return rank_builds(self.engine, list(self.readings))

    def _answer_of(self, engine: Engine) -> Answer:
        own = (b.answer for b in self.answer.builds if b.answer.engine is engine)
        return next(own, self.answer)

    @cached_property
    def builds(self) -> tuple[tuple[str, float, Bench], ...]:
        """What each build is, its probability [1] and its bench, for those that the readings leave."""
        if not self._others:
            return ()
        if self.readings:
            shares = [(b.choices, b.probability, b.answer.engine) for b in self.answer.builds]
        else:
            named = zip(self.engine.sheet.builds, self.engine.builds, strict=True)
            shares = [(b.choices, b.share, e) for b, e in named]
        kept = [s for s in shares if s[1] >= LEAST_BUILD]
        whole = sum(p for _, p, _ in kept)
        return tuple((choice_words(c), p / whole, self._others.get(e, self.bench)) for c, p, e in kept)

    def read(self, claim: str, *, lasting: bool | None = None, file: str = "", line: int = 0) -> Trial:
        """Judge a claim as it was said; raises ClaimError or ReadingError."""
        told = " ".join(claim.split())
        benches = [b for _, _, b in self.builds] or [self.bench]
        cures = [read_claim(claim, b.guarded, lasting=lasting, file=file, line=line) for b in benches]
        if len({len(c) for c in cures}) > 1:
            cures = cures[:1] * len(cures)
        # Builds differ in values, not in what is fitted: a meaning is the same one on each of them.
        meanings = [self._over(list(own), len(cures[0])) for own in zip(*cures, strict=True)]
        return Trial(self.engine.sheet, told, tuple(meanings), self.readings)

    def judge(self, cures: Sequence[Cure], claim: str = "") -> Trial:
        """Judge cures as the meanings of one claim."""
        many = max(1, len(self.builds))
        meanings = tuple(self._over([cure] * many) for cure in cures)
        return Trial(self.engine.sheet, claim or cures[0].words, meanings, self.readings)

    def _over(self, cures: list[Cure], of: int = 1) -> Meaning:
        """One meaning of several on each build, the cure as it is meant there.

        A claim of very many meanings is acted out on the likeliest builds only, and says so.
        """
        if not self.builds:
            return self.bench.judge(cures[0])
        if cures[0].kind in UNACTED:
            return self.builds[0][2].judge(cures[0])
        tried = self.builds[: max(1, MOST_TRIED // of)]
        judged = [(w, p, b.judge(c)) for (w, p, b), c in zip(tried, cures, strict=False)]
        meaning = judged[0][2] if len(judged) == 1 else over_builds(judged)
        if len(tried) == len(self.builds):
            return meaning
        few = f"Tried on the likeliest of {len(self.builds)} builds only: {alike([w for w, _, _ in judged])}."
        return replace(meaning, cautions=(*meaning.cautions, few))


def as_check(meaning: Meaning, shown: str) -> AsCheck:
    """A reading obtained by a momentary stand-in, with its safe set-up and its put-back step.

    Raises
    ------
    ClaimError
        For what is left in place, and for what harms or defeats.
    """
    cure = meaning.cure
    if cure.lasting or meaning.verdict not in {v.SOUND_TEST, v.NO_EFFECT, v.CODE}:
        message = f"goes on no record as a check: {'left in place' if cure.lasting else meaning.verdict}"
        remedy = "Do it for a moment, in a state with the guard truly shut, such as `..., gate shut`."
        raise ClaimError(Problem("claim", cure.words, message, remedy))
    return AsCheck(cure.words, shown, v.SAFE, v.put_back_words(cure))


def trial(
    sheet: Sheet | Engine,
    claim: str,
    readings: str | Sequence[Reading] = (),
    *,
    lasting: bool | None = None,
) -> Trial:
    """Act a proposed cure out in every operator state.

    Parameters
    ----------
    sheet
        A sheet, or an `Engine` made from one.
    claim
        Such as ``join C2-1 C2-3`` or ``it wants a resistor``; with several meanings all are judged.
    readings
        What was read, or its typed lines; without any the suspects are what fails most often.
    lasting
        Whether it is left in place; None for what the claim says.

    Raises
    ------
    ClaimError, ReadingError
        Naming the words not understood and the nearest known form.
    """
    return Trials(sheet, readings).read(claim, lasting=lasting)

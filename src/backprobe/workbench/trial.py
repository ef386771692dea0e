"""A trial: a proposed cure acted out in every operator state before anyone touches the machine."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from backprobe.circuit.compiled import Bools, Ints
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Solution, solve_full
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.builds import rank_builds
from backprobe.diagnosis.engine import Engine
from backprobe.errors import Problem
from backprobe.readings.lines import parse_readings
from backprobe.readings.model import Reading
from backprobe.sheet.model import Sheet
from backprobe.workbench import verdict as v
from backprobe.workbench.claim import Cure, Guarded, repaired, stage_of
from backprobe.workbench.claim_words import read_claim
from backprobe.workbench.claims import ClaimError
from backprobe.workbench.trial_effects import Seen, Watch, bearings
from backprobe.workbench.trial_values import AsCheck, Cases, Effect, ForSuspect, Meaning, Trial

MOST_SUSPECTS = 24
"""Suspects that a claim is judged for, the likeliest."""
MOST_UNREAD = 80
"""The same for a repair while nothing was read: what fails most often."""
LEAST = 0.003
"""Suspects less likely than this are not judged [1]."""


class Trials:
    """Judges cures on one sheet; what every claim shares is reckoned once.

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
        self.guarded = Guarded(self.engine)
        self.watch = Watch(self.engine)
        self.states = self.watch.limits.states
        self._before: dict[tuple[Setup, int], Seen] = {}

    @cached_property
    def suspected(self) -> Cases:
        """The sound machine and the suspects, likeliest first."""
        answer = rank_builds(self.engine, list(self.readings))
        return cases_of(answer, self.engine, MOST_SUSPECTS if self.readings else MOST_UNREAD)

    @cached_property
    def sound(self) -> Cases:
        """The sound machine alone."""
        return Cases(("nothing wrong",), (1.0,), self.engine.circuit.nominal[None], ((),))

    def cases(self, cure: Cure) -> Cases:
        """What a cure is judged on; while nothing was read, only a repair meets what fails most."""
        return self.suspected if self.readings or cure.repairs else self.sound

    def read(self, claim: str, *, lasting: bool | None = None, file: str = "", line: int = 0) -> Trial:
        """Judge a claim as it was said; raises ClaimError or ReadingError."""
        cures = read_claim(claim, self.guarded, lasting=lasting, file=file, line=line)
        return self.judge(cures, " ".join(claim.split()))

    def judge(self, cures: Sequence[Cure], claim: str = "") -> Trial:
        """Judge cures as the meanings of one claim."""
        meanings = tuple(self._meaning(cure) for cure in cures)
        return Trial(self.engine.sheet, claim or cures[0].words, meanings, self.readings)

    def before(self, state: Setup, cases: Cases) -> Seen:
        """Every case in an operator state with nothing done."""
        key = (state, len(cases.names))
        if key not in self._before:
            solution = solve_full(self.engine.stage(state), cases.values)
            self._before[key] = self.watch.see(solution, state)
        return self._before[key]

    def _meaning(self, cure: Cure) -> Meaning:
        if cure.kind == "not fitted":
            why = "what is not fitted on this build cannot be the cause: no fault of this sheet is in it"
            return Meaning(cure, v.NO_EFFECT, (why,), (), (), (), 0.0)
        cases, circuit = self.cases(cure), self.engine.circuit
        values = repaired(circuit, cure, cases.values, list(cases.faults))
        seen: list[Seen] = []
        effects: list[Effect] = []
        for state in self.states:
            stage = stage_of(circuit, cure, state, self.guarded.released_at if cure.fixed else {})
            solution = solve_full(stage, values)
            seen.append(self.watch.see(solution, state, cure))
            effects.append(self._effect(cure, solution, (seen[-1], self.before(state, cases)), state))
        return self._summed(cure, cases, tuple(effects), seen)

    def _effect(self, cure: Cure, solution: Solution, pair: tuple[Seen, Seen], state: Setup) -> Effect:
        seen, one, before = pair[0], pair[0].at(0), pair[1].at(0)
        names = [f.name for f in self.watch.functions]
        hurt = np.flatnonzero(v.damaged(one, before)[0])
        fuses = self.watch.fuse_names()
        asked = before.released[0]
        verdict = v.RANK[int(v.severity(one, before, asked if cure.lasting else None)[0])]
        if verdict == v.NO_EFFECT and _tests(cure) and safe(state):
            verdict = v.SOUND_TEST
        return Effect(
            state,
            verdict,
            v.reasons(self.watch, one, before, asked),
            self.watch.lamps(solution, 0),
            tuple(self.watch.codes[k][0] for k in np.flatnonzero(one.codes[0])),
            tuple(n for n, on in zip(names, one.released[0], strict=True) if on),
            tuple(n for n, on in zip(names, one.released[0], strict=True) if not on),
            tuple(
                k.removesuffix(" limiting")
                for (_, k), on in zip(self.watch.feeds, one.limiting[0], strict=True)
                if on
            ),
            tuple(one.measured.limits[k].name for k in hurt),
            tuple(fuses[m] for m in np.flatnonzero(one.blown[0] & ~before.blown[0])),
            bearings(self.watch, solution, seen.measured, 0),
            cure.meets(state),
        )

    def _summed(self, cure: Cure, cases: Cases, effects: tuple[Effect, ...], seen: list[Seen]) -> Meaning:
        befores = [self.before(s, cases) for s in self.states]
        judged = [k for k, e in enumerate(effects) if e.judged] or list(range(len(effects)))
        levels = np.array([_level(cure, s, b) for s, b in zip(seen, befores, strict=True)])
        own = np.array([b.opened.any(axis=1) for b in befores])
        # What a fault does by itself is not held against the cure as a whole, only in the suspect's own line.
        caused = np.where((levels == 3) & own, 0, levels)[judged].max(axis=0)
        cures = _cured(seen, befores)
        worst: Ints = levels[judged].max(axis=0)
        walked = (seen, befores, judged)
        suspects = tuple(
            ForSuspect(
                cases.names[c],
                cases.probabilities[c],
                self._of_suspect(cure, int(worst[c]), bool(cures[c])),
                bool(cures[c]) and int(worst[c]) < 2,
                self._why(cure, c, (int(worst[c]), bool(cures[c])), walked),
            )
            for c in range(1, len(cases.names))
        )
        level = max(int(worst[0]), 3 if (caused == 3).any() else 0, 2 if cure.warns else 0)
        verdict = v.RANK[level]
        if verdict == v.NO_EFFECT:
            verdict = self._mild(cure, suspects, [effects[k] for k in judged])
        touched = self.guarded.touched(cure)
        guarded = tuple(f.name for f in self.watch.functions if f.guard)
        said = (*cure.minds, *v.cautions(cure, touched, guarded, v.put_back_words(cure)))
        left = [e for e in effects if not e.judged and e.verdict == v.DEFEATS]
        if left:
            said = (*said, f"Left in place it {v.DEFEATS}: {left[0].reasons[0]}.")
        chance = sum(s.probability for s in suspects if s.cures and s.verdict != v.DEFEATS)
        why = _reasons(verdict, cure, [effects[k] for k in judged], suspects)
        return Meaning(cure, verdict, why, said, effects, suspects, min(1.0, chance))

    def _mild(self, cure: Cure, suspects: tuple[ForSuspect, ...], judged: list[Effect]) -> str:
        """The verdict of what does no harm."""
        found = {s.verdict for s in suspects if s.cures}
        for good in (v.SOUND_REPAIR, v.SOUND_TEST):
            if good in found:
                return good
        return v.SOUND_TEST if _tests(cure) and all(safe(e.state) for e in judged) else v.NO_EFFECT

    def _of_suspect(self, cure: Cure, level: int, cured: bool) -> str:
        if level or not cured:
            return v.RANK[level]
        plain = cure.mends or (cure.lasting and not self.guarded.touched(cure))
        return v.SOUND_REPAIR if plain and cure.kind != "fit" else v.SOUND_TEST

    def _why(
        self, cure: Cure, c: int, found: tuple[int, bool], walked: tuple[list[Seen], list[Seen], list[int]]
    ) -> tuple[str, ...]:
        seen, befores, judged = walked
        level, cured = found
        if level:
            at = next(k for k in judged if _level(cure, seen[k], befores[k])[c] == level)
            asked = befores[at].released[0]
            return v.reasons(self.watch, seen[at].at(c), befores[at].at(c), asked)[:3]
        return (v.ALL_WELL,) if cured else ()


def _level(cure: Cure, seen: Seen, before: Seen) -> Ints:
    """``(c,)`` severity; what is done for a moment may run a function whose guard is truly shut."""
    return v.severity(seen, before, before.released[0] if cure.lasting else None)


def _cured(seen: list[Seen], befores: list[Seen]) -> Bools:
    """``(c,)`` whether each case works as the sound machine does, guards and all, and did not before."""
    good = np.ones(len(seen[0].released), bool)
    wrong = np.zeros(len(seen[0].released), bool)
    for after, before in zip(seen, befores, strict=True):
        sound = before.released[0] & before.shut
        good &= (after.released == sound).all(axis=1)
        wrong |= (before.released != sound).any(axis=1)
    return good & wrong


def _tests(cure: Cure) -> bool:
    """Whether it is done for a moment to learn something."""
    return not cure.lasting and cure.kind in {"join", "resistor", "source", "unplug", "fix"}


def safe(state: Setup) -> bool:
    """Whether nothing is being started in an operator state."""
    return all(position != "start" for _, position in state.state)


def _reasons(
    verdict: str, cure: Cure, judged: list[Effect], suspects: tuple[ForSuspect, ...]
) -> tuple[str, ...]:
    """The reasons of the states that decide, then those of the claim itself."""
    first = [e.reasons for e in judged if e.verdict == verdict and e.reasons]
    if not first and verdict in v.RANK[1:]:
        first = [tuple(f"if {s.name}: {r}" for r in s.reasons) for s in suspects if s.verdict == verdict]
    if not first:
        first = [e.reasons for e in judged if e.reasons]
    found = [*(first[0] if first else ()), *cure.warns]
    if any(s.cures for s in suspects) and verdict in {v.SOUND_REPAIR, v.SOUND_TEST}:
        found.insert(0, v.ALL_WELL)
    if not found:
        found = ["no function, lamp or code changes in any operator state"]
    return tuple(dict.fromkeys(found))


def cases_of(answer: Answer, engine: Engine, most: int = MOST_SUSPECTS) -> Cases:
    """The sound machine as row 0, then the suspects of an answer."""
    kept = [s for s in answer.suspects if s.probability >= LEAST and answer.engine is engine][:most]
    rows = [np.asarray(answer.explanations.values[s.best], np.float64) for s in kept]
    modes = answer.engine.catalogue.modes
    mode_of = answer.engine.catalogue.mode_of
    faults: list[tuple[str, ...]] = [()]
    for suspect in kept:
        have = [
            modes[int(mode_of[r])].name for r in answer.explanations.rows[suspect.best] if mode_of[r] >= 0
        ]
        faults.append(tuple(dict.fromkeys((*suspect.names, *have))))
    return Cases(
        ("nothing wrong", *(s.name for s in kept)),
        (answer.as_built, *(s.probability for s in kept)),
        np.vstack([engine.circuit.nominal[None], *(r[None] for r in rows)]),
        tuple(faults),
    )


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
    return AsCheck(cure.words, shown, meaning.cautions[0], v.put_back_words(cure))


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

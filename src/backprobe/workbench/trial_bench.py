"""One build of a sheet on the bench: what a cure does there, on a sound machine and with each suspect."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cached_property

import numpy as np

from backprobe.circuit.compiled import Bools, Ints
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Solution
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.engine import Engine
from backprobe.workbench import verdict as v
from backprobe.workbench.acts import never_words
from backprobe.workbench.claim import Cure, Guarded, repaired, stage_of
from backprobe.workbench.complained import Complained, lost_words
from backprobe.workbench.instead import instead_words
from backprobe.workbench.switched import relay_before
from backprobe.workbench.trial_effects import Seen, Watch, bearings
from backprobe.workbench.trial_values import Cases, Effect, ForSuspect, Meaning

LEAST = 0.003
"""Suspects less likely than this are not judged [1]."""
FEW = 0.05
"""A cure with which what was dead works less probably than this would not even make it work [1]."""
UNACTED = frozenset({"not fitted", "behind", "reset"})
"""Kinds of cures that are no change of the circuit."""
FORGETS = "it clears what is stored and mends nothing: a code comes back while its fault is there"
NO_MEMORY = "nothing on this sheet stores a code, so there is nothing to reset"


class Bench:
    """Judges cures on one build; what every claim shares is reckoned once.

    Parameters
    ----------
    engine
        The engine of the build.
    answer
        Gives the suspects of this build, when they are wanted.
    most
        Suspects that a cure is judged for, the likeliest.
    heard
        What was read of functions and relays; None where nothing was read at all: only a repair then meets
        what fails most.
    """

    def __init__(
        self, engine: Engine, answer: Callable[[], Answer], most: int, heard: Complained | None
    ) -> None:
        self.engine, self._answer, self._most = engine, answer, most
        self._read, self.heard = heard is not None, heard or Complained()
        self.guarded = Guarded(engine, self.heard.clicks)
        self.watch = Watch(engine)
        self.states = self.watch.limits.states
        self._before: dict[tuple[Setup, tuple[str, ...]], Seen] = {}

    @cached_property
    def suspected(self) -> Cases:
        """The sound machine and the suspects, likeliest first."""
        return cases_of(self._answer(), self.engine, self._most)

    @cached_property
    def sound(self) -> Cases:
        """The sound machine alone."""
        return Cases(("nothing wrong",), (1.0,), self.engine.circuit.nominal[None], ((),))

    def cases(self, cure: Cure) -> Cases:
        """What a cure is judged on."""
        return self.suspected if self._read or cure.repairs else self.sound

    def before(self, state: Setup, cases: Cases) -> Seen:
        """Every case in an operator state with nothing done."""
        key = (state, cases.names)
        if key not in self._before:
            solution = solve_full(self.engine.stage(state), cases.values)
            self._before[key] = self.watch.see(solution, state)
        return self._before[key]

    def judge(self, cure: Cure) -> Meaning:
        """Act one cure out in every operator state."""
        if cure.kind == "behind":
            return Meaning(cure, v.NO_EFFECT, cure.minds, (), (), (), 0.0)
        if cure.kind == "not fitted":
            return Meaning(cure, v.NO_EFFECT, (v.NOT_FITTED, *cure.minds), (), (), (), 0.0)
        if cure.kind == "reset":
            return Meaning(cure, v.NO_EFFECT, self._forgets(), cure.minds, (), (), 0.0)
        cases, circuit = self.cases(cure), self.engine.circuit
        whole = cases
        if cure.mends:
            # What a repair does not touch stays as it was: only what it mends is acted out.
            cases = cases.taken([k for k, own in enumerate(cases.faults) if not k or cure.repairs & set(own)])
        values = repaired(circuit, cure, cases.values, list(cases.faults))
        seen: list[Seen] = []
        effects: list[Effect] = []
        for state in self.states:
            stage = stage_of(circuit, cure, state, self.guarded.released_at if cure.fixed else {})
            solution = solve_full(stage, values)
            seen.append(self.watch.see(solution, state, cure))
            effects.append(self.effect(cure, solution, (seen[-1], self.before(state, cases)), state))
        meaning = self.summed(cure, cases, tuple(effects), seen)
        return meaning if cases is whole else _with_untouched(meaning, whole)

    def _forgets(self) -> tuple[str, ...]:
        """What a reset does, and what has to be armed again after it."""
        sheet = self.engine.sheet
        stores = any(p.kind == "controller" for p in sheet.parts.values())
        armed = [f"{name} is clear after it, and has to be set again" for name in sheet.latches]
        return (FORGETS if stores else NO_MEMORY, *armed)

    def effect(self, cure: Cure, solution: Solution, pair: tuple[Seen, Seen], state: Setup) -> Effect:
        """What a cure does in an operator state, of a solved batch whose row 0 is the sound machine.

        Parameters
        ----------
        pair
            The batch with the cure, and without it.
        """
        seen, one, before = pair[0], pair[0].at(0), pair[1].at(0)
        names = [f.name for f in self.watch.functions]
        hurt = np.flatnonzero(v.damaged(one, before)[0])
        fuses = self.watch.fuse_names()
        asked = before.released[0]
        runs = one.released[0] & (one.works[0] | ~before.works[0] | one.opened[0])
        verdict = v.RANK[int(v.severity(one, before, asked if cure.lasting else None)[0])]
        if verdict == v.NO_EFFECT and _tests(cure) and safe(state):
            verdict = v.SOUND_TEST
        return Effect(
            state,
            verdict,
            v.reasons(self.watch, one, before, asked, state),
            self.watch.lamps(solution, 0),
            tuple(self.watch.codes[k][0] for k in np.flatnonzero(one.codes[0])),
            tuple(n for n, on in zip(names, runs, strict=True) if on),
            tuple(n for n, on in zip(names, runs, strict=True) if not on),
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

    def summed(self, cure: Cure, cases: Cases, effects: tuple[Effect, ...], seen: list[Seen]) -> Meaning:
        """What a cure comes to over all operator states; `effects` and `seen` have one for each."""
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
        said = (*cure.minds, *v.cautions(cure, self._refused(cure, verdict)))
        left = [e for e in effects if not e.judged and e.verdict == v.DEFEATS]
        if left and verdict != v.DEFEATS:
            said = (*said, f"Left in place it {v.DEFEATS}: {left[0].reasons[0].removeprefix(v.LOST)}.")
        chance = sum(s.probability for s in suspects if s.cures and s.verdict != v.DEFEATS)
        why = _reasons(verdict, cure, [effects[k] for k in judged], suspects)
        works = self._works(cases, seen)
        instead = instead_words(cure, self.guarded)
        # Of what a guard's sensor answers with a code nobody is told which bridge would do it.
        if verdict not in {v.SOUND_REPAIR, v.SOUND_TEST} and not (instead and verdict == v.CODE):
            still, mended = self._unhelped() if works is not None and works < FEW else ("", "")
            if still and verdict == v.DEFEATS:
                # That it runs is of the machine once mended, that it would not even run of today's.
                why = tuple(_once_mended(r, mended) for r in why)
                still = f"today {still}"
            more = (*self._unasked(cure), *([still] if still else []))
            why = more if more and why == (v.MENDS_NOTHING,) else (*why, *more)
        if instead and len(why) > 1:
            why = tuple(r for r in why if r != v.ALL_WELL)
        why = (*([cure.called] if cure.called else []), *why)
        touched = self._made_up(cure, verdict)
        meaning = Meaning(cure, verdict, why, said, effects, suspects, min(1.0, chance), touched)
        return replace(meaning, works_chance=works, instead=instead)

    def _works(self, cases: Cases, seen: list[Seen]) -> float | None:
        """Probability that what was read dead works with the cure [1]; None where nothing was read dead."""
        names = [f.name for f in self.watch.functions]
        asked = [
            (k, names.index(name))
            for setup, name in self.heard.dead
            for k, state in enumerate(self.states)
            if name in names and set(setup.state) <= set(state.state)
        ]
        # In a state where nothing asks for it a function stands still on a sound machine too.
        sound = [(k, f) for k, f in asked if self.before(self.states[k], cases).works[0, f]]
        if not sound:
            return None
        well: Bools = np.ones(len(cases.names), bool)
        for k, f in sound:
            well &= seen[k].works[:, f]
        return min(1.0, float(np.array(cases.probabilities)[1:] @ well[1:]))

    def _unasked(self, cure: Cure) -> Iterator[str]:
        """What is mended, but lies behind a relay that does not click."""
        for part in cure.touches if cure.mends else ():
            relay = relay_before(part, self.engine.sheet)
            if relay in self.heard.silent:
                yield f"{relay} does not click, so {part} is not asked yet"

    def _unhelped(self) -> tuple[str, str]:
        """Why what does not even make it work does not, and what is to be mended first; both may be empty."""
        circuit, answer = self.engine.circuit, self._answer()
        own = set(circuit.ohms_of.tolist())
        ohms = {key: float(circuit.nominal[k]) for key, k in circuit.parameter_of.items() if k in own}
        lost, mended = lost_words(answer, {m.name: m for m in circuit.modes}, ohms)
        if not lost:
            return "", ""
        setup, _ = self.heard.dead[0]
        dead = {name for s, name in self.heard.dead if s.state == setup.state}
        still = [f for f in self.watch.functions if f.name in dead]
        return f"{never_words(still, self.engine.sheet, setup)} with it: {lost}", mended

    def _made_up(self, cure: Cure, verdict: str) -> tuple[str, ...]:
        """Guard cavities and parts whose signal a cure makes up for good."""
        return self._faked(cure, verdict) if cure.lasting else ()

    def _faked(self, cure: Cure, verdict: str) -> tuple[str, ...]:
        """The same, also of what is done for a moment."""
        holds = cure.kind in v.HOLDS or (cure.kind == "cut" and verdict == v.DEFEATS)
        return self.guarded.touched(cure) if holds else ()

    def _refused(self, cure: Cure, verdict: str) -> str:
        """Why a cure is no repair; empty for what touches no guard, or lets nothing go for a moment."""
        if not cure.lasting and verdict != v.DEFEATS:
            return ""
        held = tuple(f.name for f in self.watch.functions if f.guard)
        if faked := self._faked(cure, verdict):
            return v.refusal(faked, held, told=self.guarded.told)
        return v.refusal_of(cure.words, held) if verdict == v.DEFEATS else ""

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
            state = self.states[at]
            return v.reasons(self.watch, seen[at].at(c), befores[at].at(c), asked, state)[:3]
        return (v.ALL_WELL,) if cured else ()


def _once_mended(reason: str, part: str) -> str:
    """A guard that is lost only once the machine is mended, said so."""
    acts = reason.removeprefix(v.LOST)
    return reason if acts == reason else f"{v.LOST}once {part} is mended, {acts}"


def _with_untouched(meaning: Meaning, whole: Cases) -> Meaning:
    """The same with the suspects that the cure does not touch, in their place."""
    judged = {s.name: s for s in meaning.suspects}
    named = list(zip(whole.names, whole.probabilities, strict=True))[1:]
    suspects = (judged.get(n) or ForSuspect(n, p, v.NO_EFFECT, cures=False, reasons=()) for n, p in named)
    return replace(meaning, suspects=tuple(suspects))


def _level(cure: Cure, seen: Seen, before: Seen) -> Ints:
    """``(c,)`` severity; what is done for a moment may run a function whose guard is truly shut."""
    return v.severity(seen, before, before.released[0] if cure.lasting else None)


def _cured(seen: list[Seen], befores: list[Seen]) -> Bools:
    """``(c,)`` whether each case works as the sound machine does, guards and all, and did not before."""
    good = np.ones(len(seen[0].released), bool)
    wrong = np.zeros(len(seen[0].released), bool)
    for after, before in zip(seen, befores, strict=True):
        # Let go is not enough: what fails behind the driver leaves it so, and its load dead.
        for now, was in ((after.released, before.released), (after.works, before.works)):
            sound = was[0] & before.shut
            good &= (now == sound).all(axis=1)
            wrong |= (was != sound).any(axis=1)
    return good & wrong


def _tests(cure: Cure) -> bool:
    """Whether it is done for a moment to learn something."""
    return not cure.lasting and cure.kind in v.HOLDS | {"unplug"}


def safe(state: Setup) -> bool:
    """Whether nothing is being started in an operator state."""
    return all(position != "start" for _, position in state.state)


def _reasons(
    verdict: str, cure: Cure, judged: list[Effect], suspects: tuple[ForSuspect, ...]
) -> tuple[str, ...]:
    """The reasons of the states that decide, then those of the claim itself."""
    first = [e.reasons for e in judged if e.verdict == verdict and e.reasons]
    if not first and verdict in v.RANK[1:]:
        first = [
            tuple(f"if it is {s.name}: {r}" for r in s.reasons) for s in suspects if s.verdict == verdict
        ]
    if not first:
        first = [e.reasons for e in judged if e.reasons]
    found = [*(first[0] if first else ()), *cure.warns]
    if any(s.cures for s in suspects) and verdict in {v.SOUND_REPAIR, v.SOUND_TEST}:
        found.insert(0, v.ALL_WELL)
    if not found:
        found = [v.MENDS_NOTHING if cure.mends else v.NOTHING]
    return tuple(dict.fromkeys(found))


def cases_of(answer: Answer, engine: Engine, most: int) -> Cases:
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

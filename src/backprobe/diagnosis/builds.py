"""A sheet whose values may be one of a few: every build is ranked, and the readings say which it is.

Bayesian model averaging (Hoeting, Madigan, Raftery, Volinsky: Bayesian Model Averaging, Statistical
Science 14 (1999) [mem]): each build's answer counts by its prior and by the evidence for it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.setup import Setup
from backprobe.diagnosis.answer import Answer, BuildShare, Group, Suspect
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.checks import Candidate, candidate_setups, change_minutes
from backprobe.diagnosis.controller_proof import hold_back
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.glance import Quick
from backprobe.diagnosis.next_check import DIGITS, Chooser, next_checks
from backprobe.diagnosis.ranking import SHOWN, rank_readings
from backprobe.readings.model import GAIN, Reading

DROPPED = 1e-3
"""Builds less probable than this are left out of the choice of checks [1]."""
DOUBT = 0.1
"""Doubt about the build from which a check that settles it is offered [1]."""
SETUPS = 6
"""Setups looked through for such a check, quickest to reach first."""
JUDGED = 12


def rank_builds(engine: Engine, readings: Sequence[Reading]) -> Answer:
    """Rank the faults of a sheet by what the readings say, over all builds that the sheet leaves open.

    A sheet without alternatives is ranked as `rank_readings` does.
    """
    if not engine.builds:
        return rank_readings(engine, readings)
    answers = [rank_readings(e, readings) for e in engine.builds]
    prior = np.log([b.share for b in engine.sheet.builds])
    log_weight = prior + np.array([a.log_evidence for a in answers] if readings else 0.0)
    share = np.exp(log_weight - np.logaddexp.reduce(log_weight))
    builds = [
        BuildShare(b.choices, float(p), a)
        for b, p, a in zip(engine.sheet.builds, share, answers, strict=True)
    ]
    builds.sort(key=lambda b: -b.probability)
    return _mixed(tuple(builds))


def _mixed(builds: tuple[BuildShare, ...]) -> Answer:
    """The likeliest build's answer with the probabilities of all builds together."""
    first = builds[0].answer
    index = {m.name: k for k, m in enumerate(first.engine.catalogue.modes)}
    chance: dict[str, float] = {}
    present: dict[str, float] = {}
    for build in builds:
        for suspect in build.answer.suspects:
            chance[suspect.name] = chance.get(suspect.name, 0.0) + build.probability * suspect.probability
            present[suspect.name] = present.get(suspect.name, 0.0) + build.probability * suspect.present

    def mixed(suspect: Suspect) -> Suspect:
        modes = tuple(index[n] for n in suspect.names)
        name = suspect.name
        return replace(suspect, modes=modes, probability=chance[name], present=present[name])

    placed: set[str] = set()
    groups: list[Group] = []
    for build in builds:
        for group in build.answer.groups:
            new = [
                s
                for s in group.suspects
                if s.name not in placed and chance[s.name] > SHOWN and index.keys() >= set(s.names)
            ]
            placed.update(s.name for s in new)
            if new:
                groups.append(Group(tuple(sorted(map(mixed, new), key=lambda s: (-s.probability, s.name)))))
    groups.sort(key=lambda g: -g.probability)
    answer = replace(
        first,
        groups=tuple(groups),
        as_built=sum(b.probability * b.answer.as_built for b in builds),
        none_of_these=sum(b.probability * b.answer.none_of_these for b in builds),
        held=(),
        builds=builds,
    )
    return hold_back(answer)


def next_checks_of_builds(answer: Answer, count: int = 6, without: Collection[str] = ()) -> tuple[Check, ...]:
    """The checks most worth doing, best first; while the build is in doubt one that settles it is among them.

    Parameters
    ----------
    count
        How many to return.
    without
        Points, parts and plugs that cannot be reached.
    """
    if not answer.builds or answer.builds[0].probability >= 1 - DOUBT:
        return next_checks(answer, count, without)
    chooser = Chooser(answer, without)
    scenes = _scenes(answer, chooser)
    checks = _MixedChooser(answer, scenes).again(chooser.best(count))
    proofs = sum(bool(c.proves) for c in checks)
    checks[proofs:] = sorted(checks[proofs:], key=lambda c: -c.worth)
    split = _BuildChooser(answer, scenes, without).split()
    if split is None or any(c.candidate.as_reading() == split.candidate.as_reading() for c in checks[:2]):
        return tuple(checks)
    place = 0 if not checks or split.worth >= checks[0].worth else 1
    return (*checks[:place], split, *checks[place:])[:count]


def splitting_builds(answer: Answer, without: Collection[str] = ()) -> Check | None:
    """The check that tells most about which build it is, each minute counted; None where none tells."""
    return _BuildChooser(answer, _scenes(answer, Chooser(answer, without)), without).split()


def _scenes(answer: Answer, first: Chooser) -> list[Chooser]:
    """One scene for each build in question; the likeliest build's is at hand."""
    return [first, *(Chooser(b.answer) for b in _in_question(answer)[1:])]


def _in_question(answer: Answer) -> list[BuildShare]:
    return [b for b in answer.builds if b.probability >= DROPPED]


def choice_words(choices: Sequence[tuple[str, str]]) -> str:
    """What a build is, such as ``feed volts 8 V``."""
    return ", ".join(f"{name} {value}" for name, value in choices)


class _MixedChooser(Chooser):
    """Judges checks by what they tell about the cause, over all builds in question.

    Parameters
    ----------
    scenes
        One for each build in question, as `_scenes` gives them; what they have solved is kept there.
    """

    def __init__(self, answer: Answer, scenes: Sequence[Chooser], without: Collection[str] = ()) -> None:
        super().__init__(answer, without)
        self.scenes = scenes
        shares = [b.probability * s.weight for b, s in zip(_in_question(answer), scenes, strict=True)]
        whole: Floats = np.concatenate(shares)
        self.weight = whole / whole.sum()
        self._label([s.labels[k] for s in self.scenes for k in s.label])

    def _label(self, names: list[str]) -> None:
        self.labels = list(dict.fromkeys(names))
        self.label = np.array([self.labels.index(n) for n in names])
        self.member = (self.label[None] == np.arange(len(self.labels))[:, None]).astype(float)

    def again(self, checks: Sequence[Check]) -> list[Check]:
        """Checks of the likeliest build, judged over all of them where they show a number."""
        numbers = [c.candidate for c in checks if c.candidate.kind in {"volts", "ohms"}]
        self._foresee(numbers)
        return [
            replace(self._judge(c.candidate), proves=c.proves) if c.candidate in numbers else c
            for c in checks
        ]

    def _foresee(self, candidates: Sequence[Candidate]) -> None:
        """What candidates would show, build by build: all of one kind and setup at once is quicker."""
        alike: dict[tuple[str, Setup], list[Candidate]] = {}
        for c in candidates:
            alike.setdefault((c.kind, c.setup), []).append(c)
        self._solve([setup for _, setup in alike])
        several = list(alike.values())
        for some, (mean, sd) in zip(several, self._moments(several), strict=True):
            self.looks |= {c: Quick(c, 0.0, mean[k], sd[k]) for k, c in enumerate(some)}

    def _solve(self, setups: Sequence[Setup]) -> None:
        for scene in self.scenes:
            scene.solve(setups)

    def _moments(self, several: Sequence[Sequence[Candidate]]) -> list[tuple[Floats, Floats]]:
        found = [scene._moments(several) for scene in self.scenes]
        return [
            (np.concatenate([m for m, _ in each], axis=1), np.concatenate([s for _, s in each], axis=1))
            for each in zip(*found, strict=True)
        ]


class _BuildChooser(_MixedChooser):
    """Judges checks by what they tell about the build, whatever the fault."""

    def __init__(self, answer: Answer, scenes: Sequence[Chooser], without: Collection[str] = ()) -> None:
        super().__init__(answer, scenes, without)
        named = zip(_in_question(answer), scenes, strict=True)
        self._label([choice_words(b.choices) for b, s in named for _ in s.label])

    def split(self) -> Check | None:
        """The check that tells most about the build for each minute."""
        setups = [s for s in self._different(candidate_setups(self.sheet, self.answer)) if not s.attached]
        setups.sort(key=lambda s: change_minutes(self.last, s, self.sheet))
        self._solve(setups[:SETUPS])
        short = [c for setup in setups[:SETUPS] for c in self._between_builds(setup)]
        short.sort(key=lambda t: -t[0])
        candidates = [c for _, c in short[:JUDGED]]
        self._foresee(candidates)
        checks = [self._weighed(self.looks[c]) for c in candidates]
        told = [c for c in checks if c.information > DOUBT**2]
        best = max(told, key=lambda c: c.worth, default=None)
        return None if best is None else self._judge(best.candidate, best.information)

    def _between_builds(self, setup: Setup) -> list[tuple[float, Candidate]]:
        pairs = self.pairs(setup)
        rows: list[Floats] = []
        for scene in self.scenes:
            circuit, solution = scene.engine.circuit, scene.solution(setup)
            padded = solution.padded
            nodes = np.array([circuit.node(p.terminal) for p in pairs.points])
            rows.append(padded[:, nodes[pairs.one]] - padded[:, nodes[pairs.other]])
        volts = np.concatenate(rows)
        change = change_minutes(self.last, setup, self.sheet)
        minutes = change + pairs.minutes_from(self.black)
        # A quick look: three per cent is what a value without a tolerance may be off by.
        score = self._spread_score(volts, ((0.03 + GAIN["volts"]) * volts) ** 2 + DIGITS**2)
        worth = score / minutes
        best = [(k, *pairs.ends(k)) for k in np.argsort(-worth, kind="stable")[:JUDGED] if worth[k] > 0]
        return [
            (float(worth[k]), Candidate("volts", setup, red, black, "", float(minutes[k])))
            for k, red, black in best
            if ("volts", red.terminal, black.terminal, setup) not in self.taken
        ]

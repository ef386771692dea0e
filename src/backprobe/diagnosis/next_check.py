"""What to measure next: expected information about the cause per minute of work.

Every reachable pair of points in every candidate setup is looked at by a quick measure (how
far the suspects' predictions lie apart against what blurs them); the best are then judged by
the mutual information between cause and outcome, integrated over the mixture of Gaussians
that the explanations predict (Cover and Thomas, Elements of Information Theory, ch. 2 and 8).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
from scipy.special import ndtr

from backprobe.circuit.compiled import Bools, Floats, Ints
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Solution
from backprobe.circuit.transfer import Transfer
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.cautions import cautions_of
from backprobe.diagnosis.check import Check, Outcome
from backprobe.diagnosis.checks import (
    OHMS_EXTRA,
    Candidate,
    candidate_setups,
    change_minutes,
    in_reach,
    rest_setup,
)
from backprobe.diagnosis.evidence import SAME, heaviest
from backprobe.diagnosis.glance import Glance, Quick
from backprobe.diagnosis.pairs import Pairs, make_pairs
from backprobe.diagnosis.patience import breathe
from backprobe.diagnosis.predict import GHOST, Prediction, predict_together
from backprobe.diagnosis.quick_worth import STILL, spread_score
from backprobe.diagnosis.scene import LEAST_SHARE, Scene
from backprobe.diagnosis.word_checks import WordChecks
from backprobe.readings.model import GAIN
from backprobe.readings.points import Point, reachable_points
from backprobe.sheet.anatomy import Attached
from backprobe.sheet.logic import atoms, parse_rule

EACH_SETUP = 8
"""Pairs of points looked at closely in each setup."""
SURE = 1.1
"""A quick worth may be too low by this factor [1]."""
FACE = 8
"""Readings judged for a sensor whose target is held by hand."""
BINS = 32
NATS = float(np.log(2))
"""Nats in a bit."""
DIGITS = 0.01
WIDE = 5.0
"""A zone is not stretched by a suspect whose prediction is this much wider than its members'."""
LIVE = 0.02
"""Volts between two points above which ohms are not offered [V]."""


def next_checks(answer: Answer, count: int = 6, without: Collection[str] = ()) -> tuple[Check, ...]:
    """The checks most worth doing, best first.

    Parameters
    ----------
    count
        How many to return.
    without
        Points, parts and plugs that cannot be reached.
    """
    return Chooser(answer, without).best(count)


def meter_variance(mean: Floats, kind: str) -> Floats:
    """``(e,)`` what a meter's own error adds to what it shows [V2 or 1]."""
    if kind == "ohms":
        touch: Floats = GAIN["ohms"] ** 2 / 3 + (0.3 / np.clip(np.exp(mean), 0.3, None)) ** 2
        return touch
    own: Floats = (GAIN["volts"] * mean) ** 2 / 3 + DIGITS**2
    return own


class Chooser(Scene):
    """Chooses among the checks of one scene by information about its labels for each minute."""

    def __init__(self, answer: Answer, without: Collection[str] = ()) -> None:
        super().__init__(answer)
        self.without = frozenset(without)
        self.looks: dict[Candidate, Quick] = {}
        """What the candidates looked at closely would show."""

    def reaches(self, candidate: Candidate) -> bool:
        """Whether all that a check touches can be reached."""
        return in_reach(candidate, self.without, self.last)

    def points(self, setup: Setup) -> list[Point]:
        """Points that a lead can reach in a setup."""
        points = reachable_points(self.sheet, setup.unplugged)
        return [p for p in points if self.reaches(Candidate("volts", setup, p))]

    def best(self, count: int) -> tuple[Check, ...]:
        """The checks most worth doing, best first."""
        if count < 1:
            return ()
        setups = self._different(candidate_setups(self.sheet, self.answer))
        self.solve(setups)
        dead = [self.solution(s).transfer for s in setups if self._is_dead(s)]
        Transfer.invert([t for t in dead if isinstance(t, Transfer)])
        glances = [glance for setup in setups for glance in self._screen(setup)]
        checks = self._worth_judging(glances, count)
        words = WordChecks(self)
        checks += [c for c in words.by_lamp() + words.by_hand() if self.reaches(c.candidate)]
        checks = [c for c in checks if c.information > 1e-3]
        checks.sort(key=lambda c: (-round(c.worth, SAME), c.words()))
        proof = self._proof()
        asked = {(c.candidate.red, c.candidate.black, c.candidate.setup) for c in proof}
        others = [c for c in checks if (c.candidate.red, c.candidate.black, c.candidate.setup) not in asked]
        chosen = [*proof, *self._varied(others, count)][:count]
        return tuple(self._finished(c, words) for c in chosen)

    def _worth_judging(self, glances: Sequence[Glance], count: int) -> list[Check]:
        """Checks judged setup by setup, the most promising first, while they may still come to the fore.

        In each setup one is passed over when another is known to be better by `SURE`; the rest of the
        setups once enough have a check that is better than theirs can be.
        """
        best: list[float] = []
        checks: list[Check] = []
        passed: list[Quick] = []
        ordered = sorted(glances, key=lambda g: -round(g.worth, SAME))
        # The first few are looked at in any case: all at once is quicker.
        looked = self._looked_at([g.candidates for g in ordered[:count]])
        for k, glance in enumerate(ordered):
            low = sorted(best, reverse=True)[count - 1] if len(best) >= count else 0.0
            if SURE * glance.worth <= low:
                break
            looks = looked[k] if k < count else self._looked_at([glance.candidates])[0]
            most = 0.0
            for one in sorted(looks, key=lambda q: -round(q.worth, SAME)):
                if SURE * one.worth <= max(most, low):
                    passed.append(one)
                    continue
                checks.append(self._weighed(one))
                most = max(most, NATS * checks[-1].worth)
            best.append(most)
        passed.sort(key=lambda q: -round(q.worth, SAME))
        return checks + [self._weighed(q) for q in passed[: max(0, count - len(checks))]]

    def _finished(self, check: Check, words: WordChecks) -> Check:
        """A check with its outcomes, which are told only of those that are offered."""
        if check.outcomes:
            return check
        if check.candidate.kind == "tester":
            return words.lamp(check.candidate)
        return self._judge(check.candidate, check.information)

    def _proof(self) -> list[Check]:
        """What has to be read before a controller that would lead may lead, first of all checks."""
        held = {h.suspect for h in self.answer.held}
        first = max((s.probability for s in self.answer.suspects if s.name not in held), default=0.0)
        leading = [h for h in self.answer.held if h.probability >= first]
        missing = {m.check: m.what for h in leading for m in h.missing if m.check is not None}
        return [replace(self._judge(c), proves=what) for c, what in missing.items() if self.reaches(c)]

    def _different(self, setups: Sequence[Setup]) -> list[Setup]:
        """The setups without those that leave the circuit as another does: the quickest to reach of each."""
        rules = [f.releases for f in self.sheet.functions.values() if f.releases]
        heard = {a.subject for r in rules for a in atoms(parse_rule(r))} & set(self.sheet.controls)
        kept: dict[tuple[object, ...], Setup] = {}
        for setup in sorted(setups, key=lambda s: change_minutes(self.last, s, self.sheet)):
            stage = self.engine.stage(setup)
            told = tuple(p for c, p in setup.state if c in heard)
            kept.setdefault((stage.open_always.tobytes(), told, setup.attached, setup.unplugged), setup)
        return list(kept.values())

    def _varied(self, checks: Sequence[Check], count: int) -> list[Check]:
        """The best few that differ in what is done: one of each kind and setup first, then the rest."""
        first: dict[tuple[object, ...], Check] = {}
        rest: list[Check] = []
        for check in checks:
            c = check.candidate
            bare = Setup(c.setup.state, c.setup.unplugged) if c.kind == "tester" else c.setup
            key = (c.kind, bare, c.part)
            if key in first:
                rest.append(check)
            else:
                first[key] = check
        return [*first.values(), *rest][:count]

    def pairs(self, setup: Setup) -> Pairs:
        """Pairs of the points that leads can reach in a setup; the engine keeps them."""
        touched = frozenset(setup.unplugged)
        key = (touched, tuple(p.terminal for p in self.points(setup))) if self.without else (touched, ())
        if key not in self.engine.pairs:
            self.engine.pairs[key] = make_pairs(self.engine.circuit, self.points(setup))
        return self.engine.pairs[key]

    def _is_dead(self, setup: Setup) -> bool:
        """Whether ohms may be read in a setup: at rest, with something unplugged."""
        return bool(setup.unplugged) and setup.state == rest_setup(self.sheet).state

    def _screen(self, setup: Setup) -> list[Glance]:
        """The pairs of points that a glance at a setup finds worth most: volts, and ohms where it is dead."""
        breathe()
        pairs = self.pairs(setup)
        if not pairs.points:
            return []
        solution = self.solution(setup)
        padded = solution.padded
        read = {kind: [(r, b) for k, r, b, s in self.taken if (k, s) == (kind, setup)] for kind in GAIN}
        some = pairs.quickest(padded, pairs.minutes_from(self.black), read["volts"])
        volts = padded[:, pairs.red[some]] - padded[:, pairs.black[some]]
        score = self._spread_score(volts, (GAIN["volts"] / 1.7 * np.abs(volts)) ** 2 + DIGITS**2 + 4e-4)
        found = [self._leading("volts", setup, pairs, some, score)]
        if any(a.kind == "target" for a in setup.attached):
            face = self._at_the_face(setup, pairs, some)
            found[0] = Glance(np.inf, tuple(dict.fromkeys((*found[0].candidates, *face.candidates))))
        if self._is_dead(setup):
            dead = pairs.dead(padded, LIVE, read["ohms"])
            found.append(self._screen_ohms(setup, solution, pairs, dead))
        return [g for g in found if g.candidates]

    def _looked_at(self, several: Sequence[Sequence[Candidate]]) -> list[list[Quick]]:
        """Candidates with what they would show, the widths of the suspects included.

        Parameters
        ----------
        several
            Candidates, each time of one kind and setup.
        """
        if not several:
            return []
        breathe()
        looked: list[list[Quick]] = []
        for candidates, (mean, sd) in zip(several, self._moments(several), strict=True):
            score = self._spread_score(mean.T, sd.T**2, widths=True)
            found = [
                Quick(c, float(score[k]) / c.minutes, mean[k], sd[k])
                for k, c in enumerate(candidates)
                if score[k] > STILL
            ]
            self.looks |= {q.candidate: q for q in found}
            looked.append(found)
        return looked

    def _at_the_face(self, setup: Setup, pairs: Pairs, some: Ints) -> Glance:
        """Readings of a sensor while its target is held to it by hand.

        What a hand-held target shows is wide, not far off: the quick measure would miss that it moves.
        """
        held = {a.red for a in setup.attached if a.kind == "target"}
        circuit = self.engine.circuit
        moved = {
            circuit.node(end)
            for b in circuit.branches
            if any(isinstance(g, Attached) and g.name in held for g in b.gates)
            for end in (b.a, b.b)
        }
        near = some[np.isin(pairs.red[some], list(moved)) ^ np.isin(pairs.black[some], list(moved))]
        quick = np.sort(near)[:FACE]
        return self._leading("volts", setup, pairs, quick, np.ones(quick.size))

    def _screen_ohms(self, setup: Setup, solution: Solution, pairs: Pairs, some: Ints) -> Glance:
        if not some.size:
            return Glance(0.0, ())
        _, ohms = solution.ports(pairs.red[some], pairs.black[some])
        logs = np.log(np.clip(ohms + 0.25, 1e-2, 3e7))
        score = self._spread_score(logs, 0.1**2 + (0.3 / np.clip(ohms, 0.3, None)) ** 2)
        return self._leading("ohms", setup, pairs, some, score)

    def _leading(self, kind: str, setup: Setup, pairs: Pairs, some: Ints, score: Floats) -> Glance:
        """The best few candidates among some pairs by score ``(k,)`` for each minute."""
        change = change_minutes(self.last, setup, self.sheet) + (OHMS_EXTRA if kind == "ohms" else 0.0)
        minutes = change + pairs.minutes_from(self.black)[some]
        worth = score / minutes
        best = [k for k in heaviest(worth)[:EACH_SETUP] if worth[k] > 0]
        ends = [pairs.ends(some[k]) for k in best]
        found = [
            Candidate(kind, setup, red, black, minutes=float(minutes[k]))
            for k, (red, black) in zip(best, ends, strict=True)
        ]
        return Glance(float(worth[best[0]]) if best else 0.0, tuple(found))

    def _spread_score(self, mean: Floats, variance: Floats, *, widths: bool = False) -> Floats:
        """Quick measure of the information in each check [nat]; see `spread_score`."""
        return spread_score(self.member, self.weight, mean, variance, widths=widths)

    def _weighed(self, quick: Quick) -> Check:
        """A check without its outcomes."""
        candidate = quick.candidate
        return Check(candidate, self._mixture(quick.mean, quick.sd), candidate.minutes, (), ())

    def _judge(self, candidate: Candidate, information: float | None = None) -> Check:
        quick = self.looks.get(candidate)
        if quick is None:
            mean, sd = (found[0] for found in self._moments([[candidate]])[0])
        else:
            mean, sd = quick.mean, quick.sd
        return Check(
            candidate,
            self._mixture(mean, sd) if information is None else information,
            candidate.minutes,
            self._zones(mean, sd, candidate.kind),
            cautions_of(candidate, self.engine, self.last),
        )

    def _moments(self, several: Sequence[Sequence[Candidate]]) -> list[tuple[Floats, Floats]]:
        """``(k, e)`` mean and spread of what checks show under each explanation [V or ln ohm].

        Parameters
        ----------
        several
            Checks, each time of one kind and setup.
        """
        asked = [(self.solution(some[0].setup), [c.as_reading() for c in some]) for some in several]
        found = predict_together(asked)
        return [self._spread_of(some[0].kind, p) for some, p in zip(several, found, strict=True)]

    def _spread_of(self, kind: str, p: Prediction) -> tuple[Floats, Floats]:
        """Mean and spread of what is predicted, with what the readings so far have pinned down."""
        mean = np.clip(p.mean, np.log(0.1), np.log(3e7)) if kind == "ohms" else p.mean
        evidence = self.found.evidence
        scaled = p.loading * self.found.spread**2
        variance = (scaled * p.loading).sum(axis=2)
        if evidence is not None and self.found.loading.shape[1]:
            # Posterior variance: what the readings so far have already pinned down.
            by_explanation = scaled.transpose(1, 0, 2), p.loading.transpose(1, 0, 2)
            cross = by_explanation[0] @ self.found.loading.transpose(0, 2, 1)
            along = by_explanation[1] @ evidence.gain
            variance = np.maximum(variance - (cross * along).sum(axis=2).T, 0.0)
        own = meter_variance(mean, kind)
        # Ghost volts come and go: that a point is quiet must not count as news against one that floats.
        believed = np.minimum(p.extra, GHOST**2)[:, self.weight > LEAST_SHARE]
        ghost = believed.max(axis=1, initial=0.0, keepdims=True)
        return mean, np.sqrt(variance + own + np.maximum(p.extra, ghost))

    def _mixture(self, mean: Floats, sd: Floats) -> float:
        """Mutual information of label and outcome [bit]."""
        low, high = float((mean - 3 * sd).min()), float((mean + 3 * sd).max())
        # Quantiles of the mixture keep the bins where the outcomes are, however uneven.
        quantiles = (mean[:, None] + sd[:, None] * _STEPS).ravel()
        grid = np.sort(np.concatenate([np.linspace(low, high, BINS), quantiles]))
        mass = np.diff(ndtr((grid[None] - mean[:, None]) / sd[:, None]), axis=1)
        return float(self.information(mass))

    def _zones(self, mean: Floats, sd: Floats, kind: str) -> tuple[Outcome, ...]:
        """Explanations whose predictions overlap, as zones along the value axis."""
        low, high = mean - 2 * sd, mean + 2 * sd
        # A suspect that could show almost anything does not make one zone of what the others tell apart.
        wider, narrower = np.maximum(sd[:, None], sd), np.minimum(sd[:, None], sd)
        linked = (low[:, None] <= high) & (low <= high[:, None]) & (wider < WIDE * narrower)
        out: list[Outcome] = []
        for zone in _joined(linked):
            least, most = float(low[zone].min()), float(high[zone].max())
            chance: dict[str, float] = {}
            for e in zone:
                name = self.labels[self.label[e]]
                chance[name] = chance.get(name, 0.0) + float(self.weight[e])
            means = tuple(sorted(chance, key=lambda n: -chance[n]))
            if kind == "ohms":
                least, most = float(np.exp(least)), float(np.exp(most))
            else:
                rail = 1.05 * self.sheet.system_volts + 2
                least = max(least, min(float(mean[zone].min()), -0.02 * rail), -rail)
                most = min(most, rail)
            out.append(Outcome(least, most, "", means, sum(chance.values())))
        return tuple(sorted(out, key=lambda o: -o.chance))


def _joined(linked: Bools) -> list[list[int]]:
    """What hangs together, link by link, of ``(e, e)`` links both ways."""
    reached = (linked | np.eye(len(linked), dtype=bool)).astype(np.float32)
    while True:
        further = np.minimum(reached @ reached, 1)
        if bool((further == reached).all()):
            break
        reached = further
    first = reached.argmax(axis=1)
    return [np.flatnonzero(first == k).tolist() for k in np.unique(first)]


_STEPS = np.linspace(-3, 3, 7)

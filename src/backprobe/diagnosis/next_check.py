"""What to measure next: expected information about the cause per minute of work.

Every reachable pair of points in every candidate setup is looked at by a quick measure (how
far the suspects' predictions lie apart against what blurs them); the best are then judged by
the mutual information between cause and outcome, integrated over the mixture of Gaussians
that the explanations predict (Cover and Thomas, Elements of Information Theory, ch. 2 and 8).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.special import ndtr

from backprobe.circuit.compiled import Floats
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Solution
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.check import Check, Outcome
from backprobe.diagnosis.checks import (
    OHMS_EXTRA,
    Candidate,
    candidate_setups,
    cautions_of,
    change_minutes,
    pair_minutes,
    point_pairs,
    rest_setup,
)
from backprobe.diagnosis.predict import predict_number
from backprobe.diagnosis.scene import Scene
from backprobe.diagnosis.word_checks import WordChecks
from backprobe.readings.model import GAIN
from backprobe.readings.points import Point, reachable_points
from backprobe.sheet.logic import atoms, parse_rule

SHORTLIST = 48
BINS = 64
DIGITS = 0.01
WIDE = 5.0
"""A zone is not stretched by a suspect whose prediction is this much wider than its members'."""
LIVE = 0.02
"""Volts between two points above which ohms are not offered [V]."""


def next_checks(answer: Answer, count: int = 6) -> tuple[Check, ...]:
    """The checks most worth doing, best first.

    Parameters
    ----------
    count
        How many to return.
    """
    return _Chooser(answer).best(count)


class _Chooser(Scene):
    def best(self, count: int) -> tuple[Check, ...]:
        short: list[tuple[float, Candidate]] = []
        for setup in self._different(candidate_setups(self.sheet, self.answer)):
            short += self._screen(setup)
        short.sort(key=lambda t: -t[0])
        checks = [self._judge(c) for _, c in short[:SHORTLIST]]
        words = WordChecks(self)
        checks += words.by_lamp() + words.by_hand()
        checks = [c for c in checks if c.information > 1e-3]
        checks.sort(key=lambda c: (-c.worth, c.words()))
        return tuple(self._varied(checks, count))

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

    def _screen(self, setup: Setup) -> list[tuple[float, Candidate]]:
        points = reachable_points(self.sheet, setup.unplugged)
        solution = self.solution(setup)
        circuit = self.engine.circuit
        pairs = list(point_pairs(points))
        if not pairs:
            return []
        nodes = {p.terminal: circuit.node(p.terminal) for p in points}
        padded = np.concatenate([solution.volts, np.zeros((solution.count, 1))], axis=1)
        red = np.array([nodes[r.terminal] for r, _ in pairs])
        black = np.array([nodes[b.terminal] for _, b in pairs])
        volts = padded[:, red] - padded[:, black]
        change = change_minutes(self.last, setup, self.sheet)
        minutes = np.array([change + pair_minutes(r, b) for r, b in pairs])
        score = self._spread_score(volts, (GAIN["volts"] / 1.7 * np.abs(volts)) ** 2 + DIGITS**2 + 4e-4)
        chosen = [
            (
                score[k] / minutes[k],
                Candidate("volts", setup, pairs[k][0], pairs[k][1], minutes=float(minutes[k])),
            )
            for k in np.argsort(-score / minutes, kind="stable")[: SHORTLIST // 2]
            if ("volts", pairs[k][0].terminal, pairs[k][1].terminal, setup) not in self.taken
        ]
        dead = np.flatnonzero(np.abs(volts).max(axis=0) < LIVE)
        if setup.unplugged and dead.size and setup.state == rest_setup(self.sheet).state:
            chosen += self._screen_ohms(setup, solution, [pairs[k] for k in dead], change)
        return [(float(s), c) for s, c in chosen if s > 0]

    def _screen_ohms(
        self, setup: Setup, solution: Solution, pairs: list[tuple[Point, Point]], change: float
    ) -> list[tuple[float, Candidate]]:
        circuit = self.engine.circuit
        kept = [(r, b) for r, b in pairs if r.side or b.side]
        nodes = sorted({circuit.node(p.terminal) for pair in kept for p in pair} - {-1})
        if not nodes:
            return []
        column = {n: i for i, n in enumerate(nodes)}
        transfer = np.stack([solution.transfer(np.eye(circuit.size)[n])[:, nodes] for n in nodes], axis=1)
        padded = np.pad(transfer, ((0, 0), (0, 1), (0, 1)))
        red = np.array([column.get(circuit.node(r.terminal), len(nodes)) for r, _ in kept])
        black = np.array([column.get(circuit.node(b.terminal), len(nodes)) for _, b in kept])
        ohms = padded[:, red, red] + padded[:, black, black] - 2 * padded[:, red, black]
        logs = np.log(np.clip(ohms + 0.25, 1e-2, 3e7))
        score = self._spread_score(logs, 0.1**2 + (0.3 / np.clip(ohms, 0.3, None)) ** 2)
        minutes = np.array([change + OHMS_EXTRA + pair_minutes(r, b) for r, b in kept])
        return [
            (
                score[k] / minutes[k],
                Candidate("ohms", setup, kept[k][0], kept[k][1], minutes=float(minutes[k])),
            )
            for k in np.argsort(-score / minutes, kind="stable")[:10]
            if ("ohms", kept[k][0].terminal, kept[k][1].terminal, setup) not in self.taken
        ]

    def _spread_score(self, mean: Floats, variance: Floats) -> Floats:
        """Quick measure: how far the suspects lie apart, in units of what blurs one of them [nat]."""
        overall = self.weight @ mean
        share = self.member @ self.weight
        centre = (self.member * self.weight) @ mean / share[:, None]
        between = share @ (centre - overall) ** 2
        # Saturating distances keep one far-off, unlikely suspect from hiding the useful splits.
        near = 1 - np.exp(-0.5 * (mean - overall) ** 2 / variance)
        split = 4 * (self.weight @ near) * (1 - self.weight @ near) + self.weight @ near
        result: Floats = np.log1p(between / (self.weight @ variance)) * (0.2 + split)
        return result

    def _judge(self, candidate: Candidate) -> Check:
        reading = candidate.as_reading()
        p = predict_number(self.solution(candidate.setup), reading)
        mean = np.clip(p.mean, np.log(0.1), np.log(3e7)) if candidate.kind == "ohms" else p.mean
        evidence = self.found.evidence
        scaled = p.loading * self.found.spread**2
        variance = (scaled * p.loading).sum(axis=1)
        if evidence is not None and self.found.loading.shape[1]:
            # Posterior variance: what the readings so far have already pinned down.
            cross = np.einsum("crp,cp->cr", self.found.loading, scaled)
            along = np.einsum("cpr,cp->cr", evidence.gain, p.loading)
            variance = np.maximum(variance - (cross * along).sum(axis=1), 0.0)
        if candidate.kind == "ohms":
            own = (GAIN["ohms"] ** 2) / 3 + (0.3 / np.clip(np.exp(mean), 0.3, None)) ** 2
        else:
            own = (GAIN["volts"] * mean) ** 2 / 3 + DIGITS**2
        sd = np.sqrt(variance + own + p.extra)
        information, outcomes = self._mixture(mean, sd, candidate.kind)
        return Check(
            candidate, information, candidate.minutes, outcomes, cautions_of(candidate, self.sheet, self.last)
        )

    def _mixture(self, mean: Floats, sd: Floats, kind: str) -> tuple[float, tuple[Outcome, ...]]:
        """Mutual information of label and outcome [bit], and the outcome's zones."""
        low, high = float((mean - 3 * sd).min()), float((mean + 3 * sd).max())
        # Quantiles of the mixture keep the bins where the outcomes are, however uneven.
        grid = np.unique(
            np.concatenate(
                [np.linspace(low, high, BINS // 2), (mean[:, None] + sd[:, None] * _STEPS).ravel()]
            )
        )
        mass = np.diff(ndtr((grid[None] - mean[:, None]) / sd[:, None]), axis=1)
        return self.information(mass), self._zones(mean, sd, kind)

    def _zones(self, mean: Floats, sd: Floats, kind: str) -> tuple[Outcome, ...]:
        """Explanations whose predictions overlap, as zones along the value axis."""
        low, high = mean - 2 * sd, mean + 2 * sd
        zones: list[list[int]] = []
        for e in np.argsort(sd, kind="stable").tolist():
            # A suspect that could show almost anything does not make one zone of what the others tell apart.
            near = [
                zone
                for zone in zones
                if any(low[e] <= high[k] and low[k] <= high[e] and sd[e] < WIDE * sd[k] for k in zone)
            ]
            for zone in near:
                zones.remove(zone)
            zones.append([e, *(k for zone in near for k in zone)])
        out: list[Outcome] = []
        for zone in zones:
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


_STEPS = np.linspace(-3, 3, 13)

"""What to measure next: expected information about the cause per minute of work.

Every reachable pair of points in every candidate setup is looked at by a quick measure (how
far the suspects' predictions lie apart against what blurs them); the best are then judged by
the mutual information between cause and outcome, integrated over the mixture of Gaussians
that the explanations predict (Cover and Thomas, Elements of Information Theory, ch. 2 and 8).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from backprobe.circuit.compiled import Floats
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Solution, solve_full
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.checks import (
    LOOK_MINUTES,
    OHMS_EXTRA,
    Candidate,
    candidate_setups,
    cautions_of,
    change_minutes,
    pair_minutes,
    point_pairs,
    rest_setup,
)
from backprobe.diagnosis.explain import FALSE_SIGN, FOUND_BY_EYE, Explanations
from backprobe.diagnosis.predict import predict_number
from backprobe.readings.model import GAIN
from backprobe.readings.points import Point, reachable_points

MOST = 24
"""Explanations that predict; the rest carry too little belief to steer a check."""
SHORTLIST = 48
BINS = 64
DIGITS = 0.01
LIVE = 0.02
"""Volts between two points above which ohms are not offered [V]."""
TWIN_MINUTES = 5.0
FETCH_MINUTES = 10.0
LEAST_MINUTES = 2.0
SWAPS = frozenset({"part", "electronics", "contact"})


@dataclass(frozen=True, slots=True)
class Outcome:
    """One zone of what the check may show, and what it would mean.

    Parameters
    ----------
    low, high
        Zone [V or ohm]; NaN for outcomes that are no number.
    shows
        The zone in words.
    means
        Suspects it points to, most probable first.
    chance
        Probability of the zone now [1].
    """

    low: float
    high: float
    shows: str
    means: tuple[str, ...]
    chance: float


@dataclass(frozen=True, slots=True)
class Check:
    """A check with what it is worth.

    Parameters
    ----------
    information
        Expected information about the cause [bit].
    minutes
        Time it takes [min].
    outcomes
        What each outcome would mean.
    """

    candidate: Candidate
    information: float
    minutes: float
    outcomes: tuple[Outcome, ...]
    cautions: tuple[str, ...]

    @property
    def worth(self) -> float:
        """Information per minute [bit/min]."""
        return self.information / self.minutes

    def words(self) -> str:
        """What to do, with the setup."""
        return f"{self.candidate.words()}; {self.candidate.setup.words()}"


def next_checks(answer: Answer, count: int = 6) -> tuple[Check, ...]:
    """The checks most worth doing, best first.

    Parameters
    ----------
    count
        How many to return.
    """
    return _Chooser(answer).best(count)


class _Chooser:
    def __init__(self, answer: Answer) -> None:
        self.answer = answer
        self.engine = answer.engine
        self.sheet = self.engine.sheet
        order = np.argsort(-answer.share, kind="stable")
        kept = [int(e) for e in order[:MOST] if answer.share[e] > 1e-3 * answer.share[order[0]]]
        self.found: Explanations = answer.explanations.take(kept)
        self.weight: Floats = answer.share[kept] / answer.share[kept].sum()
        names = [answer.label_of[e] or "as built" for e in kept]
        self.labels = list(dict.fromkeys(names))
        self.label = np.array([self.labels.index(n) for n in names])
        self.member = np.zeros((len(self.labels), len(kept)))
        self.member[self.label, np.arange(len(kept))] = 1.0
        done = [r.setup for r in answer.readings.all if r.kind not in {"swapped", "looked"}]
        self.last = done[-1] if done else candidate_setups(self.sheet, answer)[0]
        self.taken = {(r.kind, r.red, r.black, r.setup) for r in answer.readings.numbers}
        self.solutions: dict[Setup, Solution] = {}

    def best(self, count: int) -> tuple[Check, ...]:
        short: list[tuple[float, Candidate]] = []
        for setup in candidate_setups(self.sheet, self.answer):
            short += self._screen(setup)
        short.sort(key=lambda t: -t[0])
        checks = [self._judge(c) for _, c in short[:SHORTLIST]]
        checks += self._by_hand()
        checks = [c for c in checks if c.information > 1e-3]
        checks.sort(key=lambda c: (-c.worth, c.words()))
        return tuple(self._varied(checks, count))

    def _varied(self, checks: Sequence[Check], count: int) -> list[Check]:
        """The best few that differ in what is done: one of each kind and setup first, then the rest."""
        first: dict[tuple[object, ...], Check] = {}
        rest: list[Check] = []
        for check in checks:
            c = check.candidate
            key = (c.kind, c.setup, c.part)
            if key in first:
                rest.append(check)
            else:
                first[key] = check
        return [*first.values(), *rest][:count]

    def _solution(self, setup: Setup) -> Solution:
        if setup not in self.solutions:
            self.solutions[setup] = solve_full(self.engine.stage(setup), self.found.values)
        return self.solutions[setup]

    def _screen(self, setup: Setup) -> list[tuple[float, Candidate]]:
        points = reachable_points(self.sheet, setup.unplugged)
        solution = self._solution(setup)
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
        p = predict_number(self._solution(candidate.setup), reading)
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
        joint = (self.member * self.weight) @ mass
        label = joint.sum(axis=1, keepdims=True)
        outcome = joint.sum(axis=0, keepdims=True)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(joint > 1e-15, joint * np.log2(joint / (label * outcome)), 0.0)
        return max(0.0, float(ratio.sum())), self._zones(mean, sd, kind)

    def _zones(self, mean: Floats, sd: Floats, kind: str) -> tuple[Outcome, ...]:
        """Explanations whose predictions overlap, as zones along the value axis."""
        order = np.argsort(mean, kind="stable")
        zones: list[list[int]] = []
        edge = -np.inf
        for e in order:
            if zones and mean[e] - 2 * sd[e] <= edge:
                zones[-1].append(int(e))
            else:
                zones.append([int(e)])
            edge = max(edge, float(mean[e] + 2 * sd[e]))
        out: list[Outcome] = []
        for zone in zones:
            low = min(float(mean[e] - 2 * sd[e]) for e in zone)
            high = max(float(mean[e] + 2 * sd[e]) for e in zone)
            chance: dict[str, float] = {}
            for e in zone:
                name = self.labels[self.label[e]]
                chance[name] = chance.get(name, 0.0) + float(self.weight[e])
            means = tuple(sorted(chance, key=lambda n: -chance[n]))
            if kind == "ohms":
                low, high = float(np.exp(low)), float(np.exp(high))
            out.append(Outcome(low, high, "", means, sum(chance.values())))
        return tuple(sorted(out, key=lambda o: -o.chance))

    # --- looking and swapping ------------------------------------------------------------

    def _by_hand(self) -> list[Check]:
        modes = self.engine.catalogue.modes
        mode_of = self.engine.catalogue.mode_of
        checks: list[Check] = []
        parts = {modes[m].part for s in self.answer.suspects[:12] for m in s.modes}
        for part in sorted(parts):
            mine = np.array([any(modes[mode_of[r]].part == part for r in rows) for rows in self.found.rows])
            family = {
                modes[mode_of[r]].family
                for rows in self.found.rows
                for r in rows
                if modes[mode_of[r]].part == part
            }
            seen = max((FOUND_BY_EYE[f] for f in family), default=0.0)
            if not family or (self._done("looked", part) and self._done("swapped", part)):
                continue
            if not self._done("looked", part):
                bad = np.where(mine, seen, FALSE_SIGN)
                candidate = Candidate(
                    "looked", self.last, part=part, minutes=LOOK_MINUTES + self._reach(part)
                )
                checks.append(self._yes_no(candidate, bad, "looks bad", "looks fine", mine))
            if family <= SWAPS and "part" in family and not self._done("swapped", part):
                credited = np.array([self.labels[k].startswith(part + ":") for k in self.label])
                cured = np.where(mine, np.where(credited, 0.95, 0.3), 0.02)
                minutes = self._swap_minutes(part, float(self.weight @ cured))
                candidate = Candidate("swapped", self.last, part=part, minutes=minutes)
                checks.append(self._yes_no(candidate, cured, "works now", "no change", mine))
        return checks

    def _swap_minutes(self, part: str, cures: float) -> float:
        """Net time to fit a known good part [min].

        A twin on the same machine is at hand, another part has to be fetched and paid; what the
        swap takes is not lost where it turns out to be the repair.
        """
        entry = self.sheet.parts[part]
        modes = [m for m in self.engine.catalogue.modes if m.part == part]
        fitting, cost = max(m.minutes for m in modes), max(m.cost for m in modes)
        twins = any(
            p.kind == entry.kind and p.name != part and p.values == entry.values
            for p in self.sheet.parts.values()
        )
        minutes = min(fitting, TWIN_MINUTES) if twins else fitting + FETCH_MINUTES + (1 - cures) * cost
        return max(LEAST_MINUTES, minutes - cures * fitting)

    def _done(self, kind: str, part: str) -> bool:
        return any(r.kind == kind and r.subject == part for r in self.answer.readings.others)

    def _reach(self, part: str) -> float:
        entry = self.sheet.parts.get(part)
        if entry is None:
            return self.sheet.connectors[part].minutes if part in self.sheet.connectors else 1.0
        return 1.0 if entry.minutes is None else entry.minutes

    def _yes_no(self, candidate: Candidate, yes: Floats, word: str, other: str, mine: Floats) -> Check:
        mass = np.stack([yes, 1 - yes], axis=1)
        joint = (self.member * self.weight) @ mass
        label, outcome = joint.sum(axis=1, keepdims=True), joint.sum(axis=0, keepdims=True)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(joint > 1e-15, joint * np.log2(joint / (label * outcome)), 0.0)
        mass_of = self.weight @ yes
        guilty = tuple(dict.fromkeys(self.labels[k] for k, m in zip(self.label, mine, strict=True) if m))
        others = tuple(dict.fromkeys(self.labels[k] for k, m in zip(self.label, mine, strict=True) if not m))
        nan = float("nan")
        outcomes = (
            Outcome(nan, nan, word, guilty, float(mass_of)),
            Outcome(nan, nan, other, others, float(1 - mass_of)),
        )
        return Check(
            candidate,
            max(0.0, float(ratio.sum())),
            candidate.minutes,
            outcomes,
            cautions_of(candidate, self.sheet, self.last),
        )


_STEPS = np.linspace(-3, 3, 13)

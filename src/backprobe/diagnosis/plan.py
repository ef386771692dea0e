"""A plan ahead of time: which check first, what each outcome leads to, and where repairing begins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.setup import Setup
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.builds import next_checks_of_builds, rank_builds
from backprobe.diagnosis.cautions import cautions_of
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.checks import home_setup
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.next_check import next_checks
from backprobe.diagnosis.plan_table import AS_BUILT, Cause, PlanTable, Shown, Tabulator
from backprobe.diagnosis.plan_tree import Node, Planner, pruned
from backprobe.diagnosis.states import try_states
from backprobe.readings.model import Reading

DEPTH = 5
SCOUT = 3
"""Checks in a row in the first sketch of the plan, which shows where further ones are wanted."""
STEPS = 8
"""Checks that fit on one page."""
CHECKS, CHECKS_THERE = 48, 16
"""Checks looked at from the beginning, and from an end that leaves much open."""
ENDS = 5
"""Ends from which further checks are looked for."""
POOR = 0.03
"""Share of the whole cost from which an end leaves much open [1]."""
LEAST = 0.02
"""Probability below which a branch is not followed further: the page has an end [1]."""
NAMED = 0.04
"""Share of an end's belief from which a cause is named there [1]."""
MOST_NAMED = 3
SPLITS = 0.3
"""Information about an end's causes from which a check is named that would split them [bit]."""
OFTEN = 0.05
"""Probability of arriving at an end from which such a check is named there [1]."""
LEADS = 0.5


@dataclass(frozen=True, slots=True)
class Suspected:
    """A cause at an end of the plan, with its probability there [1]."""

    cause: Cause
    probability: float


@dataclass(frozen=True, slots=True)
class End:
    """Where checking ends: what to repair, in this order.

    Parameters
    ----------
    kind
        ``repair`` where one cause leads, ``group`` where several are left, ``as built`` where the
        circuit behaves as it should.
    suspected
        What is named, in the order of repair.
    others
        Number and share of causes that are not named.
    minutes
        Expected time for the repairs, those in vain included [min].
    split
        A check that would tell the first ones apart, though it takes longer than it saves.
    """

    kind: str
    suspected: tuple[Suspected, ...]
    others: tuple[int, float]
    minutes: float
    split: Check | None


@dataclass(frozen=True, slots=True)
class Branch:
    """One class of what a check shows, and what follows it; `probability` at the check [1]."""

    shown: Shown
    probability: float
    then: Step | End


@dataclass(frozen=True, slots=True)
class Step:
    """One check of the plan.

    Parameters
    ----------
    number
        Counted from 1, in the order of the page.
    before
        The setup from which one comes.
    minutes
        Time of this check, coming from there [min].
    ahead
        Expected time from here until it is repaired [min].
    """

    number: int
    check: Check
    before: Setup
    minutes: float
    ahead: float
    branches: tuple[Branch, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """A decision tree ahead of time.

    Parameters
    ----------
    readings
        The complaint that it begins with.
    assumed
        Whether the complaint was assumed: nobody said what is dead.
    start
        The setup in which the machine stands.
    first
        The first step, or the end where no check is worth its time.
    check_minutes
        Expected time of the checks alone [min].
    minutes
        Expected time until it is repaired, checks and repairs in vain included [min].
    without
        The same without any check, repairing in the best order [min].
    """

    engine: Engine
    readings: tuple[Reading, ...]
    assumed: bool
    start: Setup
    first: Step | End
    check_minutes: float
    minutes: float
    without: float

    @property
    def steps(self) -> tuple[Step, ...]:
        """All checks, in the order of their numbers."""
        return tuple(_steps(self.first))


def make_plan(engine: Engine, readings: Sequence[Reading], depth: int = DEPTH, steps: int = STEPS) -> Plan:
    """Plan the checks for a complaint.

    Parameters
    ----------
    readings
        The complaint; without one, the first function that should work is taken to be dead.
    depth
        Most checks in a row.
    steps
        Most checks in all.
    """
    complaint = tuple(readings) or _usual_complaint(engine)
    answer = rank_builds(engine, complaint)
    seen = [r.setup for r in complaint if r.kind not in {"swapped", "looked"}]
    start = seen[-1] if seen else home_setup(answer)
    tabulator = Tabulator(answer, start)
    tabulator.add(next_checks_of_builds(answer, CHECKS))
    table = tabulator.table()
    root = Planner(table.table, table.goal, LEAST).tree(min(depth, SCOUT))
    # The checks best at the beginning are not those best at its ends.
    for end in sorted(_ends(root), key=lambda n: -n.cost)[:ENDS]:
        if end.cost > POOR * root.cost:
            tabulator.add(next_checks(_narrowed(answer, table, end.weights), CHECKS_THERE))
    table = tabulator.table()
    root = pruned(Planner(table.table, table.goal, LEAST).tree(depth), table.goal, steps)
    grown = _Grown(engine, table)
    first = grown.follow(root, 0, start)
    whole = grown.work(table.table.priors)
    return Plan(
        engine, complaint, not readings, start, first, _check_minutes(first), minutes_of(first), whole
    )


def minutes_of(place: Step | End) -> float:
    """Expected time from a place of the plan until it is repaired [min]."""
    return place.ahead if isinstance(place, Step) else place.minutes


def _check_minutes(place: Step | End) -> float:
    if isinstance(place, End):
        return 0.0
    return place.minutes + sum(b.probability * _check_minutes(b.then) for b in place.branches)


def _narrowed(answer: Answer, table: PlanTable, weights: Floats) -> Answer:
    """The answer as it would stand at an end of the plan."""
    before, there = (w @ table.goal.member.T for w in (table.table.priors, weights))
    factor = {c.name: there[m] / before[m] for m, c in enumerate(table.causes)}
    labels = [name or AS_BUILT for name in answer.label_of]
    share = answer.share * np.array([factor.get(name, 0.0) for name in labels])
    return replace(answer, share=share / share.sum(), held=()) if share.sum() > 0 else answer


def _usual_complaint(engine: Engine) -> tuple[Reading, ...]:
    works = try_states(engine, every=False).works
    name, setup = next(((n, s) for n, s in works.items() if s is not None), ("", None))
    return (Reading("works", setup, subject=name, seen="dead"),) if setup is not None else ()


def _ends(node: Node) -> Iterator[Node]:
    if node.check < 0:
        yield node
    for _, after in node.branches:
        yield from _ends(after)


def _steps(place: Step | End) -> Iterator[Step]:
    if isinstance(place, Step):
        yield place
        for branch in place.branches:
            yield from _steps(branch.then)


class _Grown:
    """Turns the bare tree into steps and ends."""

    def __init__(self, engine: Engine, table: PlanTable) -> None:
        self.engine, self.table = engine, table
        self.count = 0

    def work(self, weights: Floats) -> float:
        """Expected minutes of repairing in the best order until it works, times the weight."""
        goal = self.table.goal
        order = goal.order(weights)
        chance = (weights @ goal.member.T)[order]
        minutes = np.array([self.table.causes[int(m)].minutes for m in order])
        still = np.cumsum(chance[::-1])[::-1]
        return float((still * minutes).sum())

    def follow(self, node: Node, before: int, setup: Setup) -> Step | End:
        """A node as the mechanic meets it, coming from a check (0 for the beginning) in a setup."""
        if node.check < 0:
            return self._end(node)
        self.count += 1
        number, mass = self.count, node.probability
        check = self.table.checks[node.check]
        minutes = float(self.table.table.cost[before, node.check])
        own = check.candidate
        cautions = cautions_of(own, self.engine, setup)
        after = Setup(own.setup.state, own.setup.unplugged) if own.red is not None else setup
        branches = tuple(
            Branch(
                self.table.shown[node.check][k],
                n.probability / mass,
                self.follow(n, node.check + 1, after),
            )
            for k, n in node.branches
        )
        ahead = minutes + sum(b.probability * minutes_of(b.then) for b in branches)
        return Step(
            number, replace(check, minutes=minutes, cautions=cautions), setup, minutes, ahead, branches
        )

    def _end(self, node: Node) -> End:
        goal, mass = self.table.goal, node.probability
        chance = (node.weights @ goal.member.T) / mass
        order = [int(m) for m in goal.order(node.weights) if chance[m] > 0]
        named = [m for m in order if chance[m] >= NAMED][:MOST_NAMED]
        named = named or order[:1]
        hidden = [m for m in order if m not in named]
        suspected = tuple(Suspected(self.table.causes[m], float(chance[m])) for m in named)
        kind = "group"
        if suspected[0].cause.name == AS_BUILT:
            kind = "as built"
        elif suspected[0].probability >= LEADS:
            kind = "repair"
        minutes = self.work(node.weights) / mass
        open_still = kind != "repair" and mass >= OFTEN
        split = self._split(node.weights) if open_still else None
        others = (len(hidden), float(chance[hidden].sum()))
        return End(kind, suspected, others, minutes, split)

    def _split(self, weights: Floats) -> Check | None:
        """The check that tells most about the causes left for each minute."""
        table, goal = self.table.table, self.table.goal
        parts = weights * table.outcomes.transpose(0, 2, 1)
        told = (goal.bits(weights) - goal.bits(parts).sum(axis=1)) / weights.sum()
        worth = np.where(told >= SPLITS, told / table.cost[0], 0.0)
        return self.table.checks[int(np.argmax(worth))] if worth.size and worth.max() > 0 else None

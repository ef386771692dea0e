"""The order of checks with the least expected cost, over a table of what each would show.

A table holds hypotheses with their priors, and for each check the chance of each of its outcomes
under each hypothesis. A tree of checks is judged by what is spent on the way: the cost of the
checks, and at each end what the goal charges for stopping there. Small tables are solved by
dynamic programming over what is left (Pattipati, Alexandridis: Application of heuristic search
and information theory to sequential fault diagnosis, IEEE Transactions on Systems, Man, and
Cybernetics 20 (1990) [mem]); larger ones look two checks ahead and estimate the rest from the
uncertainty that is left.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from backprobe.circuit.compiled import Floats, Ints

FEW = 12
"""Most live hypotheses for which every order of checks is tried, where outcomes are certain."""
BEAM = 8
"""Checks that are looked at two steps ahead."""
UNEVEN = 1.5
"""How much slower uncertainty goes after the first check, whose rate is the best one [1]."""
IDLE = 0.97
"""Chance of one outcome from which a check is not worth a line [1]."""
NEGLIGIBLE = 1e-3
"""Share of a hypothesis below which it does not steer the choice of a check [1]."""
CERTAIN = 1e-9
DEEPEST = 64


class Goal(Protocol):
    """What stopping costs; all in the units of the checks' costs, times the probability that stops there."""

    def waste(self, weights: Floats) -> Floats:
        """``(...,)`` cost of stopping with weights ``(..., h)``."""

    def bits(self, weights: Floats) -> Floats:
        """``(...,)`` uncertainty left, times the weight [bit]."""

    def among(self, live: Ints) -> Goal:
        """The same for some of the hypotheses only."""


def weighted_bits(weights: Floats) -> Floats:
    """``(...,)`` entropy of weights ``(..., n)`` that need not sum to 1, times their sum [bit]."""
    total = weights.sum(axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        own = np.where(weights > 0, weights * np.log2(weights), 0.0).sum(axis=-1)
        whole = np.where(total > 0, total * np.log2(total), 0.0)
    result: Floats = np.maximum(whole - own, 0.0)
    return result


class Isolate:
    """Stop only when a single hypothesis is left."""

    def waste(self, weights: Floats) -> Floats:
        """0 where one is left, infinite where more are."""
        return np.where((weights > 0).sum(axis=-1) > 1, np.inf, 0.0)

    def bits(self, weights: Floats) -> Floats:
        """Uncertainty about the hypothesis, times the weight [bit]."""
        return weighted_bits(weights)

    def among(self, live: Ints) -> Isolate:
        """Itself: it does not tell hypotheses apart."""
        return self


@dataclass(frozen=True, slots=True, eq=False)
class RepairInOrder:
    """Stop at any time, and repair one cause after the other until it works.

    The order is by cost for each chance of cure, which is the best one (Mitten: An analytic solution
    to the least cost testing sequence problem, Journal of Industrial Engineering 11 (1960) [mem]).

    Parameters
    ----------
    member
        ``(m, h)`` 1 where a hypothesis belongs to a cause.
    cost
        ``(m,)`` of repairing each cause.
    last
        ``(m,)`` causes that come after all others, however likely.
    """

    member: Floats
    cost: Floats
    last: Ints

    def order(self, weights: Floats) -> Ints:
        """``(..., m)`` causes in the order of repair."""
        chance = weights @ self.member.T
        ratio = self.cost / np.maximum(chance, 1e-300)
        rank = np.where(chance > 0, np.log(np.maximum(ratio, 1e-300)) + 1e4 * self.last, np.inf)
        found: Ints = np.argsort(rank, axis=-1, kind="stable")
        return found

    def waste(self, weights: Floats) -> Floats:
        """Cost of the repairs that did not cure."""
        chance = weights @ self.member.T
        order = self.order(weights)
        sorted_chance = np.take_along_axis(chance, order, axis=-1)
        later = np.cumsum(sorted_chance[..., ::-1], axis=-1)[..., ::-1] - sorted_chance
        result: Floats = (np.maximum(later, 0.0) * self.cost[order]).sum(axis=-1)
        return result

    def bits(self, weights: Floats) -> Floats:
        """Uncertainty about the cause, times the weight [bit]."""
        return weighted_bits(weights @ self.member.T)

    def among(self, live: Ints) -> RepairInOrder:
        """The same for some of the hypotheses and their causes."""
        kept = np.flatnonzero(self.member[:, live].any(axis=1))
        return RepairInOrder(self.member[np.ix_(kept, live)], self.cost[kept], self.last[kept])


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """What each check would show under each hypothesis.

    Parameters
    ----------
    priors
        ``(h,)`` they need not sum to 1.
    outcomes
        ``(c, h, k)`` chance of each outcome; checks with fewer outcomes are filled up with 0.
    cost
        ``(c + 1, c)`` of each check, first at the beginning, then after each other check.
    """

    priors: Floats
    outcomes: Floats
    cost: Floats

    @classmethod
    def certain(cls, priors: list[float], shown: list[list[int]], cost: list[float] | None = None) -> Table:
        """A table of checks whose outcome each hypothesis settles; `shown` is by check and hypothesis."""
        width = max(max(row) for row in shown) + 1
        outcomes = np.eye(width)[np.array(shown)]
        each = np.array(cost or [1.0] * len(shown), float)
        return cls(np.array(priors, float), outcomes, np.tile(each, (len(shown) + 1, 1)))


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """One place of the tree.

    Parameters
    ----------
    weights
        ``(h,)`` probability of arriving here with each hypothesis true.
    check
        Which check is done; -1 where checking ends.
    branches
        Outcome and what follows it.
    cost
        Expected cost from here on, times the probability of arriving here; in the worst case where
        that is asked for.
    """

    weights: Floats
    check: int
    branches: tuple[tuple[int, Node], ...]
    cost: float

    @property
    def probability(self) -> float:
        """Of arriving here [1]."""
        return float(self.weights.sum())


@dataclass(slots=True, eq=False)
class Planner:
    """Finds a good tree.

    Parameters
    ----------
    least
        Probability below which nothing more is checked [1].
    worst
        Judge by the worst case instead of the expectation; only with `Isolate`.
    """

    table: Table
    goal: Goal
    least: float = 0.0
    worst: bool = False
    _known: dict[tuple[bytes, int, int], tuple[float, int]] = field(default_factory=dict)
    _bit_cost: float = 0.0

    def tree(self, depth: int = DEEPEST, *, first: int = -1) -> Node:
        """The tree.

        Parameters
        ----------
        depth
            Most checks in a row.
        first
            The check to begin with, whatever it costs; -1 for the best one.
        """
        self._known.clear()
        rate = self._rates(self.table.priors, 0).max(initial=0.0)
        self._bit_cost = UNEVEN / rate if rate > 0 else np.inf
        return self._grow(self.table.priors, (), depth, first)

    def greedy(self) -> int:
        """The first check by information for each unit of cost alone; the first of those that tie."""
        return int(np.argmax(self._rates(self.table.priors, 0)))

    # --- growing -----------------------------------------------------------------------------

    def _grow(self, weights: Floats, done: tuple[int, ...], depth: int, first: int = -1) -> Node:
        before = done[-1] + 1 if done else 0
        stop = float(self.goal.waste(weights))
        end = Node(weights, -1, (), stop)
        if first < 0 and (depth == 0 or stop <= 0 or weights.sum() < self.least):
            return end
        check = first if first >= 0 else self._choose(weights, done, depth)
        if check < 0:
            return end
        parts = self._parts(weights, check)
        branches = tuple((k, self._grow(p, (*done, check), depth - 1)) for k, p in parts)
        cost = self._join(weights, before, check, [node.cost for _, node in branches])
        # What looked worth its cost from two checks ahead may not be so in the end.
        return Node(weights, check, branches, cost) if cost < stop or first >= 0 else end

    def _choose(self, weights: Floats, done: tuple[int, ...], depth: int) -> int:
        live = np.flatnonzero(weights > 0)
        shown = self.table.outcomes[:, live]
        if len(live) <= FEW and bool(((shown < CERTAIN) | (shown > 1 - CERTAIN)).all()):
            return self._exact(weights, done[-1] + 1 if done else 0, depth)[1]
        return self._ahead(weights, done, depth)

    def _parts(self, weights: Floats, check: int) -> list[tuple[int, Floats]]:
        parts = weights[:, None] * self.table.outcomes[check]
        return [(k, parts[:, k]) for k in range(parts.shape[1]) if parts[:, k].sum() > CERTAIN]

    def _join(self, weights: Floats, before: int, check: int, costs: list[float]) -> float:
        own = float(self.table.cost[before, check])
        if self.worst:
            return own + max(costs)
        return own * float(weights.sum()) + sum(costs)

    def _exact(self, weights: Floats, before: int, depth: int) -> tuple[float, int]:
        """Least cost, and the check that has it (-1 to stop), by trying all; what is known is kept."""
        key = ((weights > 0).tobytes(), before, depth)
        if key in self._known:
            return self._known[key]
        best = (float(self.goal.waste(weights)), -1)
        if depth and best[0] > 0:
            for check in range(len(self.table.outcomes)):
                own = self._join(weights, before, check, [0.0])
                parts = self._parts(weights, check)
                if len(parts) < 2 or own >= best[0]:
                    continue
                costs = [self._exact(p, check + 1, depth - 1)[0] for _, p in parts]
                cost = self._join(weights, before, check, costs)
                if cost < best[0] - CERTAIN:
                    best = (cost, check)
        self._known[key] = best
        return best

    # --- looking ahead -----------------------------------------------------------------------

    def _rates(self, weights: Floats, before: int) -> Floats:
        """``(c,)`` expected information of each check for each unit of its cost [bit]."""
        split = weights * self.table.outcomes.transpose(0, 2, 1)
        gain = self.goal.bits(weights) - self.goal.bits(split).sum(axis=1)
        result: Floats = np.maximum(gain, 0.0) / self.table.cost[before]
        return result

    def _ahead(self, weights: Floats, done: tuple[int, ...], depth: int) -> int:
        """The check that looks best two checks ahead; -1 to stop."""
        mass = float(weights.sum())
        live = np.flatnonzero(weights > NEGLIGIBLE * mass)
        goal, shown = self.goal.among(live), self.table.outcomes[:, live].transpose(0, 2, 1)
        split = weights[live] * shown
        idle = split.sum(axis=2).max(axis=1) > IDLE * mass
        own = np.where(idle, np.inf, self._costs(done) * mass)
        near = own + self._after(goal, split, last=depth == 1)
        best = (float(goal.waste(weights[live])), -1)
        useful = np.flatnonzero(~idle)
        if not useful.size:
            return -1
        if depth == 1:
            check = int(np.argmin(near))
            return check if near[check] < best[0] else -1
        for check in useful[np.argsort(near[useful], kind="stable")[:BEAM]].tolist():
            cost, costs = float(own[check]), self._costs((*done, check))[useful]
            for part in split[check]:
                if part.sum() <= CERTAIN:
                    continue
                after = self._after(goal, part * shown[useful], last=depth == 2)
                further = costs * float(part.sum()) + after
                cost += min(float(goal.waste(part)), float(further.min()))
            if cost < best[0] - CERTAIN:
                best = (cost, check)
        return best[1]

    def _after(self, goal: Goal, split: Floats, *, last: bool) -> Floats:
        """``(c,)`` what comes after each check: stopping, or what the uncertainty left would cost."""
        after = goal.waste(split)
        if not last:
            after = np.minimum(after, goal.bits(split) * self._bit_cost)
        result: Floats = after.sum(axis=1)
        return result

    def _costs(self, done: tuple[int, ...]) -> Floats:
        """``(c,)`` cost of each check after those done; what was done already tells nothing new."""
        cost = self.table.cost[done[-1] + 1 if done else 0].copy()
        cost[list(done)] = np.inf
        result: Floats = cost
        return result


def pruned(node: Node, goal: Goal, most: int) -> Node:
    """The tree with at most so many checks: those that save least are left out, one by one."""
    while (excess := _size(node) - most) > 0:
        _, weakest = min(_savings(node, goal, excess), key=lambda t: t[0])
        node = _collapsed(node, weakest, goal)
    return node


def _size(node: Node) -> int:
    return 0 if node.check < 0 else 1 + sum(_size(n) for _, n in node.branches)


def _savings(node: Node, goal: Goal, excess: int) -> list[tuple[float, Node]]:
    """For every check what it and those after it save, for each check that would go."""
    if node.check < 0:
        return []
    saved = float(goal.waste(node.weights)) - node.cost
    found = [(saved / min(_size(node), excess), node)]
    return found + [pair for _, n in node.branches for pair in _savings(n, goal, excess)]


def _collapsed(node: Node, target: Node, goal: Goal) -> Node:
    if node is target:
        return Node(node.weights, -1, (), float(goal.waste(node.weights)))
    branches = tuple((k, _collapsed(n, target, goal)) for k, n in node.branches)
    change = sum(n.cost for _, n in branches) - sum(n.cost for _, n in node.branches)
    return Node(node.weights, node.check, branches, node.cost + change)

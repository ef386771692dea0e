"""What each check would show under each single fault, as classes that a mechanic can tell apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, floor, inf, log, log10

import numpy as np
from scipy.special import ndtr

from backprobe.circuit.compiled import Floats, Ints
from backprobe.circuit.setup import Setup, tester_ohms
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.checks import change_minutes, pair_minutes
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.given import sort_readings
from backprobe.diagnosis.lamp_looks import brightness
from backprobe.diagnosis.next_check import meter_variance
from backprobe.diagnosis.plan_tree import RepairInOrder, Table, weighted_bits
from backprobe.diagnosis.predict import predict_port, selector_of
from backprobe.diagnosis.search import single_weights
from backprobe.diagnosis.seen import chance_of_rows
from backprobe.diagnosis.stop import MONEY_MINUTES
from backprobe.readings.model import Reading
from backprobe.readings.points import find_point

LEAST_BELIEVED = 1e-4
"""Share below which an explanation makes no row."""
KEPT = 0.99
"""Share of the belief that the rows of the table hold; what is rarer is left out [1]."""
MOST_ROWS = 160
CUTS = 3
"""Most borders between classes of one check."""
ADDS = 0.06
"""Information that a border must add to be worth remembering [bit]."""
TWO_HANDS = 1.0
"""To hold two leads in two places at once, or to find help; common practice, no source [min]."""
LEAST_GAP = 0.1
"""Gap between predictions from which a border is told from another on a cheap meter; common practice, no
source [V or ln ohm]."""
GAPS = 24
"""Widest gaps between predictions that are looked at for borders."""
CLEAR = 0.5
"""Gap between two predictions from which a border may lie in it, in their spreads [1]."""
SURE = 0.9
"""Chance of a class from which a row counts as surely in it [1]."""
ALIKE = 0.03
"""Checks whose classes differ by less for every row are one check [1]."""
BUILT_MINUTES = 6.0
"""To find that it behaves as built: try it again in its proper state, look at the sheet; common practice,
no source [min]."""
AS_BUILT = "as built"
SEEN = {
    "tester": ("lit", "dim", "dark"),
    "looked": ("looks bad", "fine"),
    "swapped": ("works now", "no change"),
}


@dataclass(frozen=True, slots=True)
class Shown:
    """One class of what a check may show.

    Parameters
    ----------
    low, high
        Its ends [V or ohm]; infinite where it has none, NaN for what is no number.
    word
        What is seen, for what is no number.
    """

    low: float
    high: float
    word: str = ""


@dataclass(frozen=True, slots=True)
class Cause:
    """A fault over all its severities, or the circuit as built.

    Parameters
    ----------
    minutes, cost
        Of its repair [min], and of its parts [money units].
    last
        Whether it is repaired after all others: a controller is proven last.
    """

    name: str
    repair: str
    minutes: float
    cost: float = 0.0
    last: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class PlanTable:
    """A table of checks and single faults, with what its axes mean.

    Parameters
    ----------
    causes
        By the rows of `goal.member`.
    checks, shown
        By check; the classes of each.
    """

    table: Table
    goal: RepairInOrder
    causes: tuple[Cause, ...]
    checks: tuple[Check, ...]
    shown: tuple[tuple[Shown, ...], ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """Rows of the catalogue that the complaint leaves, over all builds of the sheet."""

    parts: tuple[tuple[Engine, Ints], ...]
    """Each build's engine and the numbers of its rows."""
    priors: Floats
    member: Floats
    causes: tuple[Cause, ...]


class Tabulator:
    """Gathers checks, each with what it would show under every single fault that a complaint leaves.

    Parameters
    ----------
    answer
        What the readings so far say.
    start
        The setup that the mechanic finds the machine in.
    """

    def __init__(self, answer: Answer, start: Setup) -> None:
        self.engine, self.start = answer.engine, start
        self._rows = (
            _believed_rows(answer) if answer.readings.numbers and not answer.builds else _rows(answer)
        )
        self._found: list[tuple[Check, Floats, tuple[Shown, ...]]] = []
        self._looked_at: set[tuple[str, Setup, frozenset[str], str]] = set()

    def add(self, checks: Sequence[Check]) -> None:
        """Take in checks, but for those that tell the same as one that is there."""
        wide = [w for c in checks for w in (c, *self._plainer(c))]
        for check in sorted(wide, key=lambda c: (c.candidate.setup.words(), c.words())):
            if self._known(check):
                continue
            upright = _upright(check, self._rows)
            chance, shown = _classes(upright, self._rows)
            if chance.shape[1] < 2:
                continue
            entry = (upright, chance, shown)
            same = next((k for k, (_, c, _) in enumerate(self._found) if _alike(chance, c)), None)
            if same is None:
                self._found.append(entry)
            elif self._ease(upright) < self._ease(self._found[same][0]):
                self._found[same] = entry

    def _known(self, check: Check) -> bool:
        """Whether the same was looked at already, red and black whichever way."""
        c = check.candidate
        ends = frozenset(p.terminal for p in (c.red, c.black) if p is not None)
        key = (c.kind, c.setup, ends, c.part)
        known = key in self._looked_at
        self._looked_at.add(key)
        return known

    def _plainer(self, check: Check) -> list[Check]:
        """The same points measured to the battery's negative post instead of to each other."""
        c, sheet = check.candidate, self.engine.sheet
        post = find_point("battery-", sheet, c.setup.unplugged)
        if c.kind != "volts" or c.red is None or c.black is None or post is None:
            return []
        change = change_minutes(self.start, c.setup, sheet)
        return [
            replace(check, candidate=replace(c, red=point, black=post, minutes=minutes), minutes=minutes)
            for point in (c.red, c.black)
            if point.terminal != post.terminal
            for minutes in (change + pair_minutes(point, post),)
        ]

    def _ease(self, check: Check) -> tuple[float, bool, str]:
        """How easily a check is done, the easier the less."""
        c = check.candidate
        plain = c.black is not None and c.black.name == "battery-"
        return (round(check.minutes + _awkward(check), 1), not plain, check.words())

    def table(self) -> PlanTable:
        """The table of all checks so far."""
        rows, found = self._rows, self._found
        width = max((c.shape[1] for _, c, _ in found), default=1)
        outcomes = np.zeros((len(found), len(rows.priors), width))
        for k, (_, chance, _) in enumerate(found):
            outcomes[k, :, : chance.shape[1]] = chance
        checks = tuple(c for c, _, _ in found)
        goal = RepairInOrder(
            rows.member,
            np.array([c.minutes + MONEY_MINUTES * c.cost for c in rows.causes]),
            np.array([c.last for c in rows.causes], np.int64),
        )
        table = Table(rows.priors, outcomes, _costs(self.engine, checks, self.start))
        return PlanTable(table, goal, rows.causes, checks, tuple(s for _, _, s in found))


def _believed_rows(answer: Answer) -> _Rows:
    """Each cause as bad as the readings make it, with the belief that the answer has in it.

    A slip among the readings, or wear beside the cause, is then no news: no plan must take them for faults.
    """
    catalogue = answer.engine.catalogue
    weights: dict[tuple[int, str], float] = {}
    for e in np.flatnonzero(answer.share > LEAST_BELIEVED).tolist():
        rows, name = answer.explanations.rows[e], answer.label_of[e]
        mine = [r for r in rows if catalogue.modes[int(catalogue.mode_of[r])].name in name.split(" and ")]
        key = (mine[0] if mine else 0, name if mine else AS_BUILT)
        weights[key] = weights.get(key, 0.0) + float(answer.share[e])
    causes: dict[str, Cause] = {}
    for _, name in weights:
        parts = [m for m in catalogue.modes if m.name in name.split(" and ")]
        causes[name] = (
            Cause(
                name,
                "; ".join(m.repair for m in parts),
                max(sum(m.minutes for m in parts), 0.1),
                sum(m.cost for m in parts),
                any(m.family == "electronics" for m in parts),
            )
            if parts
            else Cause(AS_BUILT, "", BUILT_MINUTES)
        )
    member = np.array([[float(n == name) for _, n in weights] for name in causes])
    priors = np.array(list(weights.values()))
    rows_of = np.array([row for row, _ in weights], np.int64)
    return _Rows(((answer.engine, rows_of),), priors / priors.sum(), member, tuple(causes.values()))


def _rows(answer: Answer) -> _Rows:
    engine, readings = answer.engine, answer.readings.all
    builds = engine.builds or (engine,)
    shares = [b.share for b in engine.sheet.builds] or [1.0]
    each = [single_weights(e, sort_readings(e, readings))[0] for e in builds]
    whole = np.concatenate([w + np.log(s) for w, s in zip(each, shares, strict=True)])
    weight = np.exp(whole - whole.max())
    weight /= weight.sum()
    order = np.argsort(-weight, kind="stable")[:MOST_ROWS]
    enough = int(np.searchsorted(np.cumsum(weight[order]), KEPT)) + 1
    kept = np.sort(order[:enough])
    owner = np.repeat(np.arange(len(builds)), [len(w) for w in each])
    row = np.concatenate([np.arange(len(w)) for w in each])
    causes: dict[str, Cause] = {}
    name_of: list[str] = []
    for k in kept:
        catalogue = builds[owner[k]].catalogue
        mode = int(catalogue.mode_of[row[k]])
        cause = Cause(AS_BUILT, "", BUILT_MINUTES)
        if mode >= 0:
            m = catalogue.modes[mode]
            cause = Cause(m.name, m.repair, max(m.minutes, 0.1), m.cost, m.family == "electronics")
        causes.setdefault(cause.name, cause)
        name_of.append(cause.name)
    member = np.array([[float(n == name) for n in name_of] for name in causes])
    parts = tuple((e, row[kept[owner[kept] == b]]) for b, e in enumerate(builds))
    priors: Floats = weight[kept] / weight[kept].sum()
    return _Rows(parts, priors, member, tuple(causes.values()))


def _costs(engine: Engine, checks: Sequence[Check], start: Setup) -> Floats:
    """``(c + 1, c)`` minutes of each check, at the beginning and after each other."""
    befores = [start, *(c.candidate.setup for c in checks)]
    cost = np.empty((len(checks) + 1, len(checks)))
    for j, check in enumerate(checks):
        setup = check.candidate.setup
        own = check.minutes - change_minutes(start, setup, engine.sheet)
        for i, before in enumerate(befores):
            cost[i, j] = max(own + change_minutes(before, setup, engine.sheet), 0.1) + _awkward(check)
    return cost


def _awkward(check: Check) -> float:
    """Extra time where neither lead is clipped to a post or the frame [min]."""
    points = (check.candidate.red, check.candidate.black)
    easy = any(p is None or p.name in {"battery-", "battery+", "frame"} for p in points)
    return 0.0 if easy else TWO_HANDS


def _upright(check: Check, rows: _Rows) -> Check:
    """The check with its leads so that the meter mostly shows no minus."""
    c = check.candidate
    if c.kind != "volts" or c.red is None or c.black is None:
        return check
    mean, _ = _moments(check, rows)
    if float(rows.priors @ mean) >= 0:
        return check
    return replace(check, candidate=replace(c, red=c.black, black=c.red))


def _alike(one: Floats, other: Floats) -> bool:
    return one.shape == other.shape and bool(np.abs(one - other).max() < ALIKE)


def _classes(check: Check, rows: _Rows) -> tuple[Floats, tuple[Shown, ...]]:
    """``(h, k)`` chance of each class under each row, and the classes."""
    kind = check.candidate.kind
    if kind in SEEN:
        shown = tuple(Shown(float("nan"), float("nan"), word) for word in SEEN[kind])
        chance = np.stack([_seen(check, word, rows) for word in SEEN[kind]], axis=1)
        return _firm(chance), shown
    mean, sd = _moments(check, rows)
    cuts = _cuts(mean, sd, rows, kind)
    ends = np.array([-inf, *([log(c) for c in cuts] if kind == "ohms" else cuts), inf])
    chance = np.diff(ndtr((ends[None] - mean[:, None]) / sd[:, None]), axis=1)
    lows, highs = [0.0 if kind == "ohms" else -inf, *cuts], [*cuts, inf]
    return _firm(chance), tuple(Shown(a, b) for a, b in zip(lows, highs, strict=True))


def _firm(chance: Floats) -> Floats:
    """Chances with what hardly ever happens left out: it would only grow twigs."""
    kept = np.where(chance < 1 - SURE, 0.0, chance)
    result: Floats = kept / kept.sum(axis=1, keepdims=True)
    return result


def _seen(check: Check, word: str, rows: _Rows) -> Floats:
    reading = replace(check.candidate.as_reading(), seen=word)
    parts: list[Floats] = []
    for engine, index in rows.parts:
        if check.candidate.kind == "tester":
            parts.append(_lamp(engine, reading)[index])
            continue
        faults: list[tuple[int, ...]] = [(int(r),) if engine.catalogue.mode_of[r] >= 0 else () for r in index]
        parts.append(chance_of_rows(engine, reading, faults, np.ones(len(index))))
    whole: Floats = np.concatenate(parts)
    return whole


def _lamp(engine: Engine, reading: Reading) -> Floats:
    """``(c,)`` chance of how a test lamp looks, from what its two leads see before it hangs there."""
    bare = Setup(reading.setup.state, reading.setup.unplugged)
    volts, ohms, _ = predict_port(engine.singles(bare), selector_of(engine.circuit, reading))
    system = engine.sheet.system_volts
    return brightness(np.abs(volts) / (1 + ohms / tester_ohms(system)) / system)[reading.seen]


def _moments(check: Check, rows: _Rows) -> tuple[Floats, Floats]:
    """``(h,)`` mean and spread of a number under each row [V or ln ohm]."""
    reading = check.candidate.as_reading()
    means: list[Floats] = []
    variances: list[Floats] = []
    for engine, index in rows.parts:
        p = engine.single_number(reading)
        means.append(p.mean[index])
        variances.append(((p.loading[index] * engine.single_spread[index]) ** 2).sum(axis=1) + p.extra[index])
    mean: Floats = np.concatenate(means)
    if check.candidate.kind == "ohms":
        mean = np.clip(mean, np.log(0.1), np.log(3e7))
    return mean, np.sqrt(np.concatenate(variances) + meter_variance(mean, check.candidate.kind))


def _cuts(mean: Floats, sd: Floats, rows: _Rows, kind: str) -> list[float]:
    """Borders where the predictions part, in order: those few that tell most about the cause [V or ohm]."""
    order = np.argsort(mean, kind="stable")
    low, high = order[:-1], order[1:]
    gap = mean[high] - mean[low]
    clear = gap / np.minimum(sd[low], sd[high])
    wide = np.argsort(-clear, kind="stable")[:GAPS]
    wide = np.sort(wide[(clear[wide] > CLEAR) & (gap[wide] > LEAST_GAP)])
    low, high, gap = low[wide], high[wide], gap[wide]
    places = (mean[low] * sd[high] + mean[high] * sd[low]) / (sd[low] + sd[high])
    places = np.clip(places, mean[low] + LEAST_GAP / 2, mean[high] - LEAST_GAP / 2)
    # Chance of each cause and of showing less than each place: classes are differences of these.
    below = (ndtr((places[:, None] - mean[None]) / sd[None]) * rows.priors) @ rows.member.T
    whole = rows.member @ rows.priors
    taken: list[int] = []
    told = 0.0
    while len(taken) < CUTS and len(taken) < len(places):
        gains = np.array([_told(below[sorted([*taken, k])], whole) for k in range(len(places))])
        best = int(np.argmax(gains))
        if gains[best] < told + ADDS:
            break
        told = float(gains[best])
        taken.append(best)
    return sorted(_round(float(places[k]), float(gap[k]), kind) for k in taken)


def _told(below: Floats, whole: Floats) -> float:
    """Information about the cause from the classes between borders [bit].

    Parameters
    ----------
    below
        ``(n, m)`` chance of each cause and of showing less than each border.
    whole
        ``(m,)`` chance of each cause.
    """
    classes = np.diff(np.concatenate([np.zeros((1, len(whole))), below, whole[None]]), axis=0)
    return float(weighted_bits(whole) - weighted_bits(np.maximum(classes, 0.0)).sum())


def _round(place: float, gap: float, kind: str) -> float:
    """The border as the roundest number that still lies well inside the gap [V or ohm]."""
    exact = exp(place) if kind == "ohms" else place
    if exact == 0:
        return 0.0
    size = floor(log10(abs(exact)))
    for digits in range(4):
        rounded = round(exact, digits - size)
        if kind == "ohms" and rounded <= 0:
            continue
        off = log(rounded) - place if kind == "ohms" else rounded - place
        if abs(off) < 0.25 * gap:
            return float(rounded)
    return exact

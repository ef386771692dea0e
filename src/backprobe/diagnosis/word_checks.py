"""Checks whose outcome is a word: the test lamp, looking, fitting a known good part."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.setup import Setup, lamp_tester, tester_ohms
from backprobe.diagnosis.cautions import cautions_of
from backprobe.diagnosis.check import Check, Outcome
from backprobe.diagnosis.checks import (
    LOOK_MINUTES,
    Candidate,
    change_minutes,
    home_setup,
    pair_minutes,
)
from backprobe.diagnosis.lamp_looks import brightness
from backprobe.diagnosis.scene import Scene
from backprobe.diagnosis.seen import FALSE_SIGN, by_eye
from backprobe.readings.points import Point, find_point, reachable_points
from backprobe.sheet.model import Sheet
from backprobe.sheet.posts import source_posts

SWAPS = frozenset({"part", "electronics", "contact", "wiring"})
STURDY = frozenset({"controller", "alternator", "fuse", "fusible link", "circuit breaker", "switch"})
"""Kinds that stand a load though a tender part is on their run."""
TWIN_MINUTES = 5.0
FETCH_MINUTES = 10.0
LEAST_MINUTES = 2.0
LAMP_EXTRA = 0.2
OUTCOME_SHOWN = 0.005


class WordChecks:
    """Offers the checks of one scene that need no number."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.sheet, self.found, self.weight = scene.sheet, scene.found, scene.weight
        self.modes, self.mode_of = scene.engine.catalogue.modes, scene.engine.catalogue.mode_of

    # --- the test lamp ---------------------------------------------------------------------

    def by_lamp(self) -> list[Check]:
        """A test lamp from each point to a battery post: its current tells what volts alone hide.

        Never where a controller's feed or input is on the run: a lamp is too much for them.
        """
        home = home_setup(self.scene.answer)
        if home.attached:
            return []
        tender = tender_parts(self.sheet)
        points = [p for p in reachable_points(self.sheet, home.unplugged) if _owner(p.terminal) not in tender]
        circuit = self.scene.engine.circuit
        plus, minus = source_posts({name: part.kind for name, part in self.sheet.parts.items()})
        posts = [p for p in points if p.terminal in {plus, minus}]
        places = [
            (home, post, point) if post.terminal == plus else (home, point, post)
            for point in points
            for post in posts
            if circuit.node(point.terminal) != circuit.node(post.terminal)
        ]
        by_setup: dict[Setup, list[tuple[Point, Point]]] = {}
        for setup, red, black in [*places, *self._in_the_fuses_place(home)]:
            by_setup.setdefault(setup, []).append((red, black))
        checks = [c for setup, pairs in by_setup.items() for c in self._lamps(setup, pairs)]
        return [c for c in checks if not self._tested(c.candidate)]

    def lamp(self, candidate: Candidate) -> Check:
        """A check by a lamp with its outcomes."""
        assert candidate.red is not None and candidate.black is not None
        bare = Setup(candidate.setup.state, candidate.setup.unplugged, candidate.setup.attached[:-1])
        looks = self._looks(bare, [(candidate.red, candidate.black)])
        return self._words_of(candidate, {word: chance[:, 0] for word, chance in looks.items()})

    def _in_the_fuses_place(self, home: Setup) -> list[tuple[Setup, Point, Point]]:
        """A lamp instead of a fuse that blows: it lets a short be looked for without feeding fuses."""
        blown = {r.subject for r in self.scene.answer.readings.others if r.kind == "fuse"}
        found: list[tuple[Setup, Point, Point]] = []
        for name in sorted(blown):
            ends = [find_point(f"{word} {name}", self.sheet) for word in ("before", "after")]
            if ends[0] and ends[1]:
                found.append((home.without(name), ends[0], ends[1]))
        return found

    def _looks(self, setup: Setup, pairs: Sequence[tuple[Point, Point]]) -> dict[str, Floats]:
        """For each word the chance ``(e, k)`` that a lamp between two points looks so."""
        node = self.scene.engine.circuit.node
        red = np.array([node(r.terminal) for r, _ in pairs], np.int64)
        black = np.array([node(b.terminal) for _, b in pairs], np.int64)
        volts, ohms = self.scene.solution(setup).ports(red, black)
        lamp = tester_ohms(self.sheet.system_volts)
        return brightness(np.abs(volts) / (1 + ohms / lamp) / self.sheet.system_volts)

    def _lamps(self, setup: Setup, pairs: Sequence[tuple[Point, Point]]) -> list[Check]:
        """Checks by a lamp, without their outcomes."""
        mass = np.stack(list(self._looks(setup, pairs).values()), axis=2).transpose(1, 0, 2)
        change = change_minutes(self.scene.last, setup, self.sheet)
        checks: list[Check] = []
        for (red, black), information in zip(pairs, self.scene.information(mass), strict=True):
            lit = setup.with_attached(lamp_tester(red.terminal, black.terminal, self.sheet.system_volts))
            minutes = change + pair_minutes(red, black) + LAMP_EXTRA
            candidate = Candidate("tester", lit, red, black, "", minutes)
            checks.append(Check(candidate, float(information), minutes, (), ()))
        return checks

    def _tested(self, candidate: Candidate) -> bool:
        return any(
            r.kind == "tester" and r.setup == candidate.setup for r in self.scene.answer.readings.others
        )

    def _words_of(self, candidate: Candidate, looks: dict[str, Floats]) -> Check:
        """A check whose outcomes are words, each with its chance under every explanation."""
        mass = np.stack(list(looks.values()), axis=1)
        nan = float("nan")
        outcomes: list[Outcome] = []
        for k, word in enumerate(looks):
            share = self.weight * mass[:, k]
            chance = self.scene.member @ share
            order = [i for i in np.argsort(-chance, kind="stable") if chance[i] > 0.02 * chance.sum()]
            named = [self.scene.labels[i] for i in order]
            if share.sum() > OUTCOME_SHOWN:
                outcomes.append(Outcome(nan, nan, word, tuple(named), float(share.sum())))
        total = sum(o.chance for o in outcomes)
        outcomes = [Outcome(o.low, o.high, o.shows, o.means, o.chance / total) for o in outcomes]
        return Check(
            candidate,
            float(self.scene.information(mass)),
            candidate.minutes,
            tuple(sorted(outcomes, key=lambda o: -o.chance)),
            cautions_of(candidate, self.scene.engine, self.scene.last),
        )

    # --- looking and swapping ------------------------------------------------------------

    def by_hand(self) -> list[Check]:
        """Looking at each suspect part, and fitting a known good one where that can be done."""
        modes, mode_of = self.modes, self.mode_of
        checks: list[Check] = []
        parts = {modes[m].part for s in self.scene.answer.suspects[:12] for m in s.modes}
        for part in sorted(parts):
            mine = np.array([any(modes[mode_of[r]].part == part for r in rows) for rows in self.found.rows])
            faults = {int(mode_of[r]) for rows in self.found.rows for r in rows}
            own = [modes[m] for m in sorted(faults) if modes[m].part == part]
            family = {m.family for m in own}
            seen = max((by_eye(self.scene.engine, m) for m in own), default=0.0)
            if not family or (self._done("looked", part) and self._done("swapped", part)):
                continue
            # What is hidden inside is not looked for: a bad look would be chance.
            if not self._done("looked", part) and seen > FALSE_SIGN:
                bad = np.where(mine, seen, FALSE_SIGN)
                candidate = Candidate(
                    "looked", self.scene.last, part=part, minutes=LOOK_MINUTES + self._reach(part)
                )
                checks.append(self._yes_no(candidate, bad, "looks bad", "looks fine", mine))
            if family <= SWAPS and "part" in family and not self._done("swapped", part):
                credited = np.array([self.scene.labels[k].startswith(part + ":") for k in self.scene.label])
                cured = np.where(mine, np.where(credited, 0.95, 0.3), 0.02)
                minutes = self._swap_minutes(part, float(self.weight @ cured))
                candidate = Candidate("swapped", self.scene.last, part=part, minutes=minutes)
                checks.append(self._yes_no(candidate, cured, "works now", "no change", mine))
        return checks

    def _swap_minutes(self, part: str, cures: float) -> float:
        """Net time to fit a known good part [min].

        A twin on the same machine is at hand, another part has to be fetched and paid; what the
        swap takes is not lost where it turns out to be the repair.
        """
        entry = self.sheet.parts[part]
        modes = [m for m in self.scene.engine.catalogue.modes if m.part == part]
        fitting, cost = max(m.minutes for m in modes), max(m.cost for m in modes)
        twins = any(
            p.kind == entry.kind and p.name != part and p.values == entry.values
            for p in self.sheet.parts.values()
        )
        minutes = min(fitting, TWIN_MINUTES) if twins else fitting + FETCH_MINUTES + (1 - cures) * cost
        return max(LEAST_MINUTES, minutes - cures * fitting)

    def _done(self, kind: str, part: str) -> bool:
        kinds = {kind, "fuse"} if kind == "looked" else {kind}
        return any(r.kind in kinds and r.subject == part for r in self.scene.answer.readings.others)

    def _reach(self, part: str) -> float:
        entry = self.sheet.parts.get(part)
        if entry is None:
            return self.sheet.connectors[part].minutes if part in self.sheet.connectors else 1.0
        return 1.0 if entry.minutes is None else entry.minutes

    def _yes_no(self, candidate: Candidate, yes: Floats, word: str, other: str, mine: Floats) -> Check:
        mass = np.stack([yes, 1 - yes], axis=1)
        mass_of = self.weight @ yes
        guilty = tuple(
            dict.fromkeys(self.scene.labels[k] for k, m in zip(self.scene.label, mine, strict=True) if m)
        )
        others = tuple(
            dict.fromkeys(self.scene.labels[k] for k, m in zip(self.scene.label, mine, strict=True) if not m)
        )
        nan = float("nan")
        outcomes = (
            Outcome(nan, nan, word, guilty, float(mass_of)),
            Outcome(nan, nan, other, others, float(1 - mass_of)),
        )
        return Check(
            candidate,
            float(self.scene.information(mass)),
            candidate.minutes,
            outcomes,
            cautions_of(candidate, self.scene.engine, self.scene.last),
        )


def _owner(terminal: str) -> str:
    return terminal.rpartition(".")[0]


def tender_parts(sheet: Sheet) -> set[str]:
    """Parts on runs that end at a controller's feed, input or sensor ground: no load belongs there."""
    sturdy = {"battery", "frame", *sheet.bodies} | {p.name for p in sheet.parts.values() if p.kind in STURDY}
    tender: set[str] = set()
    members = [{i.part for i in run.items} for run in sheet.runs.values()]
    for run in sheet.runs.values():
        for item in run.items:
            part = sheet.parts.get(item.part)
            pin = part.pins.get(item.enter.partition(".")[2]) if part else None
            if pin and (pin.role in {"feed", "input"} or "sensor" in pin.name):
                tender |= {i.part for i in run.items} - sturdy
    grown = True
    while grown:
        # A branch at a splice of such a run is as tender as the run.
        joined = set().union(*(m for m in members if m & tender)) - sturdy
        grown = not joined <= tender
        tender |= joined
    return tender

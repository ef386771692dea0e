"""Checks whose outcome is a word: the test lamp, looking, fitting a known good part."""

from __future__ import annotations

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.setup import lamp_tester, tester_ohms
from backprobe.diagnosis.check import Check, Outcome
from backprobe.diagnosis.checks import (
    LOOK_MINUTES,
    Candidate,
    cautions_of,
    change_minutes,
    home_setup,
    pair_minutes,
)
from backprobe.diagnosis.predict import brightness, predict_port
from backprobe.diagnosis.scene import Scene
from backprobe.diagnosis.seen import FALSE_SIGN, FOUND_BY_EYE
from backprobe.readings.points import reachable_points
from backprobe.sheet.model import Sheet

SWAPS = frozenset({"part", "electronics", "contact"})
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
        solution = self.scene.solution(home)
        lamp = tester_ohms(self.sheet.system_volts)
        change = change_minutes(self.scene.last, home, self.sheet)
        posts = [p for p in points if p.name in {"battery+", "battery-"}]
        checks: list[Check] = []
        for point in points:
            for post in posts:
                if circuit.node(point.terminal) == circuit.node(post.terminal):
                    continue
                red, black = (post, point) if post.name == "battery+" else (point, post)
                selector = circuit.pair(circuit.node(red.terminal), circuit.node(black.terminal))
                volts, ohms, _ = predict_port(solution, selector)
                looks = brightness(np.abs(volts) / (1 + ohms / lamp) / self.sheet.system_volts)
                setup = home.with_attached(lamp_tester(red.terminal, black.terminal, self.sheet.system_volts))
                minutes = change + pair_minutes(red, black) + LAMP_EXTRA
                candidate = Candidate("tester", setup, red, black, "", minutes)
                if not self._tested(candidate):
                    checks.append(self._words_of(candidate, looks))
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
            self.scene.information(mass),
            candidate.minutes,
            tuple(sorted(outcomes, key=lambda o: -o.chance)),
            cautions_of(candidate, self.sheet, self.scene.last),
        )

    # --- looking and swapping ------------------------------------------------------------

    def by_hand(self) -> list[Check]:
        """Looking at each suspect part, and fitting a known good one where that can be done."""
        modes, mode_of = self.modes, self.mode_of
        checks: list[Check] = []
        parts = {modes[m].part for s in self.scene.answer.suspects[:12] for m in s.modes}
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
        return any(r.kind == kind and r.subject == part for r in self.scene.answer.readings.others)

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
            self.scene.information(mass),
            candidate.minutes,
            outcomes,
            cautions_of(candidate, self.sheet, self.scene.last),
        )


def _owner(terminal: str) -> str:
    return terminal.rpartition(".")[0]


def tender_parts(sheet: Sheet) -> set[str]:
    """Parts on runs that end at a controller's feed, input or sensor ground: no load belongs there."""
    sturdy = {"battery", "frame"} | {
        p.name for p in sheet.parts.values() if p.kind in {"controller", "fuse", "switch"}
    }
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

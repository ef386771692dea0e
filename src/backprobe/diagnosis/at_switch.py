"""Ohms across a switch in each position of its control: key off, one plug off, so that nothing can move."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from backprobe.diagnosis.answer import Answer, Group
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.checks import (
    OHMS_EXTRA,
    Candidate,
    change_minutes,
    pair_minutes,
    rest_setup,
)
from backprobe.diagnosis.next_check import LIVE, Chooser
from backprobe.diagnosis.predict import selector_of
from backprobe.diagnosis.slip_case import live_volts
from backprobe.readings.points import Point
from backprobe.sheet.logic import atoms, parse_rule
from backprobe.sheet.model import Part, Sheet

NEIGHBOURS = 3
"""How far along its run the ends of a switch are looked for, where its own cannot be reached."""
PLUGS = 4
MOST_LIVE = 0.05
"""Belief in a live circuit from which ohms are not asked for [1]."""


def across_switches(answer: Answer, group: Group, without: Collection[str] = ()) -> tuple[Check, ...]:
    """Ohms across the switches of a group, at rest but for the position of the switch itself.

    Parameters
    ----------
    without
        Points, parts and plugs that cannot be reached.
    """
    sheet = answer.engine.sheet
    names = dict.fromkeys(n.partition(":")[0] for s in group.suspects for n in s.names)
    switches = [sheet.parts[n] for n in names if n in sheet.parts and sheet.parts[n].closed]
    if not switches:
        return ()
    chooser = Chooser(answer, without)
    found = [c for part in switches for c in _candidates(chooser, part)]
    return tuple(chooser._judge(c) for c in found if chooser.reaches(c) and _is_dead(chooser, c))


def guard_controls(sheet: Sheet) -> frozenset[str]:
    """Controls that guards speak of: moving one with the key off asks for nothing."""
    rules = [parse_rule(f.guard) for f in sheet.functions.values() if f.guard]
    return frozenset(a.subject for r in rules for a in atoms(r)) & set(sheet.controls)


def _candidates(chooser: Chooser, part: Part) -> Iterator[Candidate]:
    sheet, rest = chooser.sheet, rest_setup(chooser.sheet)
    controls = [c for n, c in sheet.controls.items() if n in part.closed and n in guard_controls(sheet)]
    plugs, left, right = _around(sheet, part.name)
    for control in controls:
        for position in control.positions:
            moved = rest.moved(control.name, position)
            for setup in [moved.without(p) for p in plugs]:
                points = {p.terminal: p for p in chooser.points(setup)}
                red, black = _first(points, left), _first(points, right)
                if red is None or black is None:
                    continue
                minutes = change_minutes(chooser.last, setup, sheet) + OHMS_EXTRA + pair_minutes(red, black)
                yield Candidate("ohms", setup, red, black, minutes=minutes)


def _around(sheet: Sheet, name: str) -> tuple[list[str], list[list[str]], list[list[str]]]:
    """Plugs of the run that a part stands on, and the terminals on both sides of it, its own first."""
    plug_of = {cavity: c.name for c in sheet.connectors.values() for cavity in c.cavities}
    for run in sheet.runs.values():
        places = [k for k, i in enumerate(run.items) if i.part == name and i.enter != i.leave]
        if places:
            k, items = places[0], run.items
            plugs = sorted({plug_of[i.part]: abs(n - k) for n, i in enumerate(items) if i.part in plug_of})
            left = [
                [items[k].enter],
                *([i.enter, i.leave] for i in reversed(items[max(0, k - NEIGHBOURS) : k])),
            ]
            right = [[items[k].leave], *([i.enter, i.leave] for i in items[k + 1 : k + 1 + NEIGHBOURS])]
            return plugs[:PLUGS], left, right
    return [], [], []


def _first(points: dict[str, Point], nearest: list[list[str]]) -> Point | None:
    """The reachable point nearest to the switch."""
    return next((points[t] for ends in nearest for t in ends if t in points), None)


def _is_dead(chooser: Chooser, candidate: Candidate) -> bool:
    """Whether the circuit between the leads has no volts of its own, as far as the readings tell."""
    selector = selector_of(chooser.engine.circuit, candidate.as_reading())
    live = np.abs(live_volts(chooser.solution(candidate.setup), selector)) > LIVE
    return float(chooser.weight[live].sum()) < MOST_LIVE

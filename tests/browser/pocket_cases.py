"""Invented cases for the pocket card: a true single fault, and what a meter and a pair of eyes show of it."""

from __future__ import annotations

from dataclasses import replace
from random import Random
from typing import Any

import numpy as np

from backprobe.circuit.setup import Setup
from backprobe.demo.acting import display
from backprobe.diagnosis.checks import is_safe, rest_setup
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import operator_states
from backprobe.readings.lines import parse_reading
from backprobe.readings.model import Reading
from backprobe.readings.points import reachable_points
from backprobe.report.setup_words import setup_words
from backprobe.sheet.functions import inputs_of

UNITS = {"V": "V", "mV": "mV", "mΩ": "mohm", "Ω": "ohm", "kΩ": "kohm", "MΩ": "Mohm"}
OVER = 2e7


class Case:
    """One machine with one fault in it; hands out readings of it."""

    def __init__(self, engine: Engine, random: Random) -> None:
        self.engine, self.sheet, self.random = engine, engine.sheet, random
        self.row = random.randrange(engine.catalogue.count)
        self.gain = random.uniform(-0.008, 0.008)
        states = list(operator_states(self.sheet))
        rest = rest_setup(self.sheet)
        self.states = [s for s in states if is_safe(self.sheet, rest, s)] or [rest]
        self.home = random.choice(self.states)

    def readings(self) -> list[Reading]:
        """One to six readings, the first ones in one state."""
        count = self.random.randint(1, 6)
        return [self._one(self._setup()) for _ in range(count)]

    def _setup(self) -> Setup:
        state = self.home if self.random.random() < 0.7 else self.random.choice(self.states)
        plugs = list(self.sheet.connectors)
        return state.without(self.random.choice(plugs)) if plugs and self.random.random() < 0.2 else state

    def _one(self, setup: Setup) -> Reading:
        kind = self.random.choices(["volts", "ohms", "word"], [6, 2, 3 if self._options() else 0])[0]
        return self._word(setup) if kind == "word" else self._number(kind, setup)

    def _number(self, kind: str, setup: Setup) -> Reading:
        red, black = self.random.sample(reachable_points(self.sheet, setup.unplugged), 2)
        if self.random.random() < 0.6:
            black = next(p for p in reachable_points(self.sheet) if p.name in {"battery-", "frame"})
        if red.terminal == black.terminal:
            return self._number(kind, setup)
        asked = Reading(kind, setup, red.terminal, black.terminal, red.name, black.name)
        mean = float(self.engine.single_number(asked).mean[self.row])
        value = float(np.exp(mean)) if kind == "ohms" else mean
        shown = "OL ohm" if kind == "ohms" and value > OVER else display(value * (1 + self.gain), kind)
        return self._typed(f"{red.name} to {black.name}: {shown}", setup)

    def _options(self) -> list[tuple[str, str]]:
        """What can be seen, each with the kind of reading that it is."""
        options = [(f, "works") for f in self.sheet.functions]
        options += [(lamp, "lamp") for lamp in self.sheet.lamps]
        return options + [(name, "code") for name, bands in inputs_of(self.sheet).items() if bands]

    def _word(self, setup: Setup) -> Reading:
        subject, kind = self.random.choice(self._options())
        seen = {
            "works": lambda: ["works", "dead"],
            "lamp": lambda: [*(p for p, _ in self.sheet.lamps[subject]), "dark"],
            "code": lambda: list(inputs_of(self.sheet)[subject]),
        }[kind]()
        asked = Reading(kind, setup, subject=subject)
        chance = [float(self.engine.single_chance(replace(asked, seen=s))[self.row]) for s in seen]
        word = seen[int(np.argmax(chance))]
        return self._typed(f"{subject} is {word}" if kind == "code" else f"{subject} {word}", setup)

    def _typed(self, said: str, setup: Setup) -> Reading:
        words = setup_words(setup, self.sheet)
        return parse_reading(f"{said}, {words}" if words else said, self.sheet)


def as_kept(reading: Reading) -> dict[str, Any]:
    """A reading as the page keeps it in its list."""
    kept: dict[str, Any] = {
        "kind": reading.kind,
        "state": dict(reading.setup.state),
        "off": sorted(reading.setup.unplugged),
    }
    if reading.kind not in {"volts", "ohms"}:
        return kept | {"subject": reading.subject, "seen": reading.seen}
    number, _, unit = reading.text.split(",")[0].rpartition(":")[2].strip().partition(" ")
    kept |= {"red": reading.red_name, "black": reading.black_name, "zeroed": False}
    return kept | {"value": number, "unit": UNITS.get(unit, unit)}

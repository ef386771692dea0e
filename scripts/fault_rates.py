"""The fault rates of every kind of part, from the kinds themselves."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from backprobe.circuit.compiled import compile_sheet
from backprobe.faults.catalogue import (
    AS_BUILT,
    CIRCUMSTANCES,
    COINCIDENCE,
    NONE_OF_THESE,
    WORN_TOO,
)
from backprobe.sheet.anatomy import Mode
from backprobe.sheet.kinds import registry
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet

SHOWROOM = """
sheet: One of each kind
controls: {key: [off, on], gate: [open, shut], stick: [back, ahead]}
runs:
  power:  [battery+, fuse, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, ring, frame, strap, battery-]
  charge: [frame, alternator, wire W9, battery+]
  feed:   [controller.feed, C1-3, C2-1, ratiometric.supply]
  signal: [ratiometric.output, C2-2, C1-4, controller.gate input]
  return: [ratiometric.ground, C2-3, frame]
  hall:   [key switch, collector.supply]
  pulls:  [collector.output, controller.speed input]
  halls:  [collector.ground, frame]
  pot:    [key switch, potentiometer, frame]
  pushed: [key switch, push-pull.supply]
  pushes: [push-pull.output, controller.gate input]
  push:   [push-pull.ground, frame]
  teeth:  [key switch, pick-up.supply]
  tooth:  [pick-up.output, controller.speed input]
  tooths: [pick-up.ground, frame]
  coiled: [key switch, coil pick-up, frame]
  loop:   [key switch, two-wire sensor, frame]
  oil:    [key switch, sender, frame]
  load:   [controller.boom output, diode, splice, coil, resistor, frame]
  relay:  [key switch, coded switch, relay coil, frame]
  rests:  [relay.87a, frame]
  works:  [battery+, fusible link, circuit breaker, relay contact, lamp, frame]
  lit:    [key switch, LED indicator, frame]
  pair:   [terminator, bus node, frame]
  two way: [key switch, changeover switch, frame]
parts:
  changeover switch: {actuated: {gate: shut}}
  terminator: {}
  bus node: {}
  battery: {}
  fuse: {}
  key switch: {kind: switch}
  coded switch: {kind: switch, closed ohms: 1 kohm, open ohms: 10 kohm, closed: {gate: shut}}
  ring: {}
  strap: {}
  alternator: {}
  wire W9: {}
  ratiometric: {kind: ratiometric sensor, output: {gate open: 20 %, gate shut: 60 %}}
  collector: {kind: open-collector sensor, pulls: {gate: shut}}
  push-pull: {kind: push-pull sensor, high: {gate: shut}}
  pick-up: {kind: speed pick-up, pulls: {gate: shut}, pull-up ohms: 2 kohm}
  coil pick-up: {volts: {stick ahead: 2 V}}
  two-wire sensor: {amps: {gate open: 2.5 mA, gate shut: 0.8 mA}}
  sender: {levels: {stick back: 15 ohm, stick ahead: 120 ohm}}
  potentiometer: {levels: {stick back: 20 %, stick ahead: 80 %}}
  diode: {}
  splice: {}
  coil: {suppression: diode}
  resistor: {}
  relay: {suppression: diode}
  lamp: {}
  LED indicator: {}
  fusible link: {}
  circuit breaker: {}
  controller:
    gate input: {bands: {0..1 V: open, 2..4 V: shut}}
    speed input: {pull-up: 5 kohm, bands: {0..1 V: tooth, 3..6 V: gap}}
functions:
  boom: {releases when: gate input is shut, drives: boom output}
"""
"""One of each kind, so that every mode shows."""


def showroom() -> Sheet:
    """The sheet that has one of each kind of part."""
    return parse_sheet(SHOWROOM, file="showroom")


@contextmanager
def maker() -> Iterator[Callable[[str], str]]:
    """Give a function that makes the tables of the page."""
    yield lambda words: {"rates": rates, "circumstances": circumstances, "constants": constants}[words]()


def kind_modes() -> dict[str, list[Mode]]:
    """Kind to the modes of its parts in the showroom, one part of each kind or coding."""
    sheet = showroom()
    found: dict[str, dict[str, Mode]] = {name: {} for name in sorted(registry().by_name)}
    for mode in compile_sheet(sheet).modes:
        part = sheet.parts.get(mode.part)
        kind = part.kind if part else "connector"
        found[kind].setdefault(mode.mode, mode)
    return {kind: list(modes.values()) for kind, modes in found.items()}


def rates() -> str:
    """Kind, mode, family, rate and reason."""
    lines = ["| kind | what goes wrong | family | rate | why |", "|---|---|---|---|---|"]
    for kind, modes in kind_modes().items():
        shown = dict.fromkeys(m.mode for m in modes)
        if kind == "connector":
            # Each pair of neighbouring cavities has the same two modes.
            shown = dict.fromkeys(list(shown)[:1] + [m for m in shown if "swapped" in m][:1])
        for mode in (m for m in modes if m.mode in shown):
            lines.append(f"| {kind} | {mode.mode} | {mode.family} | {mode.rate:.2g} | {mode.why} |")
    return "\n".join(lines)


def circumstances() -> str:
    """What each word of the complaint multiplies."""
    families = sorted({f for factors in CIRCUMSTANCES.values() for f in factors})
    lines = [f"| said | {' | '.join(families)} |", "|---" * (len(families) + 1) + "|"]
    for word, factors in CIRCUMSTANCES.items():
        lines.append(f"| {word} | " + " | ".join(f"{factors.get(f, 1):g}" for f in families) + " |")
    return "\n".join(lines)


def constants() -> str:
    """The few numbers beside the rates."""
    told = (
        ("nothing is wrong with this circuit", AS_BUILT),
        ("none of these: the sheet itself is wrong", NONE_OF_THESE),
        ("a common joint is worn although it is not the cause", WORN_TOO),
        ("factor on a second separate failure that is not wear", COINCIDENCE),
    )
    return "\n".join(["| beforehand | value |", "|---|---|", *(f"| {what} | {p:g} |" for what, p in told)])

"""Sheets to draw: made up by chance from a seed, with everything a run may do."""

from __future__ import annotations

from random import Random

PARTS = ("fuse", "switch", "splice", "coil", "lamp", "resistor", "diode", "relay")
KINDS = (*PARTS, "wire", "wire", "cavity", "cavity")
COLOURS = ("RD", "BK", "WH", "YE", "BU/WH", "GN", "BN/YE", "VT")

ODD: dict[str, str] = {
    "bodies": """bodies: [engine, cab]
runs:
  a: [battery+, fuse F1 5 A, coil Y1 8 ohm, engine]
  b: [engine, engine strap, frame]
  c: [battery+, lamp H1 5 W, cab]
  d: [cab, cab strap, frame]
""",
    "changeover": """runs:
  a: [battery+, S1.common]
  b: [S1.NO, lamp H1 5 W, frame]
  c: [S1.NC, lamp H2 5 W, frame]
parts:
  S1: {kind: changeover switch}
""",
    "coil ends apart": """runs:
  a: [battery+, fuse F1 5 A, K1.86]
  b: [K1.85, switch S1, frame]
  c: [battery+, K1.30]
  d: [K1.87, lamp H1 5 W, frame]
parts:
  relay K1: {kind: relay}
""",
    "passed twice": """runs:
  a: [battery+, fuse F1 5 A, lamp H1 5 W, frame]
  b: [battery+, fuse F1 5 A, lamp H2 5 W, frame]
""",
    "loop": """runs:
  a: [battery+, fuse F1 5 A, splice S1, switch A1, splice S2, lamp H1 5 W, frame]
  b: [splice S2, diode V1, splice S1]
  c: [splice S1, resistor R1 10 ohm, battery+]
""",
    "up and down": """runs:
  a: [frame, switch S1, battery+]
  b: [battery-, lamp H1 5 W, frame]
  c: [battery-, lamp H2 5 W, battery+]
""",
    "no return": """runs:
  a: [battery+, lamp H1 5 W, battery-]
""",
    "two alternators": """runs:
  a: [alternator.stud, battery+]
  b: [alternator.case, frame, strap, battery-]
parts:
  alternator: {}
""",
    "pot": """runs:
  a: [battery+, resistor R1 10 ohm, potentiometer P1, frame]
  b: [battery+, lamp H1 5 W, P1.wiper]
""",
    "through battery": """runs:
  a: [frame, strap, battery, fuse F1 5 A, lamp H1 5 W, frame]
""",
    "relay all": """runs:
  a: [battery+, relay contact K1, lamp H1 5 W, frame]
  b: [battery+, relay resting contact K1, lamp H2 5 W, frame]
  c: [battery+, switch S1, relay coil K1, frame]
""",
    "bus": """runs:
  h: [T1.high, X1-1, N1.high, X1-3, T2.high]
  l: [T1.low, X1-2, N1.low, X1-4, T2.low]
  p: [battery+, fuse F1 5 A, N1.supply]
  g: [N1.ground, frame]
parts:
  T1: {kind: terminator}
  T2: {kind: terminator}
  N1: {kind: bus node}
""",
    "direct": """runs:
  a: [battery+, frame]
""",
    "long names": """runs:
  a: [battery+, the very long name of the upper left folding platform gate switch, relay coil K1, frame]
""",
}
"""Sheets that lead a wire where none usually goes, without their first line."""


def random_sheet(seed: int, size: int = 6) -> str:
    """The text of an invented sheet with about `size` runs beside its controllers' own."""
    rng = Random(seed)
    maker = Maker(rng)
    for number in range(rng.choice((0, 1, 1, 2))):
        maker.controller(number)
    for _ in range(size):
        maker.run()
    return maker.text(seed)


class Maker:
    """Runs as they grow; every part that was passed is a place to branch from."""

    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.runs: list[list[str]] = []
        self.parts: list[str] = []
        self.branches: list[str] = []
        self.relays: list[str] = []
        self.counts: dict[str, int] = {}

    def new(self, letter: str) -> str:
        self.counts[letter] = self.counts.get(letter, 0) + 1
        return f"{letter}{self.counts[letter]}"

    def part(self) -> str:
        rng = self.rng
        kind = rng.choice(
            (
                "fuse",
                "switch",
                "wire",
                "wire",
                "cavity",
                "cavity",
                "splice",
                "coil",
                "lamp",
                "resistor",
                "diode",
                "relay",
            )
        )
        if kind == "fuse":
            return f"fuse {self.branch('F', 'fuse')} {rng.choice((5, 10, 30))} A"
        if kind == "switch":
            return f"switch {self.branch('S', 'switch')}"
        if kind == "wire":
            return (
                f"wire {rng.randint(3, 40) / 10} m {rng.choice((0.75, 1.5, 2.5))} mm2 {rng.choice(COLOURS)}"
            )
        if kind == "cavity":
            return self.new(f"C{rng.randint(1, 3)}-")
        if kind == "splice":
            return f"splice {self.branch('X', 'splice')}"
        if kind == "relay":
            return self.relay()
        letter = {"coil": "Y", "lamp": "H", "resistor": "R", "diode": "V"}[kind]
        value = {"coil": " 9 ohm", "lamp": " 10 W", "resistor": " 470 ohm", "diode": ""}[kind]
        return f"{kind} {self.branch(letter, kind)}{value}"

    def branch(self, letter: str, kind: str) -> str:
        name = self.new(letter)
        self.branches.append(f"{kind} {name}")
        return name

    def relay(self) -> str:
        if self.relays and self.rng.random() < 0.6:
            name = self.relays.pop()
            if self.rng.random() < 0.5:
                self.runs.append([f"{name}.87a", self.part(), "frame"])
            return f"relay contact {name}"
        name = self.new("K")
        self.relays.append(name)
        return f"relay coil {name} 90 ohm"

    def some(self, most: int) -> list[str]:
        return [self.part() for _ in range(self.rng.randint(1, most))]

    def run(self) -> None:
        rng = self.rng
        start = rng.choice(["battery+", "battery+", *self.branches])
        middle = self.some(9)
        ends = [
            "frame",
            "frame",
            "frame",
            "battery-",
            *(b for b in self.branches[:4] if b != start and b not in middle),
        ]
        self.runs.append([start, *middle, rng.choice(ends)])

    def controller(self, number: int) -> None:
        rng = self.rng
        box = f"controller {'AB'[number]}"
        self.parts.append(f"  {box}: {{kind: controller}}")
        self.runs.append(["battery+", *self.some(4), f"{box}.battery"])
        self.runs.append([f"{box}.ground", *self.some(2), "frame"])
        for i in range(rng.randint(0, 3)):
            self.runs.append([f"{box}.out{i} output", *self.some(5), "frame"])
        for i in range(rng.randint(0, 2)):
            self.runs.append(["battery+", *self.some(5), f"{box}.in{i} input"])
        for i in range(rng.randint(0, 2)):
            sensor = f"sensor {'AB'[number]}{i}"
            self.parts.append(f"  {sensor}: {{kind: ratiometric sensor}}")
            self.runs.append([f"{box}.feed", *self.some(4), f"{sensor}.supply"])
            self.runs.append([f"{sensor}.output", *self.some(4), f"{box}.sense{i} input"])
            self.runs.append(
                [f"{sensor}.ground", *self.some(4), rng.choice((f"{box}.sensor ground", "frame"))]
            )

    def text(self, seed: int) -> str:
        lines = [f"  run {i}: [{', '.join(run)}]" for i, run in enumerate(self.runs)]
        parts = ["parts:", *self.parts] if self.parts else []
        return "\n".join([f"sheet: Invented by seed {seed}", "runs:", *lines, *parts, ""])

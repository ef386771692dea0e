"""Which of three pins of a sensor is supply, output and ground, by a bench source that cannot harm it.

The source stands behind a resistor so large that no two pins, either way round, can take more than a
few milliamperes. What the pins then show follows from the anatomy of the kinds of sensors: the draw of
the supply side, the substrate path that conducts when it is reversed, the output stage. All of it is
solved by the circuit engine, with every number drawn from its tolerance.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import permutations

import numpy as np

from backprobe.circuit.compiled import Circuit, Floats, compile_sheet
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import VOLTMETER_OHMS, Attachment, make_setup
from backprobe.circuit.stage import make_stage
from backprobe.errors import Problem, ReadingError, UnitError
from backprobe.sheet.reader import parse_sheet
from backprobe.units import parse_quantity
from backprobe.workbench.pinout_next import information, summed
from backprobe.workbench.preferred import next_up

BENCH_VOLTS = 9.0
"""A block battery or a bench source [V]; what a sensor for 5 V survives behind the resistor."""
MOST_VOLTS = 15.0
MOST_AMPS = 0.004
"""What any two pins may be given [A]: protection diodes stand several times that.
Common practice, no source."""
TERMINALS = ("supply", "output", "ground")
KINDS = {
    "open-collector sensor, NPN": ("open-collector sensor", "type: NPN", 0.32),
    "open-collector sensor, PNP": ("open-collector sensor", "type: PNP", 0.14),
    "ratiometric sensor": ("ratiometric sensor", "", 0.26),
    "push-pull sensor": ("push-pull sensor", "", 0.1),
    "potentiometer": ("potentiometer", "", 0.12),
}
"""Kind in words to its name in a sheet, its fields, and how often it is met [1]. Common practice,
no source."""
OPEN_INSIDE = "nothing conducts"
OPEN_SHARE = 0.06
POT_ENDS = {"supply": "1", "output": "wiper", "ground": "3"}
DRAWS, SEED = 192, 5
OWN_VOLTS, OWN_SHARE = 0.06, 0.05
"""What a reading may be off beside the tolerances: one make's junction is not another's [V, 1]."""
SURE = 0.95
LEAST_BITS = 0.02
EXAMPLE = "Write such as: A+ B- 2.41 V, or with the third pin against minus: A+ B- C 0.52 V."
_LINE = re.compile(
    r"(?P<plus>\w+)\s*\+\s+(?P<minus>\w+)\s*-(?:\s+(?P<third>[A-Za-z]\w{0,2}|\d))?\s+"
    r"(?P<value>-?[\d.]+\s*\S*?)(?P<target>,?\s+with target)?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class PartReading:
    """Volts at a sensor on the bench source: plus through the resistor, minus direct.

    Parameters
    ----------
    plus, minus, third
        Pins; with a third pin the meter is between it and minus, else across both.
    volts
        What the meter shows [V].
    target
        Steel or a magnet was at its face.
    """

    plus: str
    minus: str
    third: str
    volts: float
    target: bool = False
    text: str = ""


@dataclass(frozen=True, slots=True)
class PartPins:
    """What the pins of a sensor are.

    Parameters
    ----------
    assignments
        Pins in the order supply, output, ground, with the probability of each order [1].
    kinds
        Kind of sensor to probability [1].
    volts, ohms, amps
        Bench source, its resistor, and the most it can give [V, ohm, A].
    missing
        Readings that would tell most, with their bits; empty when the order is known.
    """

    pins: tuple[str, str, str]
    readings: tuple[PartReading, ...]
    volts: float
    ohms: float
    amps: float
    assignments: tuple[tuple[tuple[str, str, str], float], ...]
    kinds: tuple[tuple[str, float], ...]
    missing: tuple[tuple[str, float], ...]

    @property
    def found(self) -> bool:
        """Whether the order of the pins is known."""
        return self.assignments[0][1] >= SURE


def limiting_ohms(volts: float = BENCH_VOLTS) -> float:
    """The resistor for a bench source, of E12: no two pins can take more than a few mA [ohm].

    Raises
    ------
    UnitError
        For a source that is not for this.
    """
    if not 3 <= volts <= MOST_VOLTS:
        raise UnitError(
            Problem("bench", f"{volts:g} V", "is no source for this", f"Use 3 V to {MOST_VOLTS:g} V.")
        )
    return next_up(volts / MOST_AMPS, 12)


def parse_part_lines(
    text: str, pins: Sequence[str] = (), file: str = ""
) -> tuple[tuple[PartReading, ...], tuple[str, str, str]]:
    """Readings on the bench, one a line, and the names of the pins.

    Raises
    ------
    ReadingError
        With every line that cannot be understood.
    """
    found: list[PartReading] = []
    problems: list[Problem] = []
    for number, raw in enumerate(text.replace(";", "\n").splitlines(), 1):
        line = raw.partition("#")[0].strip()
        if not line:
            continue
        match = _LINE.fullmatch(line)
        try:
            volts = parse_quantity(match["value"], unit="V").value if match else None
        except UnitError:
            volts = None
        if match is None or volts is None:
            problems.append(Problem("reading", line, "is no reading on the bench", EXAMPLE, file, number))
            continue
        plus, minus, third = (match[k].upper() if match[k] else "" for k in ("plus", "minus", "third"))
        if plus == minus or third in {plus, minus} or abs(volts) > MOST_VOLTS:
            message = "names a pin twice or has too many volts"
            problems.append(Problem("reading", line, message, EXAMPLE, file, number))
            continue
        found.append(PartReading(plus, minus, third, volts, bool(match["target"]), line))
    if problems:
        raise ReadingError(*problems)
    met = [p for r in found for p in (r.plus, r.minus, r.third) if p]
    every = list(dict.fromkeys([*(p.strip().upper() for p in pins if p.strip()), *met]))
    spare = ("A", "B", "C") if not set(every) & set("123") else ("1", "2", "3")
    every += [p for p in spare if p not in every][: max(0, 3 - len(every))]
    if len(every) != 3:
        raise ReadingError(
            Problem("pins", ", ".join(every), "are not three pins", "Name them: --pins A,B,C.", file)
        )
    one, two, three = sorted(every)
    return tuple(found), (one, two, three)


def part_pins(
    readings: str | Sequence[PartReading],
    *,
    volts: float = BENCH_VOLTS,
    ohms: float | None = None,
    pins: Sequence[str] = (),
    file: str = "",
) -> PartPins:
    """Work out the pins of a sensor from readings on the bench.

    Parameters
    ----------
    readings
        Readings, or their lines; without any the answer says which to take first.
    volts
        Bench source [V].
    ohms
        The resistor in its plus lead [ohm]; `limiting_ohms` when None.
    file
        What a message calls the lines.

    Raises
    ------
    ReadingError
        When lines cannot be understood.
    UnitError
        For a source and resistor that could harm a sensor.
    """
    text = readings if isinstance(readings, str) else "\n".join(r.text for r in readings)
    listed, three = parse_part_lines(text, pins, file)
    least = limiting_ohms(volts)
    limit = least if ohms is None else ohms
    if limit < 0.99 * volts / MOST_AMPS:
        raise UnitError(
            Problem("limit", f"{limit:g} ohm", "lets too much through", f"Use at least {least:g} ohm.")
        )
    orders = [(a, b, c) for a, b, c in permutations(three, 3)]
    labels = [(order, kind) for order in orders for kind in (*KINDS, OPEN_INSIDE)]
    shares = {**{k: v[2] for k, v in KINDS.items()}, OPEN_INSIDE: OPEN_SHARE}
    scores = np.zeros((len(labels), DRAWS))
    for reading in listed:
        shown = _all_shown(reading, labels, (volts, limit))
        width = np.hypot(OWN_VOLTS, OWN_SHARE * reading.volts)
        scores += -0.5 * ((reading.volts - shown) / width) ** 2
    top = scores.max()
    each = np.exp(scores - top)
    raw = each.mean(axis=1) * np.array([shares[kind] for _, kind in labels])
    share = raw / raw.sum()
    done = PartPins(
        three,
        listed,
        volts,
        limit,
        volts / limit,
        tuple(summed([order for order, _ in labels], share)),
        tuple(summed([kind for _, kind in labels], share)),
        (),
    )
    if done.found:
        return done
    missing = _missing(done, labels, share, each)
    return PartPins(three, listed, volts, limit, done.amps, done.assignments, done.kinds, tuple(missing))


def _missing(
    done: PartPins,
    labels: Sequence[tuple[tuple[str, str, str], str]],
    share: Floats,
    each: Floats,
) -> Iterator[tuple[str, float]]:
    """The readings that tell most about the order of the pins, best first."""
    taken = {(r.plus, r.minus, r.third) for r in done.readings}
    weight = each / np.maximum(each.sum(axis=1, keepdims=True), 1e-300)
    rows: list[tuple[str, float]] = []
    for plus, minus in permutations(done.pins, 2):
        third = next(p for p in done.pins if p not in {plus, minus})
        for seen, words in (("", f"{plus}+ {minus}-"), (third, f"{plus}+ {minus}- {third}")):
            if (plus, minus, seen) in taken:
                continue
            reading = PartReading(plus, minus, seen, 0.0, text=words)
            shown = _all_shown(reading, labels, (done.volts, done.ohms))
            mean = (weight * shown).sum(axis=1)
            spread = np.sqrt((weight * (shown - mean[:, None]) ** 2).sum(axis=1) + OWN_VOLTS**2)
            bits = information(share, mean, spread, [order for order, _ in labels])
            if bits > LEAST_BITS:
                rows.append((words, bits))
    yield from sorted(rows, key=lambda t: -t[1])[:3]


def _all_shown(
    reading: PartReading, labels: Sequence[tuple[tuple[str, str, str], str]], bench: tuple[float, float]
) -> Floats:
    """``(h, draws)`` volts that every hypothesis says this reading shows [V]."""
    rows = []
    for order, kind in labels:
        role = dict(zip(order, TERMINALS, strict=True))
        places = (role[reading.plus], role[reading.minus], role[reading.third] if reading.third else "")
        rows.append(_shown(kind, places, bench, reading.target))
    return np.stack(rows)


@cache
def _shown(kind: str, places: tuple[str, str, str], bench: tuple[float, float], target: bool) -> Floats:
    """``(draws,)`` volts at a sensor of one kind, its terminals on plus, minus and (or not) the meter [V]."""
    volts, ohms = bench
    if kind == OPEN_INSIDE:
        open_volts = volts * VOLTMETER_OHMS / (VOLTMETER_OHMS + ohms)
        return np.full(DRAWS, 0.0 if places[2] else open_volts)
    circuit, values = _drawn(kind)
    ends = POT_ENDS if kind == "potentiometer" else {t: t for t in TERMINALS}
    plus, minus = f"sensor.{ends[places[0]]}", f"sensor.{ends[places[1]]}"
    red = f"sensor.{ends[places[2]]}" if places[2] else plus
    attached = [
        Attachment("source", plus, minus, ohms, volts),
        Attachment("jumper", minus, "battery.-"),
        Attachment("resistor", red, minus, VOLTMETER_OHMS),
    ]
    if target and kind != "potentiometer":
        attached.append(Attachment("target", "sensor"))
    setup = make_setup(circuit.sheet, None, frozenset({"X1"}), tuple(attached))
    solution = solve_full(make_stage(circuit, setup), values)
    result: Floats = solution.across(red, minus)
    return result


@cache
def _drawn(kind: str) -> tuple[Circuit, Floats]:
    """A sensor of one kind with nothing but its plug, and draws of all its numbers ``(draws, p)``."""
    name, fields, _ = KINDS[kind]
    ends = POT_ENDS if kind == "potentiometer" else {t: t for t in TERMINALS}
    sheet = parse_sheet(
        "sheet: A sensor on the bench\nruns:\n"
        f"  one: [battery+, X1-1, sensor.{ends['supply']}]\n"
        f"  two: [sensor.{ends['output']}, X1-2, resistor R1 10 kohm, frame]\n"
        f"  three: [sensor.{ends['ground']}, X1-3, frame, strap, battery-]\n"
        "connectors:\n  X1: {part: sensor}\n"
        f"parts:\n  sensor: {{kind: {name}{', ' if fields else ''}{fields}}}\n"
    )
    circuit = compile_sheet(sheet)
    normal = np.random.default_rng(SEED).standard_normal((DRAWS, len(circuit.parameters)))
    moved = circuit.spread * normal
    values = np.where(circuit.logarithmic, circuit.nominal * np.exp(moved), circuit.nominal + moved)
    return circuit, values

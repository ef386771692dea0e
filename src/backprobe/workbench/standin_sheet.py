"""Where a stand-in goes on a sheet's circuit, and what the whole circuit does with it in place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from math import inf, isfinite

import numpy as np

from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import Attachment, Setup
from backprobe.circuit.solve import Solution
from backprobe.circuit.stage import make_stage
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.predict import function_works
from backprobe.diagnosis.states import WORKS, guard_shut, operator_states
from backprobe.errors import Problem, SheetError
from backprobe.sheet.anatomy import Band, Value
from backprobe.sheet.findings import nearest
from backprobe.sheet.model import Connector, Pin, Sheet
from backprobe.workbench.standin_input import InputPort
from backprobe.workbench.standin_parts import StandIn

JOINED_OHMS = 50.0
"""Two points with less between them are one wire, its joints included [ohm]."""
LIVE_VOLTS, STIFF_OHMS = 1.0, 300.0
"""A feed shows more than this behind less than this [V, ohm]."""
STATES = 300
GROUNDS = ("frame", "battery.-")


@dataclass(frozen=True, slots=True)
class Site:
    """A plug taken off its sensor, and which of its cavities is which.

    Parameters
    ----------
    plug, part
        The connector, and the part that was in it.
    signal, feed, ground
        Points on the machine side; feed is empty where the plug has none, ground is then the frame.
    input, ground_of_input
        Circuit terminals of the controller's input.
    setup
        A state near to rest in which the plug has its feed, the plug off.
    """

    plug: str
    part: str
    signal: str
    feed: str
    ground: str
    input: str
    ground_of_input: str
    setup: Setup
    engine: Engine


@dataclass(frozen=True, slots=True)
class Released:
    """A function that the stand-in would let go.

    Parameters
    ----------
    function, guard
        Its name and its guard's rule.
    shut
        An operator state in which it works with the guard shut; None where it does not.
    open
        One in which it works with the guard open: there the stand-in defeats the guard.
    """

    function: str
    guard: str
    shut: Setup | None
    open: Setup | None


def input_pin(sheet: Sheet, name: str) -> tuple[str, Pin]:
    """The controller and the pin of an input.

    Raises
    ------
    SheetError
        When the sheet has no such input.
    """
    inputs = {
        pin.name: (part.name, pin)
        for part in sheet.parts.values()
        for pin in part.pins.values()
        if pin.role == "input"
    }
    wanted = " ".join(name.split()).lower()
    for key, found in inputs.items():
        if wanted in {key.lower(), key.lower().removesuffix(" input"), f"{found[0]}.{key}".lower()}:
            return found
    shown = ", ".join(inputs) or "none"
    raise SheetError(
        Problem("INPUT", name, f"is no input of {sheet.name}", f"Its inputs: {shown}.", sheet.file)
    )


def band_of(sheet: Sheet, pin: Pin, meaning: str) -> Band:
    """The band of an input that means this.

    Raises
    ------
    SheetError
        When it has none.
    """
    for band in pin.bands:
        if band.meaning.lower() == " ".join(meaning.split()).lower():
            return band
    words = [b.meaning for b in pin.bands]
    remedy = nearest(meaning, words) or f"It reads: {', '.join(words) or 'nothing, add its bands'}."
    raise SheetError(
        Problem("MEANING", meaning, f"is nothing that {pin.name} reads", remedy, sheet.file, pin.line)
    )


def port_of(sheet: Sheet, site: Site, pin: Pin, band: Band) -> InputPort:
    """The feed, the input's resistors and the band, as the sheet gives them."""
    feed, limit, ohms = _feed(sheet, site)
    edges = (band.low if band.low > 0 else -inf, band.high)
    if band.falling is not None:
        # A band that is left late is entered late: a stand-in aims where both ways agree.
        edges = (
            max(edges[0], band.falling[0]) if band.falling[0] > 0 else edges[0],
            min(edges[1], band.falling[1]),
        )
    reachable = max(feed.high, pin.values["pull-up volts"].high if "pull-up" in pin.values else 0.0)
    return InputPort(
        feed,
        (edges[0], edges[1]),
        pin.values.get("pull-down"),
        pin.values.get("pull-up"),
        pin.values.get("pull-up volts"),
        _codes(pin, band, reachable),
        limit,
        ohms,
        bool(site.feed),
    )


def _codes(pin: Pin, band: Band, reachable: float) -> tuple[float, float]:
    """Edges of the nearest codes below and above a band [V]; infinite where none can be reached."""
    codes = [b for b in pin.bands if "code" in b.meaning.lower()]
    below = [b.high for b in codes if b.high <= band.low + 1e-9]
    above = [b.low for b in codes if b.low >= band.high - 1e-9 and b.low < reachable]
    return max(below, default=-inf), min(above, default=inf)


def find_site(sheet: Sheet, name: str) -> Site:
    """The sensor's plug on the way to an input, with its cavities told apart by what they show.

    Raises
    ------
    SheetError
        When no plug on that way belongs to anything but a controller.
    """
    controller, pin = input_pin(sheet, name)
    engine = Engine(sheet)
    terminal = f"{controller}.{pin.name}"
    entry = engine.circuit.inputs[terminal]
    boxes = {p.name for p in sheet.parts.values() if p.kind == "controller"}
    plugs = [p for p in sheet.connectors.values() if p.part not in boxes]
    without_feed: Site | None = None
    for setup in _powered(engine, controller):
        for plug in sorted(plugs, key=lambda p: not p.part):
            off = setup.without(plug.name)
            found = _site(engine, off, plug, terminal)
            if found is None:
                continue
            site = Site(plug.name, plug.part, *found, terminal, entry.ground, off, engine)
            # Where other switches stand in the same run, the feed comes through only in some states.
            if site.feed:
                return site
            without_feed = without_feed or site
    if without_feed is not None:
        return without_feed
    raise SheetError(
        Problem(
            "INPUT",
            name,
            "has no plug of a sensor on its wire",
            "Draw the plug with its cavities in the run, or give --feed and --band without a sheet.",
            sheet.file,
            pin.line,
        )
    )


def _site(engine: Engine, setup: Setup, plug: Connector, terminal: str) -> tuple[str, str, str] | None:
    """Signal, feed and ground cavity of a plug that is off; None when none leads to the input."""
    points = {c: f"{plug.name}-{c}.machine" if "-" not in c else f"{c}.machine" for c in plug.cavities}
    solution = _solved(engine, setup)
    known = {c: p for c, p in points.items() if p in engine.circuit.node_of}
    signals = [p for p in known.values() if _between(solution, p, terminal) < JOINED_OHMS]
    if not signals:
        return None
    rest = [p for p in known.values() if p != signals[0]]
    volts = {p: float(solution.across(p, "battery.-")[0]) for p in rest}
    ohms = {p: _between(solution, p, "battery.-") for p in rest}
    live = [p for p in rest if volts[p] > LIVE_VOLTS and ohms[p] < STIFF_OHMS]
    dead = [p for p in rest if abs(volts[p]) < LIVE_VOLTS and ohms[p] < JOINED_OHMS]
    return signals[0], live[0] if live else "", dead[0] if dead else GROUNDS[0]


def _between(solution: Solution, one: str, other: str) -> float:
    """Resistance that two leads see [ohm]."""
    circuit = solution.stage.circuit
    selector = circuit.pair(circuit.node(one), circuit.node(other))
    return float((solution.transfer(selector) @ selector)[0])


def _solved(engine: Engine, setup: Setup) -> Solution:
    return solve_full(make_stage(engine.circuit, setup), engine.circuit.nominal[None])


def _powered(engine: Engine, controller: str) -> list[Setup]:
    """States in which the controller has its supply, the one nearest to rest first."""
    device = engine.circuit.device_of.get(f"{controller}.powered")
    states = list(islice(operator_states(engine.sheet), STATES))
    found = [s for s in states if device is None or _solved(engine, s).modes[0, device]]
    if not found:
        raise SheetError(
            Problem(
                "sheet",
                engine.sheet.name,
                f"has no operator state in which {controller} has its supply",
                "Look at its battery and ground runs with `backprobe predict`.",
                engine.sheet.file,
            )
        )
    return found


def _feed(sheet: Sheet, site: Site) -> tuple[Value, Value | None, Value]:
    """Volts of the feed in the plug, its limit, and what it and the wire have for resistance."""
    solution = _solved(site.engine, site.setup)
    if not site.feed:
        # Nothing in the plug but the pull-up: that is what a resistor to ground works against.
        _, pin = input_pin(sheet, site.input)
        if "pull-up" in pin.values:
            volts = pin.values["pull-up volts"]
            return volts, None, pin.values["pull-up"]
        raise SheetError(
            Problem(
                "INPUT",
                pin.name,
                f"gets no feed in plug {site.plug} and has no pull-up",
                "A stand-in needs one of them: draw the feed's cavity.",
                sheet.file,
                pin.line,
            )
        )
    shown = float(solution.across(site.feed, "battery.-")[0])
    ohms = max(_between(solution, site.feed, "battery.-"), 1e-3)
    drop = Value(ohms, 0.3 * ohms, 3 * ohms, "ohm")
    for part in sheet.parts.values():
        for pin in part.pins.values():
            if pin.role == "feed" and _between(solution, site.feed, f"{part.name}.{pin.name}") < JOINED_OHMS:
                return pin.values["volts"], pin.values.get("limit"), drop
    battery = next(p for p in sheet.parts.values() if "volts" in p.values and not p.pins)
    own = battery.values["volts"]
    scale = shown / own.nominal
    return Value(shown, own.low * scale, own.high * scale, "V", own.origin), None, drop


def attached(site: Site, stand: StandIn) -> tuple[Attachment, ...]:
    """The stand-in's resistors between the cavities."""
    found = []
    if isfinite(stand.upper) and site.feed:
        found.append(Attachment("resistor", site.feed, site.signal, stand.upper))
    if isfinite(stand.lower):
        found.append(Attachment("resistor", site.signal, site.ground, stand.lower))
    return tuple(found)


def solved_volts(site: Site, stand: StandIn) -> float:
    """Volts at the input by the sheet's whole circuit, everything as marked [V]."""
    setup = Setup(site.setup.state, site.setup.unplugged, attached(site, stand))
    return float(_solved(site.engine, setup).across(site.input, site.ground_of_input)[0])


def releases(site: Site, stand: StandIn) -> tuple[Released, ...]:
    """Functions that work with the stand-in in place, in all operator states."""
    pieces = attached(site, stand)
    shut: dict[str, Setup] = {}
    loose: dict[str, Setup] = {}
    for setup in _states(site):
        solution = _solved(site.engine, Setup(setup.state, site.setup.unplugged, pieces))
        for function in site.engine.sheet.functions.values():
            if function_works(solution, function.name)[0] > WORKS:
                (shut if guard_shut(function, setup) else loose).setdefault(function.name, setup)
    functions = site.engine.sheet.functions.values()
    return tuple(
        Released(f.name, f.guard, shut.get(f.name), loose.get(f.name))
        for f in functions
        if f.name in shut or f.name in loose
    )


def _states(site: Site) -> Iterator[Setup]:
    total = int(np.prod([len(c.positions) for c in site.engine.sheet.controls.values()] or [1]))
    if total <= 50 * STATES:
        yield from islice(operator_states(site.engine.sheet), STATES)
    else:
        yield site.setup

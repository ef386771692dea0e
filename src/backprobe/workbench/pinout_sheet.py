"""The sheet that a pin-out makes: feed, ground and signal with their measured numbers, nothing invented."""

from __future__ import annotations

from itertools import pairwise

from backprobe.units import figures, format_quantity
from backprobe.workbench.pinout import PinOut, PinSource

CAVITY_CHARACTERS = 3
PART = "sensor"
INPUT = "signal input"


def sheet_text(found: PinOut, name: str = "Three unlabelled pins, worked out with a meter") -> str:
    """The sheet file of a pin-out by its most probable roles.

    Parameters
    ----------
    found
        A pin-out, best a complete one; what is only probable comes as ``assumed``.
    name
        The sheet's name.

    Returns
    -------
    str
        A sheet that `parse_sheet` reads. The sensor's kind and the rest of the machine are not known
        from three pins: notes say so.
    """
    pins = dict(zip(("feed", "ground", "signal"), _cavities(found), strict=True))
    kind = found.kinds["signal"][0][0]
    terminal = "signal output" if kind.startswith("driver") else INPUT
    battery_fed = found.kinds["feed"][0][0] == "battery feed"
    feed_from = "fuse F2 10 A" if battery_fed else "controller.feed"
    box = [*_feed(found, battery_fed), *_signal(found, kind, terminal)]
    lines = [
        f"sheet: {name}",
        f"system: {found.system_volts:g} V",
        "controls: {key: [off, on]}",
        "runs:",
        "  power:  [battery+, fuse F1 10 A, key switch, controller.battery]",
        "  ground: [controller.ground, frame, strap, battery-]",
        f"  feed:   [{'key switch, ' if battery_fed else ''}{feed_from}, {pins['feed']}, {PART}.supply]",
        f"  signal: [{PART}.output, {pins['signal']}, controller.{terminal}]",
        f"  return: [{PART}.ground, {pins['ground']}, controller.sensor ground]",
        "connectors:",
        f"  X1: {{part: {PART}, minutes: 2}}",
        "parts:",
        f"  {PART}: {{kind: {_sensor(kind)}}}",
        *(["  controller:", *box] if box else []),
        "notes:",
        f"  - The kind of sensor is assumed; roles of the pins {_sure(found)}.",
        "  - What the machine does with the signal, its guards and cautions are not known from three pins.",
    ]
    return "\n".join(lines) + "\n"


def _cavities(found: PinOut) -> tuple[str, ...]:
    """Pins as cavities of one plug: their own names where those can be cavities, else numbers."""
    plain = all(p.isalnum() and len(p) <= CAVITY_CHARACTERS for p in found.pins)
    names = {p: p if plain else str(i) for i, p in enumerate(found.pins, 1)}
    return tuple(f"X1-{names[p]}" for p in found.assignments[0][0])


def _sure(found: PinOut) -> str:
    share = found.assignments[0][1]
    if share > 0.995:
        return "are found by readings"
    return f"are {100 * share:.0f} % sure, readings are missing"


def _sensor(kind: str) -> str:
    return "open-collector sensor" if kind.startswith("pull-up") else "ratiometric sensor"


def _feed(found: PinOut, battery_fed: bool) -> list[str]:
    source = found.source("feed")
    # A feed that shows nothing is a fault, not a feed of 0 V: its default stays.
    if battery_fed or source.volts < 1 or source.volts_high > 1.1 * source.volts:
        return []
    return [f"    feed: {{volts: {_value(source.volts, source.volts_low, source.volts_high, 'V')}}}"]


def _value(best: float, low: float, high: float, unit: str) -> str:
    """A measured value; the ends are rounded outwards by a little so that the best lies inside."""
    low, high = min(low, best * 0.998), max(high, best * 1.002)
    shown = [_plain(x, unit) for x in (best, low, high)]
    return f"{{value: {shown[0]}, range: {shown[1]} .. {shown[2]}, origin: measured, with: handheld meter}}"


def _plain(value: float, unit: str) -> str:
    return format_quantity(value, unit, digits=5).replace("Ω", "ohm")


def _signal(found: PinOut, kind: str, terminal: str) -> list[str]:
    source = found.source("signal")
    if terminal != INPUT:
        return []
    fields = _pulls(found, source, kind)
    bands = _bands(found)
    if bands:
        fields.append(f"bands: {{{', '.join(bands)}}}")
    return [f"    {INPUT}: {{{', '.join(fields)}}}"] if fields else []


def _pulls(found: PinOut, source: PinSource, kind: str) -> list[str]:
    ohms = _value(source.ohms, source.ohms_low, source.ohms_high, "ohm")
    if kind == "dead" or not source.known:
        return []
    if kind == "pull-down":
        return [f"pull-down: {ohms}"]
    top = found.source("feed").volts
    if kind == "held in the middle" and 0 < source.volts < top:
        # Two resistors that give these volts and this resistance: r = Ru Rd / (Ru + Rd).
        up, down = source.ohms * top / source.volts, source.ohms * top / (top - source.volts)
        return [
            f"pull-up: {_value(up, 0.9 * up, 1.1 * up, 'ohm')}",
            f"pull-down: {_value(down, 0.9 * down, 1.1 * down, 'ohm')}",
        ]
    volts = _value(source.volts, source.volts_low, source.volts_high, "V")
    return [f"pull-up: {ohms}", f"pull-up volts: {volts}"]


def _bands(found: PinOut) -> list[str]:
    """What the machine did at which volts, as bands that end half-way between differing readings."""
    pin = found.source("signal").pin
    seen = sorted((max(r.value, 0.0), r.seen) for r in found.readings if r.seen and r.red == pin)
    if not seen:
        return []
    edges = [0.0]
    words = [seen[0][1]]
    for (low, one), (high, other) in pairwise(seen):
        if one != other and high > low:
            edges.append((low + high) / 2)
            words.append(other)
    edges.append(max(found.source("feed").volts, seen[-1][0]) * 1.1)
    first = words.index("releases") if "releases" in words else len(words)
    named = [f"code {'low' if i < first else 'high'}" if w == "code" else w for i, w in enumerate(words)]
    return [f"{figures(a)}..{figures(b)} V: {w}" for (a, b), w in zip(pairwise(edges), named, strict=True)]

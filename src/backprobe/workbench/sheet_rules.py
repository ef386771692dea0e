"""Numbers of a sheet that cannot be so, or that do not go together: one rule for each kind of slip."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from math import log10
from statistics import median

from backprobe.sheet.anatomy import Value
from backprobe.sheet.model import Part, Pin, Sheet
from backprobe.sheet.reach import reached
from backprobe.units import figures, format_quantity
from backprobe.workbench.finding import Finding
from backprobe.workbench.said import amps, ohms, volts, watts
from backprobe.workbench.supply import codes_met, most_volts
from backprobe.workbench.wire import wire_ohms
from backprobe.workbench.wire_tables import RATINGS, gauge_area
from backprobe.workbench.written import Written

Rule = Callable[[Sheet, Written], Iterator[Finding]]
POWERS = {"coil": ("ohms", 1.0, 3000.0), "relay": ("coil", 0.3, 8.0), "lamp": ("ohms", 0.1, 150.0)}
"""Field of a load and the least and most watts it takes [W]: from a pilot valve to a starter's motor, from a
tell-tale to a work lamp; common practice, no source."""
FELLOWS = 300.0
"""A value this far from the median of its fellows is looked at [1]."""
FEED_LIMIT, SENSOR_DRAW = 3.0, 0.5
"""Above these a feed's limit and a sensor's draw are milliamperes mistaken for amperes [A]."""
PULL_LEAST, PULL_MOST = 100.0, 3e6
"""A pull-up or pull-down resistor lies between these [ohm]; common practice, no source."""
GAUGES = (10, 12, 14, 16, 18, 20, 22, 24)
"""Gauges of machine wiring; as square millimetres most of them are no size of the trade."""
METRIC = (10.0, 16.0)
"""Those that are one: then only the fuse tells."""
HOT = 60.0
"""Above this a day on a machine is no weather [degC]."""
LONGEST_WIRE = 60.0
"""Of one wire on one machine [m]."""


def load_power(sheet: Sheet, written: Written) -> Iterator[Finding]:
    """Ohms of coils, relays and lamps by the watts they would take at the system's volts."""
    for part, field, value, least, most in _loads(sheet):
        power = sheet.system_volts**2 / value.nominal
        if least <= power <= most:
            continue
        sum_ = f"{volts(sheet.system_volts)} squared / {ohms(value.nominal)} = {watts(power)}"
        right = f"A {part.kind} takes {least:g} to {most:g} W: measure it."
        fits = [k for k in (1e-3, 1e3) if least <= power / k <= most]
        if fits:
            true = value.nominal * fits[0]
            right = f"{ohms(true)} would take {watts(power / fits[0])}: ohm and kilo-ohm mixed?"
        line = written.line(part.name, field)
        yield Finding(_path(part, field), ohms(value.nominal), sum_, right, bool(fits), line)


def fellows(sheet: Sheet, written: Written) -> Iterator[Finding]:
    """A value a thousand times off from those of its fellows."""
    groups: dict[tuple[str, str], list[tuple[Part, Value]]] = {}
    for part in sheet.parts.values():
        for name, value in part.values.items():
            if _given(value) and value.nominal > 0:
                groups.setdefault((part.kind, name), []).append((part, value))
    for (_, name), members in groups.items():
        middle = median(v.nominal for _, v in members)
        for part, value in members if len(members) > 2 else ():
            ratio = value.nominal / middle
            if max(ratio, 1 / ratio) > FELLOWS:
                shown = format_quantity(value.nominal, value.unit)
                sum_ = f"{shown} beside {format_quantity(middle, value.unit)}, the middle of {len(members)}"
                right = f"They are {figures(10 ** abs(log10(ratio)))} to 1: a prefix (milli, kilo) was lost?"
                yield Finding(_path(part, name), shown, sum_, right, False, written.line(part.name, name))


def pulls(sheet: Sheet, written: Written) -> Iterator[Finding]:
    """Pull-up and pull-down resistors of inputs."""
    for part, pin, name, value in _pins(sheet, "pull-up", "pull-down"):
        if PULL_LEAST <= value.nominal <= PULL_MOST:
            continue
        flow = sheet.system_volts / value.nominal
        sum_ = f"{volts(sheet.system_volts)} / {ohms(value.nominal)} = {amps(flow)} into an input"
        factor = 1e3 if value.nominal < PULL_LEAST else 1e-3
        right = f"{ohms(value.nominal * factor)} is more likely: ohm and kilo-ohm mixed?"
        line = written.line(part.name, pin.name, name)
        yield Finding(f"{_path(part, pin.name)}.{name}", ohms(value.nominal), sum_, right, True, line)


def milliamps(sheet: Sheet, written: Written) -> Iterator[Finding]:
    """Limits of feeds and draws of sensors that are amperes where milliamperes were meant."""
    for part, pin, name, value in _pins(sheet, "limit"):
        if pin.role == "feed" and value.nominal > FEED_LIMIT:
            level = pin.values["volts"].nominal
            sum_ = f"{volts(level)} / {amps(value.nominal)} = {ohms(level / value.nominal)} would trip it"
            right = f"A sensor feed gives milliamperes: {amps(value.nominal / 1000)}?"
            line = written.line(part.name, pin.name, name)
            yield Finding(f"{_path(part, pin.name)}.{name}", amps(value.nominal), sum_, right, True, line)
    for part in sheet.parts.values():
        draw = part.values.get("draw")
        if draw is not None and _given(draw) and draw.nominal > SENSOR_DRAW:
            power = draw.nominal * part.values["supply"].nominal
            sum_ = (
                f"{volts(part.values['supply'].nominal)} x {amps(draw.nominal)} = {watts(power)} in a sensor"
            )
            right = f"A sensor draws milliamperes: {amps(draw.nominal / 1000)}?"
            line = written.line(part.name, "draw")
            yield Finding(_path(part, "draw"), amps(draw.nominal), sum_, right, True, line)


def lamp_power(sheet: Sheet, written: Written) -> Iterator[Finding]:
    """Watts, amperes and ohms of one lamp."""
    for part in sheet.parts.values():
        given = {n: v.nominal for n, v in part.values.items() if n in {"watts", "amps", "ohms"} and _given(v)}
        stated = {n for n in given if part.values[n].origin.note != "lit"}
        if part.kind != "lamp" or len(stated) < 2:
            continue
        u = sheet.system_volts
        powers = {"watts": given.get("watts", 0.0), "amps": u * given.get("amps", 0.0)}
        powers["ohms"] = u**2 / given["ohms"] if "ohms" in given else 0.0
        one, other = sorted(stated, key=("watts", "amps", "ohms").index)[:2]
        if not 0.75 <= powers[one] / powers[other] <= 1.33:
            sum_ = f"at {volts(u)} its {one} say {watts(powers[one])}, its {other} {watts(powers[other])}"
            line = written.line(part.name, other)
            right = "Only one of them can be so: read the bulb's cap, or measure its amperes."
            yield Finding(_path(part, other), f"{given[other]:g}", sum_, right, True, line)


def gauges(sheet: Sheet, written: Written) -> Iterator[Finding]:
    """Wire gauges written as square millimetres, wires too thin for their fuse, lengths in millimetres."""
    ratings = [p.values["rating"].nominal for p in sheet.parts.values() if p.kind == "fuse"]
    largest = max(ratings, default=0.0)
    for part in sheet.parts.values():
        size, length = part.values.get("size"), part.values.get("length")
        if part.kind != "wire" or size is None or length is None:
            continue
        carries = max((a for s, a in RATINGS.items() if s <= 1.05 * size.nominal), default=7.5)
        if (
            _given(size)
            and size.nominal in GAUGES
            and (size.nominal not in METRIC or 0 < largest < carries / 3)
        ):
            area = gauge_area(size.nominal)
            sum_ = f"AWG {size.nominal:g} is {figures(area)} mm2; the largest fuse here is {amps(largest)}"
            right = f"If the number is a gauge, write {figures(area)} mm2."
            line = written.line(part.name, "size")
            yield Finding(_path(part, "size"), f"{size.nominal:g} mm2", sum_, right, True, line)
        if _given(length) and length.nominal > LONGEST_WIRE:
            sum_ = f"{length.nominal:g} m is longer than a machine's loom"
            right = f"Millimetres or centimetres? {length.nominal / 1000:g} m is {length.nominal:g} mm."
            line = written.line(part.name, "length")
            yield Finding(_path(part, "length"), f"{length.nominal:g} m", sum_, right, False, line)
        yield from _stated_ohms(part, size, length, written)


def _stated_ohms(part: Part, size: Value, length: Value, written: Written) -> Iterator[Finding]:
    said = part.values["ohms"]
    if not (_given(size) and _given(length) and _given(said)) or "from length and size" in said.origin.note:
        return
    true = wire_ohms(length.nominal, size.nominal)
    if not 0.4 <= said.nominal / true <= 2.5:
        sum_ = f"{length.nominal:g} m of {size.nominal:g} mm2 class 5 copper have {ohms(true)}"
        right = "Correct one of the three, or take it as a fault that was measured."
        line = written.line(part.name, "ohms")
        yield Finding(_path(part, "ohms"), ohms(said.nominal), sum_, right, False, line)


def fuse_and_wire(sheet: Sheet, written: Written) -> Iterator[Finding]:
    """Wires of a run that are too thin for the fuse of the same run."""
    for run in sheet.runs.values():
        parts = [sheet.parts[i.part] for i in run.items if i.part in sheet.parts]
        rated = [p.values["rating"] for p in parts if p.kind == "fuse" and _given(p.values["rating"])]
        for part in parts if rated else ():
            size = part.values.get("size")
            if part.kind != "wire" or size is None or not _given(size):
                continue
            carries = max((a for s, a in RATINGS.items() if s <= 1.05 * size.nominal), default=7.5)
            least = min(r.nominal for r in rated)
            if least > carries:
                sum_ = f"{size.nominal:g} mm2 should stand behind no more than {amps(carries)}"
                right = f"The wire burns before {amps(least)} opens: a thicker wire or a smaller fuse."
                line = written.line(part.name, "size")
                yield Finding(_path(part, "size"), f"{size.nominal:g} mm2", sum_, right, False, line)


def thresholds(sheet: Sheet, written: Written) -> Iterator[Finding]:
    """Volts at which things work, against the volts there are."""
    for part in sheet.parts.values():
        for name in ("works above", "pull-in", "least supply"):
            value = part.values.get(name)
            if value is not None and _given(value) and value.nominal > sheet.system_volts:
                sum_ = f"{volts(value.nominal)} on a {volts(sheet.system_volts)} machine"
                right = "It would hardly work: wrong system volts, or another part's figure."
                line = written.line(part.name, name)
                yield Finding(_path(part, name), volts(value.nominal), sum_, right, True, line)
        least = part.values.get("least supply")
        if least is not None and _given(least) and not codes_met(least.nominal, sheet.system_volts):
            sum_ = f"{volts(least.nominal)} is above what any code of ISO 16750-2 asks it to bear"
            right = "A battery that cranks would stop it: is the system's volts right?"
            line = written.line(part.name, "least supply")
            yield Finding(_path(part, "least supply"), volts(least.nominal), sum_, right, False, line)
        pull, drop = part.values.get("pull-in"), part.values.get("drop-out")
        if pull and drop and drop.nominal >= pull.nominal:
            sum_ = f"lets go at {volts(drop.nominal)}, pulls in at {volts(pull.nominal)}"
            right = "A relay lets go below the volts at which it pulls in: the two are swapped?"
            line = written.line(part.name, "drop-out")
            yield Finding(_path(part, "drop-out"), volts(drop.nominal), sum_, right, True, line)
    for part in sheet.parts.values():
        level = part.values["volts"] if part.kind == "battery" else None
        if level and _given(level) and not 0.7 <= level.nominal / sheet.system_volts <= 1.3:
            sum_ = f"{volts(level.nominal)} beside a system of {volts(sheet.system_volts)}"
            line = written.line(part.name, "volts")
            yield Finding(
                _path(part, "volts"), volts(level.nominal), sum_, "Correct one of them.", True, line
            )


def supplies(sheet: Sheet, written: Written) -> Iterator[Finding]:
    """A sensor's supply range against the feed that its wire comes from."""
    for box, pin, _, feed in _pins(sheet, "volts"):
        wired = reached(sheet.runs, f"{box.name}.{pin.name}")
        for part in sheet.parts.values():
            supply = part.values.get("supply")
            if supply is None or not _given(supply) or f"{part.name}.supply" not in wired:
                continue
            low = feed.high < supply.low
            if not low and feed.low <= supply.high:
                continue
            span = f"{volts(supply.low)} to {volts(supply.high)}"
            sum_ = f"{pin.name} gives {volts(feed.nominal)}, it takes {span}"
            fate = "never wake" if low else "be overfed"
            right = f"It would {fate}: another feed, or another part's figure."
            line = written.line(part.name, "supply")
            yield Finding(_path(part, "supply"), volts(supply.nominal), sum_, right, True, line)


def band_gaps(sheet: Sheet, written: Written) -> Iterator[Finding]:
    """Bands with a crack between them, and bands that no volts of this machine reach."""
    top = most_volts(sheet.system_volts)
    for part in sheet.parts.values():
        for pin in part.pins.values():
            line = written.line(part.name, pin.name, "bands")
            where = f"{_path(part, pin.name)}.bands"
            ceiling = min(top, pin.values["pull-up volts"].high * 1.05) if _pulled_up(pin) else top
            for band in pin.bands:
                if band.low > ceiling:
                    sum_ = f"begins at {volts(band.low)}; no more than {volts(ceiling)} arrive"
                    right = "It can never be seen: volts of another system, or per cent?"
                    yield Finding(where, band.meaning, sum_, right, True, line)
            for one, other in pairwise(pin.bands):
                gap = other.low - one.high
                if 0 < gap < 0.02 * pin.bands[-1].high:
                    ends = volts(one.high), volts(other.low)
                    sum_ = f"{one.meaning} ends at {ends[0]}, {other.meaning} begins at {ends[1]}"
                    right = f"{volts(gap)} between them mean nothing: a printed slip?"
                    yield Finding(where, f"{one.meaning}, {other.meaning}", sum_, right, False, line)


def weather(sheet: Sheet, written: Written) -> Iterator[Finding]:
    """A temperature that is Fahrenheit's figure."""
    if sheet.temperature is not None and sheet.temperature.nominal > HOT:
        celsius = sheet.temperature.nominal
        meant = (celsius - 32) * 5 / 9
        sum_ = f"({celsius:g} - 32) x 5/9 = {meant:.1f} C"
        right = f"{celsius:g} C is no weather: if it was read in Fahrenheit, write {meant:.0f} C."
        line = written.section_line("temperature")
        yield Finding("temperature", written.section_text("temperature"), sum_, right, False, line)


RULES: tuple[Rule, ...] = (
    load_power,
    fellows,
    pulls,
    milliamps,
    lamp_power,
    gauges,
    fuse_and_wire,
    thresholds,
    supplies,
    band_gaps,
)


def _given(value: Value) -> bool:
    return value.origin.kind != "default"


def _path(part: Part, field: str) -> str:
    return f"parts.{part.name}.{field}"


def _pulled_up(pin: Pin) -> bool:
    # A sensor with a supply of its own may lift an input above its pull-up; a bare switch cannot.
    return "pull-up" in pin.values and "pull-down" not in pin.values and "pull-up volts" in pin.values


def _loads(sheet: Sheet) -> Iterator[tuple[Part, str, Value, float, float]]:
    for part in sheet.parts.values():
        if part.kind in POWERS:
            field, least, most = POWERS[part.kind]
            value = part.values.get(field)
            if value is not None and _given(value):
                yield part, field, value, least, most


def _pins(sheet: Sheet, *names: str) -> Iterator[tuple[Part, Pin, str, Value]]:
    for part in sheet.parts.values():
        for pin in part.pins.values():
            values: Mapping[str, Value] = pin.values
            for name in names:
                value = values.get(name)
                if value is not None and _given(value):
                    yield part, pin, name, value

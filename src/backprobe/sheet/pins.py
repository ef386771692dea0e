"""Terminals of a controller: their fields, and the bands in which it reads them."""

from __future__ import annotations

from collections.abc import Mapping as MappingOf
from dataclasses import replace
from itertools import pairwise

from backprobe.errors import UnitError
from backprobe.sheet.anatomy import Band, Value
from backprobe.sheet.document import Mapping, Node, Scalar
from backprobe.sheet.document import field as dotted
from backprobe.sheet.findings import Findings, nearest
from backprobe.sheet.kinds.controller import PIN_FIELDS
from backprobe.sheet.model import Pin
from backprobe.sheet.values import read_value
from backprobe.units import parse_quantity, parse_range

ONLY_WITH = {"pull-up volts": "pull-up", "diagnosis volts": "diagnosis pull"}
"""Fields whose default counts only where another field is written."""

BANDED = frozenset({"input", "output"})
"""Roles that are read in bands."""

LEFT_BELOW = "left below"
MEANS = "means"


def role_of_pin(name: str) -> str:
    """The role of a controller terminal: the last word of its name, or empty."""
    last = name.rsplit(maxsplit=1)[-1].lower() if name.split() else ""
    return last if last in PIN_FIELDS else ""


def default_pin(name: str, system_volts: float, line: int) -> Pin:
    """A controller terminal that is only named in a run."""
    return finish_pin(Pin(name, role_of_pin(name), line=line), {}, system_volts)


def finish_pin(pin: Pin, pins: MappingOf[str, Pin], system_volts: float) -> Pin:
    """A pin with its defaults filled in; a pull-up goes to the first feed where nothing else is said."""
    values = dict(pin.values)
    for spec in PIN_FIELDS[pin.role]:
        default = spec.default_value(system_volts)
        if spec.name in values or default is None:
            continue
        if spec.name == "pull-down" and "pull-up" in values:
            continue
        if ONLY_WITH.get(spec.name, spec.name) not in {*values, spec.name}:
            continue
        if spec.name == "pull-up volts":
            feeds = [p for p in pins.values() if p.role == "feed" and "volts" in p.values]
            default = feeds[0].values["volts"] if feeds else default
        values[spec.name] = default
    bands = tuple(sorted((_in_volts(b, values) for b in pin.bands), key=lambda b: b.low))
    return Pin(pin.name, pin.role, values, bands, pin.texts, pin.line)


def _in_volts(band: Band, values: MappingOf[str, Value]) -> Band:
    """A band of current as volts at the pin, by the best values of the resistance it flows through.

    Through a pull-up U = U0 - I R, so that the greatest current is the least volts; through a
    pull-down (a sense resistor) U = I R. A band from zero current up has no upper volts, or no
    lower ones.
    """
    if band.unit == "V":
        return band
    if "pull-up" in values:
        supply, ohms = values["pull-up volts"], values["pull-up"].nominal
        high = supply.nominal - band.low * ohms if band.low > 0 else 1.1 * supply.high
        return Band(max(0.0, supply.nominal - band.high * ohms), high, band.meaning)
    ohms = values["pull-down"].nominal
    return Band(band.low * ohms, band.high * ohms, band.meaning)


def read_pin(name: str, node: Node, path: tuple[str, ...], line: int, findings: Findings) -> Pin | None:
    """Read one terminal of a controller; what is wrong goes to `findings`."""
    role = role_of_pin(name)
    if not role:
        remedy = "End its name in battery, ground, feed, input or output, such as `gate input`."
        findings.add(dotted(*path), name, "has no role", remedy, line)
        return None
    if not isinstance(node, Mapping):
        shown = getattr(node, "text", "")
        findings.add(dotted(*path), shown, "is not a set of fields", "Write {field: value}.", node.line)
        return None
    values: dict[str, Value] = {}
    texts: dict[str, str] = {}
    bands: tuple[Band, ...] = ()
    specs = {f.name: f for f in PIN_FIELDS[role]}
    for key, entry in node.entries:
        if key.text == "bands" and role in BANDED:
            bands = _read_bands(entry, (*path, "bands"), findings)
        elif key.text in specs:
            value = read_value(entry, specs[key.text].unit, (*path, key.text), findings)
            if value:
                values[key.text] = value
        elif key.text == "side" and role == "output" and isinstance(entry, Scalar):
            if entry.text not in {"high", "low"}:
                findings.add(
                    dotted(*path, "side"), entry.text, "is no side", "Write high or low.", entry.line
                )
            texts["side"] = entry.text
        else:
            known = [*specs, *(["bands"] if role in BANDED else []), *(["side"] if role == "output" else [])]
            findings.add(
                dotted(*path, key.text),
                key.text,
                f"is not a field of {'an' if role in {'input', 'output'} else 'a'} {role}",
                nearest(key.text, known) or "Leave it out.",
                key.line,
            )
    if any(b.unit == "A" for b in bands) and not {"pull-up", "pull-down"} & set(values):
        findings.add(
            dotted(*path, "bands"),
            "mA",
            "cannot be turned into volts: the resistance that the current flows through is not written",
            "Add pull-up: 1 kohm and pull-up volts, or pull-down: the sense resistor.",
            line,
        )
        return None
    return Pin(name, role, values, bands, texts, line)


def _read_bands(node: Node, path: tuple[str, ...], findings: Findings) -> tuple[Band, ...]:
    if not isinstance(node, Mapping):
        shown, remedy = getattr(node, "text", ""), "Write {0..0.6 V: code low, ...}."
        findings.add(dotted(*path), shown, "are not bands", remedy, node.line)
        return ()
    bands: list[Band] = []
    for key, entry in node.entries:
        unit = "A" if key.text.rstrip().endswith("A") else "V"
        try:
            low, high = parse_range(key.text, unit=unit)
        except UnitError as error:
            first = error.problems[0]
            findings.add(dotted(*path, key.text), key.text, first.message, first.remedy, key.line)
            continue
        if low >= high:
            findings.add(dotted(*path, key.text), key.text, "is no range", "Write low..high V.", key.line)
            continue
        meaning, release = _meaning(entry, (*path, key.text), findings)
        if release is not None and release >= low:
            remedy = f"Write less than {low:g} {unit}, where it begins going up."
            where = dotted(*path, key.text, LEFT_BELOW)
            findings.add(where, f"{release:g} V", "is not below the band", remedy, key.line)
        falling = (release, high) if release is not None else None
        bands.append(Band(low, high, meaning, falling, unit))
    bands.sort(key=lambda b: b.low)
    if len({b.unit for b in bands}) > 1:
        findings.add(
            dotted(*path), "V and A", "are mixed", "Give all bands of one pin in V, or all in mA.", node.line
        )
    for one, other in pairwise(bands):
        if other.low < one.high:
            findings.add(
                dotted(*path),
                f"{one.meaning} and {other.meaning}",
                "overlap",
                f"End one below {other.low:g} {one.unit} or start the other at {one.high:g} {one.unit}.",
                node.line,
            )
    return _with_hysteresis(bands)


def _meaning(node: Node, path: tuple[str, ...], findings: Findings) -> tuple[str, float | None]:
    """``high``, or ``{means: high, left below: 4.2 V}``: the meaning and where it ends going down [V]."""
    if isinstance(node, Scalar):
        return node.text, None
    means = node.get(MEANS) if isinstance(node, Mapping) else None
    left = node.get(LEFT_BELOW) if isinstance(node, Mapping) else None
    if not isinstance(means, Scalar) or not isinstance(left, Scalar):
        remedy = "Write `high`, or {means: high, left below: 4.2 V}."
        findings.add(dotted(*path), "", "does not say what the band means", remedy, node.line)
        return "", None
    try:
        return means.text, parse_quantity(left.text, unit="V").value
    except UnitError as error:
        first = error.problems[0]
        findings.add(dotted(*path, LEFT_BELOW), left.text, first.message, first.remedy, left.line)
        return means.text, None


def _with_hysteresis(bands: list[Band]) -> tuple[Band, ...]:
    """Bands in order; one below a band that is left late ends, going down, where that one is left."""
    done: list[Band] = []
    for i, band in enumerate(bands):
        above = bands[i + 1] if i + 1 < len(bands) else None
        if above is not None and above.falling is not None and above.falling[0] < band.high:
            low = band.falling[0] if band.falling else band.low
            done.append(replace(band, falling=(low, above.falling[0])))
        else:
            done.append(band)
    return tuple(done)

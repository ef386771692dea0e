"""How warm the circuit is: a sheet's or a part's temperature moves what is made of copper."""

from __future__ import annotations

from collections.abc import Mapping as MappingOf
from dataclasses import replace

from backprobe.errors import Problem, UnitError
from backprobe.sheet.anatomy import Origin, Value
from backprobe.sheet.cold_battery import cooled
from backprobe.sheet.copper import COLDEST, CONVENTIONS, HOTTEST, REFERENCE, copper_ratio
from backprobe.sheet.document import Node, Scalar, field
from backprobe.sheet.findings import Findings
from backprobe.sheet.kinds import registry
from backprobe.sheet.model import Part
from backprobe.units import parse_toleranced

STATED_WIDTH = 3.0
"""What a temperature written without a width may be off by [K]; common practice, no source."""
USUAL = Value(REFERENCE, 5.0, 35.0, "degC", Origin("default", "not stated: a mild day, nothing run hot"))
"""The circuit's temperature where a sheet says none."""
REMEDY = "Write degrees Celsius, such as -12 C, -12 C +-2 C or -20..-5 C."


def parse_temperature(text: str) -> Value:
    """Read ``-12 C``, ``-12 C +-2 C`` or ``-20..-5 C``.

    Raises
    ------
    UnitError
        When it is no temperature that a machine meets.
    """
    try:
        found = parse_toleranced(text, unit="degC")
    except UnitError as error:
        first = error.problems[0]
        raise UnitError(Problem("temperature", first.value, first.message, REMEDY)) from None
    width = 0.0 if found.given else STATED_WIDTH
    low, high = found.low - width, found.high + width
    if low < COLDEST or high > HOTTEST:
        raise UnitError(Problem("temperature", text, f"is not {COLDEST:g} C to {HOTTEST:g} C", REMEDY))
    return Value(found.value, low, high, "degC", Origin("assumed", "as written"))


def read_temperature(
    node: Node | None, findings: Findings, path: tuple[str, ...] = ("temperature",)
) -> Value | None:
    """A sheet's or a part's temperature; None when it says none or when it is wrong (then reported)."""
    if node is None:
        return None
    text = node.text if isinstance(node, Scalar) else ""
    try:
        return parse_temperature(text)
    except UnitError as error:
        findings.add(field(*path), text, error.problems[0].message, REMEDY, node.line)
        return None


def warmed(parts: MappingOf[str, Part], temperature: Value | None, system_volts: float) -> dict[str, Part]:
    """The parts with their copper and the battery at the circuit's temperature, or at their own.

    A value belongs to the temperature it was given at (`Value.at`), else to 20 C. Where neither the sheet,
    nor the part, nor the value says a temperature, nothing moves: a tolerance covers a mild day.
    """
    return {
        name: _warmed(part, part.temperature or temperature, system_volts) for name, part in parts.items()
    }


def moved(value: Value, temperature: Value) -> Value:
    """A copper resistance moved to a temperature, its width grown by that of the temperature [ohm]."""
    own = REFERENCE if value.at is None else value.at
    ratios = [copper_ratio(own, t) for t in (temperature.low, temperature.nominal, temperature.high)]
    note = f"{value.origin.note}; copper from {own:g} C to {temperature.nominal:g} C"
    note += f" ({CONVENTIONS['alpha'].name})"
    low, nominal, high = (r * x for r, x in zip(ratios, (value.low, value.nominal, value.high), strict=True))
    return Value(nominal, low, high, value.unit, Origin(value.origin.kind, note.removeprefix("; ")), value.at)


def _warmed(part: Part, temperature: Value | None, system_volts: float) -> Part:
    kind = registry().by_name[part.kind]
    values = dict(part.values)
    for spec in kind.fields:
        value = values.get(spec.name)
        if not spec.copper or value is None:
            continue
        # The default temperature counts only for a value that says it belongs to another.
        at = temperature or (USUAL if value.at is not None else None)
        if at is not None:
            values[spec.name] = moved(value, at)
    if part.kind == "battery" and temperature is not None:
        values = cooled(values, temperature, system_volts)
    return replace(part, values=values)

"""Values, tolerances and origins as written in a sheet."""

from __future__ import annotations

from dataclasses import replace

from backprobe.errors import Problem, UnitError
from backprobe.sheet.anatomy import Origin, Origins, Value
from backprobe.sheet.copper import copper_ratio
from backprobe.sheet.document import Mapping, Node, Scalar, field
from backprobe.sheet.findings import Findings, nearest
from backprobe.units import Toleranced, parse_quantity, parse_range, parse_toleranced

VALUE_KEYS = ("value", "range", "tolerance", "origin", "title", "why", "on", "with", "count", "note", "at")
DEFAULT_TOLERANCE = {"V": 0.03, "ohm": 0.1, "A": 0.1, "%": 0.04, "W": 0.1, "m": 0.25, "mm2": 0.05}
"""What a value written without a tolerance may be off by; common practice, no source."""


def with_default_tolerance(found: Toleranced, origin: Origin) -> Value:
    """A value whose tolerance, where none was written, is the usual one for its unit [unit]."""
    low, high = found.low, found.high
    if not found.given:
        share = DEFAULT_TOLERANCE.get(found.unit, 0.05)
        low, high = found.value * (1 - share), found.value * (1 + share)
        low, high = min(low, high), max(low, high)
    return Value(found.value, low, high, found.unit, origin)


def read_value(  # noqa: PLR0911 - each refusal returns on its own
    node: Node, unit: str, path: tuple[str, ...], findings: Findings, *, copper: bool = False
) -> Value | None:
    """Read ``9.0 V +-2 %`` or ``{value: 9.0 V, range: 4.5..12 V, origin: published, title: ...}``.

    Resistance of copper may say the temperature it belongs to: ``{range: 8.4..9.7 ohm, at: 25 C}``.
    Reports what is wrong to `findings` and returns None then.
    """
    if isinstance(node, Scalar):
        found = _toleranced(node, unit, path, findings)
        return with_default_tolerance(found, Origin("assumed", "as written")) if found else None
    if not isinstance(node, Mapping):
        findings.add(
            field(*path), "a list", "is not a value", f"Write one value with unit {unit}.", node.line
        )
        return None
    texts = _texts(node, path, findings)
    if texts is None:
        return None
    main = texts.get("value") or texts.get("range")
    if main is None:
        findings.add(field(*path), "", "has no value", "Add `value:` or `range:`.", node.line)
        return None
    found = _toleranced(main, unit, path, findings)
    if found is None:
        return None
    value = with_default_tolerance(found, _origin(texts, path, findings))
    if "range" in texts and "value" in texts:
        limited = _limited(value, texts["range"], main.text, path, findings)
        if limited is None:
            return None
        value = limited
    if "at" in texts:
        at = _at(texts["at"], (*path, "at"), findings, copper=copper)
        if at is None:
            return None
        value = replace(value, at=at)
    if unit == "ohm" and value.low <= 0:
        findings.add(
            field(*path), main.text, "is not a resistance above zero", "Write at least 1 mohm.", main.line
        )
        return None
    return value


def _texts(node: Mapping, path: tuple[str, ...], findings: Findings) -> dict[str, Scalar] | None:
    """The known keys with their plain texts; None when something else stands there."""
    good = True
    for key, entry in node.entries:
        if key.text not in VALUE_KEYS:
            remedy = nearest(key.text, VALUE_KEYS)
            findings.add(field(*path, key.text), key.text, "is not known here", remedy, key.line)
            good = False
        elif not isinstance(entry, Scalar):
            findings.add(
                field(*path, key.text), key.text, "is not a plain text", "Write one value.", key.line
            )
            good = False
    return {k.text: v for k, v in node.entries if isinstance(v, Scalar)} if good else None


def _limited(
    value: Value, limits: Scalar, written: str, path: tuple[str, ...], findings: Findings
) -> Value | None:
    """The value between the limits that stand beside it."""
    try:
        low, high = parse_range(limits.text, unit=value.unit)
    except UnitError as error:
        _report(error, limits, (*path, "range"), findings)
        return None
    if not low <= value.nominal <= high:
        findings.add(
            field(*path, "range"),
            limits.text,
            "does not contain the value",
            f"Give a range around {written}.",
            limits.line,
        )
        return None
    return replace(value, low=low, high=high)


def _at(node: Scalar, path: tuple[str, ...], findings: Findings, *, copper: bool) -> float | None:
    """The temperature that a value belongs to [degC]; only copper moves with it."""
    if not copper:
        remedy = "Leave it out; ohms of coils, relay coils and wires may have it."
        findings.add(field(*path), node.text, "moves only what is copper", remedy, node.line)
        return None
    try:
        celsius = parse_quantity(node.text, unit="degC").value
        copper_ratio(celsius, celsius)
    except UnitError as error:
        _report(error, node, path, findings)
        return None
    return celsius


def _origin(texts: dict[str, Scalar], path: tuple[str, ...], findings: Findings) -> Origin:
    kind = texts.get("origin")
    if kind is not None and kind.text not in Origins:
        remedy = nearest(kind.text, Origins)
        findings.add(field(*path, "origin"), kind.text, "is not an origin", remedy, kind.line)
    notes = [
        f"{word} {texts[word].text}" if word in {"on", "with"} else texts[word].text
        for word in ("title", "why", "on", "with", "note")
        if word in texts
    ]
    if "count" in texts:
        notes.append(f"{texts['count'].text} times")
    return Origin(kind.text if kind else "assumed", ", ".join(notes) or "as written")


def _toleranced(node: Scalar, unit: str, path: tuple[str, ...], findings: Findings) -> Toleranced | None:
    try:
        found = parse_toleranced(node.text, unit=unit)
    except UnitError as error:
        _report(error, node, path, findings)
        return None
    if unit == "ohm" and found.low <= 0:
        findings.add(
            field(*path), node.text, "is not a resistance above zero", "Write at least 1 mohm.", node.line
        )
        return None
    return found


def _report(error: UnitError, node: Scalar, path: tuple[str, ...], findings: Findings) -> None:
    first: Problem = error.problems[0]
    findings.add(field(*path), first.value or node.text, first.message, first.remedy, node.line)

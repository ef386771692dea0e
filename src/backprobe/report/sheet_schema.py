"""The JSON Schema of sheet files, generated from the field tables of the kinds of parts."""

from __future__ import annotations

from backprobe.report.layout import quantity, span
from backprobe.report.schema_words import TEXT, Schema, every, many, one_of, said, titled
from backprobe.sheet.alternatives import ONE_OF, SHARES
from backprobe.sheet.anatomy import Origins
from backprobe.sheet.functions import FIELDS as FUNCTION_FIELDS
from backprobe.sheet.kind import CLOSED, LEVELS, FieldSpec, Kind
from backprobe.sheet.kind import TEXT as WORDS
from backprobe.sheet.kinds import registry
from backprobe.sheet.kinds.controller import PIN_FIELDS
from backprobe.sheet.latches import FIELDS as LATCH_FIELDS
from backprobe.sheet.pins import LEFT_BELOW, MEANS
from backprobe.sheet.reader import SECTIONS
from backprobe.sheet.values import VALUE_KEYS

HIDDEN = frozenset({"contact", "connector"})
"""Kinds that runs imply and nobody writes."""
SCALAR: Schema = {"type": ["string", "number", "boolean"]}
REF = "#/$defs/"


def sheet_schema() -> Schema:
    """JSON Schema (2020-12) of a sheet file, read as YAML or JSON."""
    sections: dict[str, Schema] = {
        "sheet": said(TEXT, "machine, circuit, build"),
        "system": said(TEXT, "nominal volts, such as 12 V or 24 V"),
        "temperature": said(TEXT, "how warm the circuit is, such as -12 C or -20..-5 C"),
        "controls": said(
            every({**many(SCALAR), "minItems": 2, "uniqueItems": True}),
            "operator controls and their positions, the one at rest first",
        ),
        "bodies": said(many(TEXT), "metal bodies beside the frame, each a point: engine, cab, boom"),
        "runs": said(
            {**every({**many(SCALAR), "minItems": 2}), "minProperties": 1},
            "what the current meets, in order, from source to return",
        ),
        "connectors": every(_closed_object({"part": TEXT, "minutes": SCALAR, "caution": TEXT})),
        "parts": every(_part()),
        "latches": every(_closed_object({name: _latch_field(name) for name in LATCH_FIELDS})),
        "functions": every(_closed_object({name: _function_field(name) for name in FUNCTION_FIELDS})),
        "lamps": said(every(every(TEXT)), "lamp: pattern: the rule under which it shows"),
        "cautions": many(TEXT),
        "notes": many(TEXT),
    }
    return titled(
        "Sheet of one circuit",
        {
            "type": "object",
            "properties": {name: sections[name] for name in SECTIONS},
            "required": ["sheet", "runs"],
            "additionalProperties": False,
            "$defs": {
                "value": _value(),
                **{f"{role} pin": _pin(role) for role in PIN_FIELDS},
                **{kind.name: _kind(kind) for kind in _kinds()},
            },
        },
    )


def _kinds() -> list[Kind]:
    return [k for k in registry().by_name.values() if k.name not in HIDDEN]


def _closed_object(properties: dict[str, Schema]) -> Schema:
    return {"type": "object", "properties": properties, "additionalProperties": False}


def _value() -> Schema:
    entry = _closed_object({key: SCALAR for key in VALUE_KEYS} | {"origin": one_of(*Origins)})
    written = said(SCALAR, "such as 9.0 V +-2 %, 4.5..12 V, 4k7, about 6 V; or 5, 8 or 10 V")
    some = {"anyOf": [SCALAR, {**many(SCALAR), "minItems": 2}]}
    entry["properties"] |= {
        ONE_OF: said(some, "values that it may be, each a build of its own"),
        SHARES: said(many(SCALAR), "how likely each is; only ratios matter"),
    }
    stated: list[Schema] = [{"required": [key]} for key in ("value", "range", ONE_OF)]
    return {"anyOf": [written, {**entry, "anyOf": stated}]}


def _part() -> Schema:
    words = sorted({w for kind in _kinds() for w in (kind.name, *kind.words)})
    return {
        "type": "object",
        "properties": {"kind": said(one_of(*words), "may be left out where the name says it")},
        "allOf": [
            {
                "if": {"properties": {"kind": one_of(kind.name, *kind.words)}, "required": ["kind"]},
                "then": {"$ref": REF + kind.name},
            }
            for kind in _kinds()
        ],
    }


def _kind(kind: Kind) -> Schema:
    properties: dict[str, Schema] = {
        "kind": one_of(kind.name, *kind.words),
        "minutes": said(SCALAR, "to reach it [min]"),
        "caution": TEXT,
    }
    if any(f.copper for f in kind.fields):
        properties["temperature"] = said(TEXT, "its own, where it differs from the circuit's")
    properties |= {f.name: _field(f) for f in kind.fields}
    schema = said(_closed_object(properties), kind.about)
    if kind.name == "controller":
        # A pin's role is the last word of its name.
        schema["patternProperties"] = {rf"(^|\s){role}$": {"$ref": f"{REF}{role} pin"} for role in PIN_FIELDS}
    return schema


def _pin(role: str) -> Schema:
    properties = {f.name: _field(f) for f in PIN_FIELDS[role]}
    if role == "input":
        properties["bands"] = said(
            every(_band()), "volts, or shares of the feed, to what they are taken to mean: 0.6..3.1 V: open"
        )
    if role == "output":
        properties["bands"] = said(every(_band()), "volts while it is off, and what they are taken to mean")
        properties["side"] = one_of("high", "low")
    return _closed_object(properties)


def _band() -> Schema:
    """What a band means; with hysteresis also below what it is left."""
    return {"anyOf": [TEXT, _closed_object({MEANS: TEXT, LEFT_BELOW: TEXT})]}


def _field(field: FieldSpec) -> Schema:
    if field.shape == WORDS:
        return one_of(*field.choices) if field.choices else dict(TEXT)
    if field.shape == CLOSED:
        return said(every({"anyOf": [SCALAR, many(SCALAR)]}), "control: position or positions")
    value: Schema = {"$ref": REF + "value"}
    if field.shape == LEVELS:
        return said(every(value), "operator state to level, such as gate shut: 63 %")
    return said(value, _about(field))


def _about(field: FieldSpec) -> str:
    words = [f"unit {field.unit}"]
    if field.default:
        nominal, low, high = field.default
        scaled = " for 12 V" if field.scales else ""
        words.append(
            f"default {quantity(nominal, field.unit)} ({span(low, high, field.unit)}){scaled}: {field.why}"
        )
    return "; ".join([*words, *([field.matters] if field.matters else [])])


def _latch_field(name: str) -> Schema:
    if name == "set by":
        states = said(TEXT, "what the operator does, such as operate button pressed")
        return {"anyOf": [states, many(TEXT)]}
    return said(TEXT, "a rule, such as: operate button is pressed and seat input is seated")


def _function_field(name: str) -> Schema:
    if name in {"drives", "loads"}:
        return {"anyOf": [TEXT, many(TEXT)]}
    return said(TEXT, "a rule, such as: gate input is shut and boom button is pressed")

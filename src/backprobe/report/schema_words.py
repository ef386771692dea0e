"""Words to write a JSON Schema with, so that each schema reads like the data it describes."""

from __future__ import annotations

from typing import Any, TypeAlias

Schema: TypeAlias = dict[str, Any]

TEXT: Schema = {"type": "string"}
WHOLE: Schema = {"type": "integer"}
YES_NO: Schema = {"type": "boolean"}
NUMBER: Schema = {"type": "number"}
MAYBE_NUMBER: Schema = {"type": ["number", "null"]}
PROBABILITY: Schema = {"type": "number", "minimum": 0, "maximum": 1}


def said(schema: Schema, description: str) -> Schema:
    """A schema with a description."""
    return {**schema, "description": description}


def of(**properties: Schema) -> Schema:
    """An object that has exactly these keys."""
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def every(values: Schema) -> Schema:
    """An object of any names whose values are all alike."""
    return {"type": "object", "additionalProperties": values}


def many(items: Schema) -> Schema:
    """A list."""
    return {"type": "array", "items": items}


def maybe(schema: Schema) -> Schema:
    """The thing or null."""
    return {"anyOf": [schema, {"type": "null"}]}


def one_of(*words: str) -> Schema:
    """One of these words."""
    return {"type": "string", "enum": list(words)}


def titled(title: str, schema: Schema) -> Schema:
    """A whole document's schema."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title, **schema}

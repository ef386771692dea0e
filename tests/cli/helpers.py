"""Runs the command in process, on an invented sheet, and checks what it prints."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from backprobe.cli.main import app

SKETCH = "battery+ > fuse F2 7.5 A > key > C4-1 > bar switch > C4-2 > relay coil K3 92 ohm > frame"
SHEET = """\
sheet: Orchard mast lift, gate circuit
system: 12 V
controls: {key: [off, on], gate: [open, shut], lever: [rest, raise]}
runs:
  power:  [battery+, fuse F1 10 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, wire 1.1 m 2.5 mm2 BK, ring G1, frame, strap, battery-]
  sense:  [controller.feed, C2-1, gate switch, C2-2, controller.gate input]
  valve:  [controller.lift output, C3-1, coil Y2 9.1 ohm, C3-2, ring G2, frame]
connectors:
  C2: {part: gate switch, minutes: 2, caution: Keep clear of the mast chain.}
parts:
  controller:
    feed: {volts: {value: 5.0 V, range: 4.9..5.1 V, origin: measured, on: 2026-05-11}, limit: 80 mA}
    gate input: {pull-down: 22 kohm, bands: {0..1 V: open, 3.5..5.5 V: shut}}
functions:
  lift: {releases when: gate input is shut and lever is raise, drives: lift output, guard: gate is shut}
lamps:
  gate lamp: {lit: gate input is open}
cautions: [Mast down on its rest before the gate circuit is worked on.]
"""
READINGS = """\
state: key on, gate shut, lever raise, all plugged
lift dead
battery+ to battery-: 12.5 V
C2-1 to battery-: 4.98 V   # the feed is there
C2-2 to battery-: 0.01 V
"""
ALL = "key on, gate shut, lever raise, all plugged"


def run(*args: str, stdin: str | None = None, env: Mapping[str, str] | None = None) -> Result:
    """Run the command; an exception that leaves it is a failure of the test."""
    result = CliRunner().invoke(app, list(args), input=stdin, env=env)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def run_json(*args: str, stdin: str | None = None, env: Mapping[str, str] | None = None) -> Any:
    """Run the command with ``--json`` and return the document."""
    result = run(*args, "--json", stdin=stdin, env=env)
    assert result.exit_code in {0, 1}, result.stderr
    return json.loads(result.stdout)


def put(folder: Path, name: str, text: str) -> str:
    """Write a file and return its path as one would type it."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def misfits(data: object, schema: Mapping[str, Any], path: str = "$") -> list[str]:
    """Where a document differs from a JSON Schema, for the words of Schema that ours use."""
    if "anyOf" in schema:
        found = [misfits(data, s, path) for s in schema["anyOf"]]
        return [] if [] in found else found[0]
    kinds = schema.get("type", [])
    kinds = kinds if isinstance(kinds, list) else [kinds]
    if kinds and not any(_is(data, kind) for kind in kinds):
        return [f"{path}: {data!r} is not {' or '.join(kinds)}"]
    wrong = [f"{path}: {data!r} is not one of {schema['enum']}"] if _outside(data, schema) else []
    if isinstance(data, dict):
        wrong += _object(data, schema, path)
    elif isinstance(data, list):
        wrong += [w for i, item in enumerate(data) for w in misfits(item, schema["items"], f"{path}[{i}]")]
    elif isinstance(data, int | float) and not isinstance(data, bool):
        low, high = schema.get("minimum", data), schema.get("maximum", data)
        wrong += [] if low - 1e-9 <= data <= high + 1e-9 else [f"{path}: {data} is out of range"]
    return wrong


def _outside(data: object, schema: Mapping[str, Any]) -> bool:
    return "enum" in schema and data not in schema["enum"]


def _object(data: Mapping[str, object], schema: Mapping[str, Any], path: str) -> list[str]:
    known = schema.get("properties", {})
    extra = schema.get("additionalProperties")
    wrong = [f"{path}: {key} is missing" for key in schema.get("required", ()) if key not in data]
    for key, value in data.items():
        if key in known:
            wrong += misfits(value, known[key], f"{path}.{key}")
        elif isinstance(extra, dict):
            wrong += misfits(value, extra, f"{path}.{key}")
        else:
            wrong.append(f"{path}: {key} is not in the schema")
    return wrong


def _is(data: object, kind: str) -> bool:
    if kind == "boolean" or isinstance(data, bool):
        return isinstance(data, bool) and kind == "boolean"
    types: dict[str, tuple[type, ...]] = {
        "string": (str,),
        "integer": (int,),
        "number": (int, float),
        "null": (type(None),),
        "object": (dict,),
        "array": (list,),
    }
    return isinstance(data, types[kind])


def too_wide(text: str) -> Sequence[str]:
    """Lines that do not fit a terminal of 80 columns; commands to copy and sheet text may not be cut."""
    return [
        line
        for line in text.splitlines()
        if len(line) > 80 and " backprobe " not in line and not line.startswith("runs:")
    ]

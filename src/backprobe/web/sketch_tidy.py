"""What a sheet says of a part that was taken out of its run: its fields, its plug, its share of a guard."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from backprobe.sheet.lexicon import bare
from backprobe.sheet.run_text import canonical_cavity


def without_part(data: dict[str, Any], item: str, left: Iterable[str]) -> dict[str, Any]:
    """A sheet's data without what it says of a thing that no run meets any more.

    Parameters
    ----------
    item
        As the run said it.
    left
        Things that the runs still meet.
    """
    rest = list(left)
    if cavity := canonical_cavity(item):
        return _without_plug(data, cavity.rpartition("-")[0], rest)
    name = bare(item)
    parts = dict(data["parts"]) if isinstance(data.get("parts"), dict) else {}
    if name not in parts or any(bare(thing) == name for thing in rest):
        return data
    said = parts.pop(name)
    closed = said.get("closed", {}) if isinstance(said, dict) else {}
    controls = list(closed) if isinstance(closed, dict) else []
    whole = {key: _freed(key, value, name, controls) for key, value in data.items()} | {"parts": parts}
    return {key: value for key, value in whole.items() if value or key != "parts"}


def _without_plug(data: dict[str, Any], plug: str, left: list[str]) -> dict[str, Any]:
    """The data without a plug of which no run meets a cavity any more."""
    plugs = data.get("connectors")
    met = {cavity.rpartition("-")[0] for thing in left if (cavity := canonical_cavity(thing))}
    if not isinstance(plugs, dict) or plug in met or plug not in plugs:
        return data
    kept = {name: fields for name, fields in plugs.items() if name != plug}
    return {k: kept if k == "connectors" else v for k, v in data.items() if kept or k != "connectors"}


def _freed(section: str, value: Any, name: str, controls: list[str]) -> Any:
    if section == "connectors" and isinstance(value, dict):
        return {plug: _without_owner(fields, name) for plug, fields in value.items()}
    if section == "functions" and isinstance(value, dict):
        return {function: _without_guard(fields, controls) for function, fields in value.items()}
    return value


def _without_owner(fields: Any, name: str) -> Any:
    if not isinstance(fields, dict) or fields.get("part") != name:
        return fields
    return {key: value for key, value in fields.items() if key != "part"}


def _without_guard(fields: Any, controls: list[str]) -> Any:
    """A function whose guard asks no more for a control that no switch of it follows."""
    if not isinstance(fields, dict) or not re.fullmatch(r"[^()]*", str(fields.get("guard", "("))):
        return fields
    terms = re.split(r"\s+and\s+", str(fields["guard"]))
    kept = [t for t in terms if t.partition(" is ")[0].strip() not in controls]
    guard = {"guard": " and ".join(kept)} if kept else {}
    return {key: value for key, value in fields.items() if key != "guard"} | guard

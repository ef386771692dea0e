"""Lamps drawn in a run and lit by a controller: their patterns' rules drive the output that feeds them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from backprobe.sheet.kinds import registry
from backprobe.sheet.model import Function, Sheet


def with_driven_lamps(sheet: Sheet) -> Sheet:
    """The sheet with every drawn lamp of its `lamps` section driven by the output on its run.

    The output is on while any pattern of the lamp shows: flashing, a circuit is judged by its lit moments. A
    function that drives the output already keeps its own rule.
    """
    lamps, functions = dict(sheet.lamps), dict(sheet.functions)
    for name, patterns in sheet.lamps.items():
        part = _part_called(name, sheet)
        if part is None:
            continue
        del lamps[name]
        lamps[part] = patterns
        driven = {output for f in functions.values() for output in f.drives}
        outputs = tuple(o for o in _outputs_of(part, sheet) if o not in driven)
        function = functions.get(part)
        if outputs and patterns and function is not None and function.implied:
            rule = " or ".join(f"({rule})" for _, rule in patterns)
            functions[part] = replace(function, releases=rule, drives=outputs)
    return replace(sheet, lamps=lamps, functions=functions)


def is_driven(lamp: str, functions: Mapping[str, Function]) -> bool:
    """Whether a controller output feeds this lamp."""
    return any(f.drives and lamp in f.loads for f in functions.values())


def _part_called(name: str, sheet: Sheet) -> str | None:
    wanted = name.lower()
    for part in sheet.parts.values():
        if registry().by_name[part.kind].load and wanted in {
            part.name.lower(),
            part.name.split()[-1].lower(),
        }:
            return part.name
    return None


def _outputs_of(part: str, sheet: Sheet) -> list[str]:
    """Controller outputs on the runs that pass a part."""
    found: list[str] = []
    for run in sheet.runs.values():
        if not any(i.part == part and i.role == "part" for i in run.items):
            continue
        for item in run.items:
            owner = sheet.parts.get(item.part)
            pin = owner.pins.get(item.enter.partition(".")[2]) if owner else None
            if pin is not None and pin.role == "output":
                found.append(pin.name)
    return found

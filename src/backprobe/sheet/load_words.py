"""A function in the words of the run that its load stands in: ``clutch coil Y1``, not ``coil Y1``."""

from __future__ import annotations

import re

from backprobe.sheet.model import Sheet

_VALUE = re.compile(r"\s(?=\d)")


def load_words(name: str, sheet: Sheet) -> str:
    """What a function is called for people: as its load was typed or tapped, without its values.

    Parameters
    ----------
    name
        Of a function of the sheet.
    """
    function = sheet.functions.get(name)
    if function is None or not function.implied:
        return name
    for run in sheet.runs.values():
        for item in run.items:
            said = _VALUE.split(item.text)[0]
            # A relay is dead, not its coil; and a shorter word for it says less.
            if item.part == name and sheet.parts[name].kind != "relay" and said.endswith(f" {name}"):
                return name if said[0].isdigit() else said
    return name

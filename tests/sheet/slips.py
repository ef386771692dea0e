"""Slips in the sheet of `test_reader`, each with the one problem that it must give."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Slip:
    """One place written otherwise, and where and how the reader must complain."""

    old: str
    new: str
    line: int
    field: str
    value: str
    message: str
    remedy: str


SLIPS = [
    Slip("12 V\n", "1e3\n", 2, "system", "1e3", "exponent", "12 V or 24 V"),
    Slip("12 V\n", "96 V\n", 2, "system", "96 V", "above 60 V", "licensed trades"),
    Slip("12 V\n", "12 V\nsystem: 24 V\n", 3, "system", "system", "lines 2 and 3", "one of them"),
    Slip("12 V\n", "&volts 12 V\n", 2, "system", "&volts", "anchor", "Write the values out"),
    Slip("  power:", "\tpower:", 8, "", "power:", "tab", "spaces"),
    Slip("limit: 60 mA", "limit: 60 V", 20, "parts.controller.feed.limit", "60 V", "current (A)", "A"),
    Slip("47 kohm", "47 kV", 21, "parts.controller.gate input.pull-down", "47 kV", "resistance (ohm)", "ohm"),
    Slip("47 kohm", "47e3", 21, "parts.controller.gate input.pull-down", "47e3", "exponent", "prefix"),
    Slip("47 kohm", "0 ohm", 21, "parts.controller.gate input.pull-down", "0 ohm", "above zero", "1 mohm"),
    Slip("coil Y2 8.8 ohm", "coil Y2 8e3 ohm", 13, "runs.valve.item 3", "8e3", "exponent", "prefix"),
    Slip("coil Y2 8.8 ohm", "coil Y2 8.8 A", 13, "parts.coil Y2", "8.8 A", "does not fit a coil", "ohm"),
    Slip(
        "C3-1, coil",
        "C3-1, gadget, coil",
        13,
        "runs.valve",
        "gadget",
        "neither a point nor a known part",
        "parts",
    ),
    Slip(
        "[gate sensor.output",
        "[gate sensor.outptu",
        11,
        "runs.signal",
        "gate sensor.outptu",
        "terminal",
        "output",
    ),
    Slip(
        "[gate sensor.output",
        "[gate senser.output",
        11,
        "runs.signal",
        "gate senser.output",
        "neither",
        "gate sensor",
    ),
    Slip(
        "parts:\n",
        "parts:\n  lamp H1: {watts: 5 W}\n",
        15,
        "parts.lamp H1",
        "lamp H1",
        "on no run",
        "remove it",
    ),
    Slip(
        "60 mA}",
        "60 mA, limitt: 1 A}",
        20,
        "parts.controller.feed.limitt",
        "limitt",
        "not a field",
        "'limit'",
    ),
    Slip(
        "    supply:",
        "    suply: 9 V\n    supply:",
        18,
        "parts.gate sensor.suply",
        "suply",
        "not a field",
        "'supply'",
    ),
    Slip(
        "0.7..3.1 V: open",
        "0.5..3.1 V: open",
        21,
        "parts.controller.gate input.bands",
        "code low and open",
        "overlap",
        "0.5 V",
    ),
    Slip(
        "0.7..3.1 V: open",
        "3.1..0.7 V: open",
        21,
        "parts.controller.gate input.bands.3.1..0.7 V",
        "3.1..0.7 V",
        "low to high",
        "smaller",
    ),
    Slip(
        "gate shut: 64 %",
        "gate shutt: 64 %",
        17,
        "parts.gate sensor.output.gate shutt",
        "gate shutt",
        "operator state",
        "gate shut",
    ),
    Slip(
        "gate shut: 64 %",
        "gate shut: 164 %",
        17,
        "parts.gate sensor.output.gate shut",
        "164 %",
        "share",
        "100 %",
    ),
    Slip(
        "arm is pressed", "arm is presed", 23, "functions.tipper.releases when", "presed", "can be", "pressed"
    ),
    Slip(
        "arm is pressed",
        "lever is pressed",
        23,
        "functions.tipper.releases when",
        "lever",
        "neither",
        "Use one of",
    ),
    Slip(
        "is shut and arm",
        "is shut and and arm",
        23,
        "functions.tipper.releases when",
        "gate input is shut and and arm is pressed",
        "cannot be read",
        "Write such as",
    ),
    Slip(
        "guard: gate is shut",
        "guard: (gate is shut",
        23,
        "functions.tipper.guard",
        "(gate is shut",
        "bracket",
        "Write such as",
    ),
    Slip(
        "drives: valve output",
        "drives: pump output",
        23,
        "functions.tipper.drives",
        "pump output",
        "not a controller output",
        "valve output",
    ),
    Slip(
        "origin: published",
        "origin: publisht",
        18,
        "parts.gate sensor.supply.origin",
        "publisht",
        "not an origin",
        "published",
    ),
    Slip(
        "range: 4.5..14 V",
        "range: 10..14 V",
        18,
        "parts.gate sensor.supply.range",
        "10..14 V",
        "does not contain",
        "9.0 V",
    ),
    Slip("gate: [shut, open]", "gate: [shut]", 5, "controls.gate", "shut", "two or more", "at rest first"),
    Slip(
        "gate: [shut, open]",
        "gate: [shut, shut]",
        5,
        "controls.gate",
        "shut, shut",
        "different",
        "at rest first",
    ),
    Slip(
        "kind: ratiometric sensor",
        "kind: ratiometric senser",
        16,
        "parts.gate sensor.kind",
        "ratiometric senser",
        "not a kind",
        "ratiometric sensor",
    ),
    Slip("functions:", "function:", 22, "function", "function", "not a section", "functions"),
    Slip("sheet: Vine tipper, gate circuit", "sheet:", 1, "sheet", "", "no name", "sheet:"),
]

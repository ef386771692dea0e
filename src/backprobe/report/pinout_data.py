"""Pin-outs as plain JSON values, and the schema of them."""

from __future__ import annotations

from dataclasses import asdict

from backprobe.report.data import Object, number
from backprobe.report.schema_words import (
    MAYBE_NUMBER,
    NUMBER,
    PROBABILITY,
    TEXT,
    YES_NO,
    every,
    many,
    of,
    one_of,
    said,
    titled,
)
from backprobe.workbench.pinout import PinOut
from backprobe.workbench.pinout_families import ROLES
from backprobe.workbench.pinout_part import TERMINALS, PartPins


def pinout_data(found: PinOut, sheet: str) -> Object:
    """Three pins of a machine."""
    return {
        "side": "machine",
        "pins": list(found.pins),
        "readings": [r.text for r in found.readings],
        "assignments": [_assigned(p, share, ROLES) for p, share in found.assignments],
        "kinds": {role: _named(rows) for role, rows in found.kinds.items()},
        "sources": [{**asdict(s), "ohms_high": number(s.ohms_high), "role": s.role} for s in found.sources],
        "level": found.level,
        "none_of_these": found.none_of_these,
        "found": found.found,
        "missing": [asdict(m) for m in found.missing],
        "bench": None,
        "sheet": sheet,
    }


def part_data(found: PartPins) -> Object:
    """Three pins of a sensor."""
    return {
        "side": "part",
        "pins": list(found.pins),
        "readings": [r.text for r in found.readings],
        "assignments": [_assigned(p, share, TERMINALS) for p, share in found.assignments],
        "kinds": {"sensor": _named(found.kinds)},
        "sources": [],
        "level": "",
        "none_of_these": 0.0,
        "found": found.found,
        "missing": [{"words": w, "bits": b, "caution": ""} for w, b in found.missing],
        "bench": {"volts": found.volts, "ohms": found.ohms, "amps": found.amps},
        "sheet": "",
    }


def _assigned(pins: tuple[str, ...], share: float, roles: tuple[str, ...]) -> Object:
    return {"pins": dict(zip(roles, pins, strict=True)), "probability": min(share, 1.0)}


def _named(rows: tuple[tuple[str, float], ...]) -> list[Object]:
    return [{"name": name, "probability": min(share, 1.0)} for name, share in rows]


PINOUT = titled(
    "Which of three pins is which",
    of(
        side=one_of("machine", "part"),
        pins=many(TEXT),
        readings=said(many(TEXT), "as typed"),
        assignments=said(
            many(of(pins=said(every(TEXT), "role to pin"), probability=PROBABILITY)), "most probable first"
        ),
        kinds=said(every(many(of(name=TEXT, probability=PROBABILITY))), "role to what it looks like"),
        sources=many(
            of(
                pin=TEXT,
                roles=every(PROBABILITY),
                volts=said(NUMBER, "open, the meter's load taken off [V]"),
                volts_low=said(NUMBER, "95 % interval"),
                volts_high=NUMBER,
                ohms=NUMBER,
                ohms_low=NUMBER,
                ohms_high=MAYBE_NUMBER,
                measured=said(YES_NO, "from open and loaded readings alone"),
                known=said(YES_NO, "its resistance is known"),
                role=one_of(*ROLES),
            )
        ),
        level=one_of("", "low release", "mid release", "high release"),
        none_of_these=PROBABILITY,
        found=YES_NO,
        missing=said(many(of(words=TEXT, bits=NUMBER, caution=TEXT)), "readings to take next, best first"),
        bench={
            "anyOf": [
                of(volts=NUMBER, ohms=NUMBER, amps=said(NUMBER, "most that two pins can take [A]")),
                {"type": "null"},
            ]
        },
        sheet=said(TEXT, "the sheet that it makes; empty for a part"),
    ),
)

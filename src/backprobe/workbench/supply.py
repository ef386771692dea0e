"""What the supply of a machine may do, by the codes that controllers are built to."""

from __future__ import annotations

CODES = {
    12: {"A": (6.0, 16.0), "B": (8.0, 16.0), "C": (9.0, 16.0), "D": (10.5, 16.0)},
    24: {"E": (10.0, 32.0), "F": (16.0, 32.0), "G": (22.0, 32.0), "H": (18.0, 32.0)},
}
"""System to code to least and most volts for full function [V]; ISO 16750-2, tables 3 and 4 [seen]."""
STOPPED, RUNNING = {12: 12.0, 24: 24.0}, {12: 14.0, 24: 28.0}
"""Test volts with the alternator stopped and running [V]; ISO 16750-2 [seen]."""
OVER_VOLTAGE = {12: 18.0, 24: 36.0}
"""Held for 60 min [V]; ISO 16750-2 [seen]."""
JUMP_START = 26.0
"""For 60 s on a 12 V machine [V]; ISO 16750-2 [seen]."""


def nearest_system(volts: float) -> int:
    """The system, 12 V or 24 V, that volts belong to [V]."""
    return 12 if volts < 18 else 24


def running_volts(system: float) -> float:
    """Volts with the alternator running, in proportion for other systems [V]."""
    base = nearest_system(system)
    return RUNNING[base] * system / base


def most_volts(system: float) -> float:
    """Most volts at which everything must work [V]."""
    base = nearest_system(system)
    return max(high for _, high in CODES[base].values()) * system / base


def codes_met(least: float, system: float) -> tuple[str, ...]:
    """Codes that a controller meets which works from so many volts up [V]."""
    return tuple(code for code, (low, _) in CODES[nearest_system(system)].items() if least <= low)

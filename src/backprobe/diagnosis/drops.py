"""Loaded drops round a loop sum to nothing; a set that does not is a finding about the readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from backprobe.readings.model import GAIN, Reading

SPREADS = 3.0


@dataclass(frozen=True, slots=True)
class DropFinding:
    """Readings round one loop that do not sum.

    Parameters
    ----------
    readings
        Their texts.
    gap
        What the loop sums to [V]; sound readings sum to 0.
    spread
        Standard deviation expected of that sum [V].
    """

    readings: tuple[str, ...]
    gap: float
    spread: float

    def __str__(self) -> str:
        joined = "; ".join(self.readings)
        return (
            f"these drops do not add up: {abs(self.gap):.2f} V is left over where meter errors explain "
            f"{self.spread:.2f} V ({joined}), so one of them was read elsewhere, in another state or misread"
        )


def check_drops(readings: Sequence[Reading]) -> tuple[DropFinding, ...]:
    """Sum the volts round every loop that readings of one setup close (Kirchhoff's voltage law)."""
    findings: list[DropFinding] = []
    for setup in dict.fromkeys(r.setup for r in readings):
        volts = [r for r in readings if r.setup == setup and r.kind == "volts" and r.red != r.black]
        findings += _loops(volts)
    return tuple(findings)


def _loops(volts: list[Reading]) -> list[DropFinding]:
    # Each point keeps the path of signed readings back to the root of its tree.
    paths: dict[str, dict[int, float]] = {}
    root: dict[str, str] = {}
    findings: list[DropFinding] = []
    for i, reading in enumerate(volts):
        for end in (reading.red, reading.black):
            if end not in root:
                root[end], paths[end] = end, {}
        if root[reading.red] == root[reading.black]:
            cycle = _combine(paths[reading.red], paths[reading.black], {i: -1.0})
            if finding := _judge(cycle, volts):
                findings.append(finding)
            continue
        shift = _combine(paths[reading.black], paths[reading.red], {i: 1.0})
        old = root[reading.red]
        for point in [p for p, r in root.items() if r == old]:
            paths[point] = _combine(paths[point], {}, shift)
            root[point] = root[reading.black]
    return findings


def _combine(one: dict[int, float], minus: dict[int, float], plus: dict[int, float]) -> dict[int, float]:
    out = dict(one)
    for k, v in minus.items():
        out[k] = out.get(k, 0.0) - v
    for k, v in plus.items():
        out[k] = out.get(k, 0.0) + v
    return {k: v for k, v in out.items() if v}


def _judge(cycle: dict[int, float], volts: list[Reading]) -> DropFinding | None:
    gap = sum(sign * volts[k].value for k, sign in cycle.items())
    own = sum((sign * volts[k].own_spread) ** 2 for k, sign in cycle.items())
    # The meter's gain is common to all and scales the loop's sum alone; a little differs by range.
    range_error = sum((GAIN["volts"] * 0.3 * volts[k].value) ** 2 for k in cycle) / 3
    spread = (own + range_error + 1e-6) ** 0.5
    if abs(gap) <= SPREADS * spread:
        return None
    return DropFinding(tuple(volts[k].text or volts[k].words() for k in cycle), gap, spread)

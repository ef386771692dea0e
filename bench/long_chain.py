"""An invented start chain of any length, and a job on it: what is read when a wire is in the wrong cavity."""

from __future__ import annotations

from dataclasses import dataclass

import backprobe as bp
from backprobe.readings.points import reachable_points

HEAD = """\
# An invented machine; the numbers serve to measure speed only.
sheet: Start chain of {count} switches, for measuring speed
system: 12 V
controls: {{key: [off, on, start], {controls}}}
runs:
  chain: [battery+, fuse F2 20 A, key start switch, {links}, relay coil K2, ring G4, frame]
  starter: [battery+, fuse F1 40 A, relay contact K2, wire 1.1 m 4 mm2 RD, C99-1, coil M1, frame]
  return: [frame, strap, battery-]
parts:
  coil M1: {{ohms: 2.6 ohm +-8 %}}
  relay K2: {{coil: 94 ohm +-9 %}}
{switches}
functions:
  start: {{loads: coil M1, guard: {guard}}}
"""
FAULT = "C{plug}-2: wire in an empty cavity beside it"


@dataclass(frozen=True, slots=True)
class ChainJob:
    """A sheet and the lines read on it, one after the other."""

    sheet: bp.Sheet
    lines: tuple[str, ...]


def chain_job(points: int) -> ChainJob:
    """The shortest chain that has so many points, one of its wires beside its cavity.

    Parameters
    ----------
    points
        Least number of points that a lead can reach with everything plugged.
    """
    count = 1
    while len(reachable_points(sheet := bp.parse_sheet(_text(count), file="chain.yaml"))) < points:
        count += 1
    state = {"key": "start"} | {f"guard {k}": "shut" for k in range(1, count + 1)}
    engine = bp.Engine(sheet)
    names = [f"C{1 + (count - 1) * k // 6}-2" for k in range(1, 7)]
    fault = FAULT.format(plug=1 + count // 2)
    expected = bp.predict(engine, state, points=names, fault=fault)
    where = ", ".join(f"{control} {position}" for control, position in state.items())
    first = f"start dead, {where}, all plugged"
    return ChainJob(sheet, (first, *(f"{e.point} to battery-: {e.volts:.2f} V" for e in expected)))


def _text(count: int) -> str:
    numbers = range(1, count + 1)
    links = ", ".join(f"wire 1.3 m 1.0 mm2 GY, C{k}-1, guard {k} switch, C{k}-2" for k in numbers)
    controls = ", ".join(f"guard {k}: [open, shut]" for k in numbers)
    guard = " and ".join(f"guard {k} is shut" for k in numbers)
    switches = "\n".join(f"  guard {k} switch: {{closed: {{guard {k}: shut}}}}" for k in numbers)
    return HEAD.format(count=count, links=links, controls=controls, switches=switches, guard=guard)

"""An invented sheet whose feed may be written in many ways."""

from __future__ import annotations

FEED = "feed volts"


def sheet_text(volts: str, bands: str = "{0..20 %: open, 70..105 %: shut}") -> str:
    """The sheet with its feed, and bands as shares of it."""
    return f"""\
sheet: Hedge rail lift, gate circuit, wiring not known
system: 12 V
controls: {{key: [off, on], gate: [open, shut], lever: [rest, raise]}}
runs:
  power:  [battery+, fuse F1 10 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, wire 1.2 m 2.5 mm2 BK, ring G1, frame, strap, battery-]
  sense:  [controller.feed, C2-1, gate switch, C2-2, controller.gate input]
  valve:  [controller.lift output, C3-1, coil Y2 8.7 ohm, C3-2, ring G2, frame]
parts:
  controller:
    feed: {{volts: {volts}, limit: 70 mA}}
    gate input: {{pull-down: 27 kohm, bands: {bands}}}
functions:
  lift: {{releases when: gate input is shut and lever is raise, drives: lift output, guard: gate is shut}}
"""

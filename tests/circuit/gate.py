"""An invented trailer whose tipper works only while a gate is shut."""

from __future__ import annotations

GATE = """
sheet: gate circuit of a trailer
system: 12 V
controls: {key: [off, on], gate: [shut, open], button: [released, pressed]}
runs:
  power: [battery+, fuse F3 10 A, key switch, controller.battery]
  ground: [controller.ground, strap S1, battery-]
  feed: [controller.feed, C2-1, gate sensor.supply]
  signal: [gate sensor.output, C2-3, controller.gate input]
  return: [gate sensor.ground, C2-2, controller.sensor ground]
  valve: [controller.valve output, coil Y2 9 ohm, frame]
  back: [frame, strap S2, battery-]
parts:
  gate sensor:
    kind: ratiometric sensor
    output: {gate shut: 70 %, gate open: 25 %}
    supply: {value: 8.0 V, range: 4.5..14 V}
    draw: 8 mA
  controller:
    feed: {volts: 8.0 V +-2 %, limit: 50 mA, ohms: 0.5 ohm}
    gate input:
      pull-down: 100 kohm
      bands: {0..0.5 V: code low, 1.2..3.0 V: open, 4.5..6.5 V: shut, 7.0..8.5 V: code high}
functions:
  tipper: {releases when: gate input is shut and button is pressed, drives: valve output, guard: gate is shut}
"""
READY = {"key": "on", "gate": "shut", "button": "pressed"}

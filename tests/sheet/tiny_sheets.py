"""One tiny invented sheet for each kind of part, with a control called ``arm``."""

from __future__ import annotations

HEAD = "sheet: {kind}\nsystem: {system}\ncontrols: {{arm: [up, down]}}\nruns:"

RUNS = {
    "battery": """
  main: [battery+, lamp H9 10 W, battery-]
""",
    "alternator": """
  main: [alternator.stud, lamp H9 10 W, alternator.case]
  charge: [alternator.stud, battery+]
  back: [alternator.case, frame, strap, battery-]
parts:
  alternator: {}
""",
    "wire": """
  main: [battery+, wire W1 2 m 1.5 mm2 RD, lamp H9 10 W, frame]
""",
    "contact": """
  main: [battery+, C1-1, lamp H9 10 W, C1-2, frame]
""",
    "connector": """
  main: [battery+, C1-1, lamp H9 10 W, C1-2, frame]
  other: [battery+, C1-3, resistor R1 47 ohm, C1-4, frame]
""",
    "ring": """
  main: [battery+, lamp H9 10 W, ring G1, frame]
""",
    "strap": """
  main: [battery+, lamp H9 10 W, frame, strap E1, battery-]
""",
    "splice": """
  main: [battery+, splice S1, lamp H9 10 W, frame]
  other: [S1, resistor R1 47 ohm, frame]
""",
    "fuse": """
  main: [battery+, fuse F1 1 A, lamp H9 10 W, frame]
""",
    "fusible link": """
  main: [battery+, fusible link FL1 1 mm2, lamp H9 10 W, frame]
""",
    "circuit breaker": """
  main: [battery+, circuit breaker Q1 1 A, lamp H9 10 W, frame]
""",
    "LED indicator": """
  main: [battery+, LED H3 680 ohm, frame]
""",
    "switch": """
  main: [battery+, arm switch, lamp H9 10 W, frame]
parts:
  arm switch: {closed: {arm: down}, closed ohms: 680 ohm, open ohms: 8.2 kohm}
""",
    "resistor": """
  main: [battery+, resistor R1 22 ohm, lamp H9 10 W, frame]
""",
    "potentiometer": """
  main: [battery+, potentiometer P1, frame]
  wiper: [P1.wiper, resistor R1 100 kohm, frame]
parts:
  potentiometer P1: {track: 5 kohm, levels: {arm up: 20 %, arm down: 75 %}}
""",
    "lamp": """
  main: [battery+, lamp H1 21 W, frame]
""",
    "coil": """
  main: [battery+, coil Y1 9 ohm, frame]
""",
    "diode": """
  main: [battery+, diode V1, lamp H9 10 W, frame]
""",
    "relay": """
  coil: [battery+, arm switch, relay coil K1 85 ohm, frame]
  load: [battery+, relay contact K1, lamp H9 10 W, frame]
  rest: [K1.87a, resistor R1 47 ohm, frame]
parts:
  arm switch: {closed: {arm: down}}
""",
    "controller": """
  power: [battery+, controller.battery]
  ground: [controller.ground, frame]
  valve: [controller.valve output, coil Y1 9 ohm, frame]
  low: [battery+, coil Y3 9 ohm, controller.low output]
  up: [controller.up input, switch S1, frame]
  down: [battery+, switch S2, controller.down input]
  feed: [controller.feed, resistor R1 1 kohm, controller.sensor ground]
parts:
  switch S1: {closed: {arm: down}}
  switch S2: {closed: {arm: down}}
  controller:
    feed: {volts: 8 V, limit: 50 mA}
    up input: {pull-up: 4.7 kohm, pull-up volts: 8 V, bands: {0..2 V: low, 5..9 V: high}}
    down input: {pull-down: 10 kohm, bands: {0..4 V: low, 8..15 V: high}}
    low output: {side: low}
functions:
  one: {releases when: up input is low, drives: valve output}
  two: {releases when: down input is high, drives: low output}
""",
    "ratiometric sensor": """
  supply: [battery+, sensor.supply]
  output: [sensor.output, resistor R1 10 kohm, frame]
  ground: [sensor.ground, frame]
parts:
  sensor: {kind: ratiometric sensor, supply: 5..16 V, output: {arm up: 20 %, arm down: 75 %}}
""",
    "open-collector sensor": """
  supply: [battery+, sensor.supply]
  output: [sensor.output, resistor R1 10 kohm, battery+]
  ground: [sensor.ground, frame]
parts:
  sensor: {kind: open-collector sensor, supply: 5..16 V, pulls: {arm: down}, type: NPN}
""",
    "push-pull sensor": """
  supply: [battery+, sensor.supply]
  output: [sensor.output, resistor R1 10 kohm, frame]
  up: [battery+, resistor R2 10 kohm, sensor.output]
  ground: [sensor.ground, frame]
parts:
  sensor: {kind: push-pull sensor, supply: 5..16 V, high: {arm: down}}
""",
    "speed pick-up": """
  supply: [battery+, sensor.supply]
  output: [sensor.output, resistor R1 10 kohm, battery+]
  ground: [sensor.ground, frame]
parts:
  sensor: {kind: speed pick-up, supply: 5..16 V, pulls: {arm: down}, pull-up ohms: 2.2 kohm}
""",
    "coil pick-up": """
  main: [battery+, resistor R1 1 kohm, coil pick-up B1, frame]
parts:
  coil pick-up B1: {ohms: 650 ohm, volts: {arm down: 1.8 V}}
""",
    "two-wire sensor": """
  main: [battery+, resistor R1 1 kohm, two-wire sensor B1, frame]
parts:
  two-wire sensor B1: {amps: {arm up: 2.6 mA, arm down: 0.7 mA}}
""",
    "sender": """
  main: [battery+, resistor R1 330 ohm, oil sender, frame]
parts:
  oil sender: {kind: sender, levels: {arm up: 22 ohm, arm down: 150 ohm}}
""",
    "changeover switch": """
  rest: [battery+, lamp H9 10 W, arm contact.NC]
  made: [battery+, resistor R1 47 ohm, arm contact.NO]
  back: [arm contact.common, frame]
parts:
  arm contact: {kind: changeover switch, actuated: {arm: down}}
""",
    "terminator": """
  pair: [battery+, resistor R1 100 ohm, terminator R2, frame]
""",
    "bus node": """
  pair: [battery+, resistor R5 10 kohm, unit.high]
  end: [unit.high, terminator R1, unit.low]
  power: [battery+, unit.supply]
  back: [unit.ground, frame]
parts:
  unit: {kind: bus node}
""",
}


def text_of(kind: str, system: str = "12 V") -> str:
    """The text of a kind's sheet."""
    return HEAD.format(kind=kind, system=system) + RUNS[kind]

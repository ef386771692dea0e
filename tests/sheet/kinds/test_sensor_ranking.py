"""Sensor faults in the ranking: what is alike on the meter is parted by what is held to the face."""

from __future__ import annotations

import backprobe as bp
from tests.sheet.kinds.test_ratiometric_sensor import TEXT as GATE

SWITCHING = """
sheet: bar sensor
system: 12 V
controls: {key: [off, on], bar: [up, down]}
runs:
  supply: [battery+, fuse F2 5 A, key switch, C1-1, bar sensor.supply]
  signal: [bar sensor.output, C1-2, controller.bar input]
  return: [bar sensor.ground, C1-3, frame]
  power: [key switch, controller.battery]
  box: [controller.ground, frame]
parts:
  battery: {volts: 12.3 V}
  bar sensor: {kind: open-collector sensor, supply: 7..16 V, pulls: {bar: down}}
  controller:
    bar input: {pull-up: 4.7 kohm, pull-up volts: 9 V, bands: {0..2 V: down, 5..10 V: up}}
"""
STATE = "state: key on, bar down, all plugged\n"
NEVER_PULLED = STATE + "C1-2 to battery-: 8.95 V\nC1-1 to battery-: 12.2 V\nC1-3 to battery-: 0.01 V\n"
BEFORE = ("gap too wide", "target missing", "target out of line, switches now and then")
BLIND = ("does not switch", "shipping keeper left on")


def chances(text: str, readings: str) -> dict[str, float]:
    """Probability of each suspect, by name."""
    answer = bp.rank(bp.parse_sheet(text, file="sensor"), readings)
    return {name: s.probability for s in answer.suspects for name in s.names}


def of(found: dict[str, float], part: str, modes: tuple[str, ...]) -> float:
    return sum(found.get(f"{part}: {mode}", 0.0) for mode in modes)


def test_steel_that_wakes_the_sensor_clears_it_and_leaves_the_target() -> None:
    found = chances(SWITCHING, NEVER_PULLED)
    assert of(found, "bar sensor", BEFORE) > 0.3
    assert of(found, "bar sensor", BLIND) > 0.1
    woken = chances(SWITCHING, NEVER_PULLED + "C1-2 to battery-: 0.06 V, steel held at bar sensor\n")
    assert of(woken, "bar sensor", BEFORE) > 0.9
    assert of(woken, "bar sensor", BLIND) < 0.02


def test_steel_that_changes_nothing_clears_the_target() -> None:
    same = chances(SWITCHING, NEVER_PULLED + "C1-2 to battery-: 8.95 V, steel held at bar sensor\n")
    assert of(same, "bar sensor", BEFORE) < 0.02
    # What is left is alike whatever is held there: a broken output or an open wire.
    assert of(same, "bar sensor", BLIND) > 0.3


def test_faults_alike_on_the_meter_keep_their_own_repairs() -> None:
    modes = {m.name: m for m in bp.Engine(bp.parse_sheet(SWITCHING, file="sensor")).circuit.modes}
    repairs = {modes[f"bar sensor: {mode}"].repair for mode in (*BEFORE, *BLIND)}
    assert len(repairs) == len(BEFORE) + len(BLIND)


def test_a_magnet_in_the_hand_tells_a_lost_target_from_a_dead_face() -> None:
    at_rest = "controller.gate input to controller.sensor ground: 5.0 V"
    readings = f"state: gate shut\n{at_rest}, gate shut\n{at_rest}, gate open\n"
    sheet = bp.parse_sheet(GATE, file="gate")
    answer = bp.rank(sheet, readings)
    assert answer.suspects[0].name in {"sensor: target missing", "sensor: output stuck"}
    held = [c for c in bp.next_checks(answer, 40) if c.candidate.setup.attached]
    assert any("hold a magnet at the face of sensor" in c.words() for c in held)
    moved = readings + "controller.gate input to controller.sensor ground: 8.3 V, magnet held at sensor"
    found = chances(GATE, moved)
    assert of(found, "sensor", ("target missing", "gap too wide", "target out of line")) > 0.8
    still = chances(GATE, readings + f"{at_rest}, magnet held at sensor")
    assert of(still, "sensor", ("output stuck", "shipping keeper left on")) > of(
        still, "sensor", ("target missing", "gap too wide")
    )


def test_what_is_held_follows_the_sensor() -> None:
    text = SWITCHING.replace("pulls: {bar: down}", "pulls: {bar: down}, target: magnet")
    for sheet_text, what in ((SWITCHING, "steel"), (text, "a magnet")):
        answer = bp.rank(bp.parse_sheet(sheet_text, file="sensor"), NEVER_PULLED)
        first = bp.next_checks(answer)[0]
        assert f"hold {what} at the face of bar sensor" in first.words()
    # The word does not matter to what was done: a reading with the other word is the same setup.
    one, other = (
        bp.parse_readings(
            f"C1-2 to battery-: 0.1 V, key on, bar up, all plugged, {w} held at bar sensor", sheet
        )
        for w, sheet in (("steel", answer.engine.sheet), ("magnet", answer.engine.sheet))
    )
    assert one[0].setup == other[0].setup


def test_a_wrong_pot_is_told_from_a_low_feed_by_both_ends() -> None:
    from tests.sheet.kinds.test_potentiometer import POT, TEXT

    # 240 deg in the book, 340 fitted: 4.0, 6.26 and 1.74 V on a feed of 8.0 V, by the arithmetic there.
    readings = """
    P1.wiper to P1.3: 4.00 V, stick middle
    P1.wiper to P1.3: 6.26 V, stick ahead
    P1.wiper to P1.3: 1.74 V, stick back
    """
    answer = bp.rank(bp.parse_sheet(TEXT, file="pot"), readings)
    assert answer.groups[0].suspects[0].name == f"{POT}: another angle fitted"

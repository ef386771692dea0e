"""Modes: limits, relays, fuses, starved and reversed sensors, controller logic.

Expected values are arithmetic written out beside each check; the circuits are invented.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from backprobe.circuit.setup import Attachment
from backprobe.circuit.solve import Changes, solve_changes
from backprobe.circuit.stage import make_stage
from backprobe.sheet.anatomy import InMode, Melter, Puller, Supplied
from tests.circuit.gate import GATE, READY
from tests.circuit.helpers import (
    Bench,
    alternating,
    amps,
    mode,
    resistor_at,
    solve_sheet,
    volts,
)

# --- feed with a limit --------------------------------------------------------------------


def feed_bench(load: float) -> Bench:
    """A feed of 9 V, 0.5 ohm, 60 mA on a load."""
    bench = Bench()
    bench.feed("feed", "out", "0", 9.0, 0.5, 0.06)
    bench.resistor("load", "out", "0", load)
    return bench


@pytest.mark.parametrize("load", [1e4, 1e3, 200.0, 155.0])
def test_a_feed_regulates_below_its_limit(load: float) -> None:
    solution = feed_bench(load).solve()
    assert not mode(solution, "feed limiting")
    assert volts(solution, "out") == pytest.approx(9 * load / (load + 0.5), rel=1e-8)


@pytest.mark.parametrize("load", [140.0, 50.0, 1.0, 0.01])
def test_a_feed_survives_a_short(load: float) -> None:
    solution = feed_bench(load).solve()
    assert mode(solution, "feed limiting")
    assert not solution.chatters[0]
    assert amps(solution, "load") == pytest.approx(0.06, rel=2e-4)
    assert volts(solution, "out") == pytest.approx(0.06 * load, rel=2e-4)


def test_a_feed_comes_back_when_the_short_goes() -> None:
    bench = feed_bench(1e3)
    shorted = bench.solve(resistor_at("out", "0", 0.1))
    assert mode(shorted, "feed limiting") and volts(shorted, "out") < 0.01
    assert volts(bench.solve(), "out") > 8.9


def test_a_shorted_feed_leaves_the_controller_alive() -> None:
    jumper = Attachment("jumper", "gate sensor.supply", "gate sensor.ground", 0.02)
    solution = solve_sheet(GATE, READY, jumper)
    assert mode(solution, "controller.feed limiting")
    assert mode(solution, "controller.powered")
    assert not mode(solution, "gate sensor.powered")
    assert volts(solution, "controller.feed", "controller.sensor ground") < 0.05
    assert not solution.chatters[0]


# --- relay --------------------------------------------------------------------------------


def relay_bench(series: float) -> Bench:
    """A coil of 90 ohm that pulls at 7.2 V and lets go at 2.5 V, behind a resistance at 12 V."""
    bench = Bench()
    bench.source("source", "plus", "0", 12.0, 0.01)
    bench.resistor("series", "plus", "coil", series)
    bench.resistor("winding", "coil", "0", 90.0)
    pull, drop = bench.number("pull", 7.2, "V"), bench.number("drop", 2.5, "V")
    bench.device(Puller("armature", "winding", pull, drop))
    bench.resistor("contact", "plus", "load", 0.01, InMode("armature"))
    bench.resistor("load", "load", "0", 12.0)
    return bench


@pytest.mark.parametrize(("series", "pulls"), [(1.0, True), (59.0, True), (61.0, False), (1e4, False)])
def test_a_relay_pulls_from_its_pull_in_volts(series: float, pulls: bool) -> None:
    # 12 V x 90/(90 + r) reaches 7.2 V at r = 60 ohm.
    solution = relay_bench(series).solve()
    assert mode(solution, "armature") == pulls
    assert (volts(solution, "load") > 11) == pulls


@pytest.mark.parametrize(("hold", "held"), [(250.0, True), (330.0, True), (350.0, False), (2e3, False)])
def test_a_pulled_relay_holds_down_to_its_drop_out_volts(hold: float, held: bool) -> None:
    # A relay that puts resistance into its own way once it has pulled: 12 V x 90/(90 + r) is
    # 2.5 V at r = 342 ohm. Above that it lets go, pulls again, and so on: it buzzes.
    bench = relay_bench(1e6)
    bench.resistor("direct", "plus", "coil", 1.0, InMode("armature", inverted=True))
    bench.resistor("economy", "plus", "coil", hold, InMode("armature"))
    solution = bench.solve()
    assert bool(solution.chatters[0]) != held
    if held:
        assert mode(solution, "armature")
        assert 2.5 < volts(solution, "coil") < 7.2
    else:
        assert alternating(solution) == {"armature"}


def test_a_relay_does_not_pull_between_drop_out_and_pull_in() -> None:
    # At rest, 5 V do not pull; the same 5 V hold what is pulled (the test above).
    solution = relay_bench(126.0).solve()
    assert volts(solution, "coil") == pytest.approx(5.0, rel=1e-3)
    assert not mode(solution, "armature")


RELAY = """
sheet: relay of a winch
system: 12 V
controls: {button: [released, pressed]}
runs:
  coil: [battery+, button switch, relay coil K4 90 ohm, frame]
  load: [battery+, fuse F6 15 A, relay contact K4, lamp H2 21 W, frame]
  rest: [K4.87a, lamp H3 5 W, frame]
parts:
  button switch: {kind: switch, closed: {button: pressed}}
"""


@pytest.mark.parametrize(("button", "works", "rests"), [("released", 0.0, 12.5), ("pressed", 12.3, 0.0)])
def test_a_relay_in_a_sheet_moves_its_contacts(button: str, works: float, rests: float) -> None:
    solution = solve_sheet(RELAY, {"button": button})
    assert volts(solution, "lamp H2.1", "frame") == pytest.approx(works, abs=0.3)
    assert volts(solution, "lamp H3.1", "frame") == pytest.approx(rests, abs=0.3)


# --- fuse ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("ohms", "melts"), [(12.0, False), (1.3, False), (0.5, True), (0.02, True)])
def test_a_fuse_melts_on_a_short_only(ohms: float, melts: bool) -> None:
    # Melting at 15 A: 12 V over 0.8 ohm in all.
    bench = Bench()
    bench.source("source", "plus", "0", 12.0, 0.02)
    limit = bench.number("limit", 15.0, "A")
    bench.resistor("fuse", "plus", "out", 0.01, InMode("element", inverted=True))
    bench.device(Melter("element", "fuse", limit))
    bench.resistor("load", "out", "0", ohms)
    solution = bench.solve()
    assert mode(solution, "element") == melts
    assert not solution.chatters[0]
    assert volts(solution, "out") == pytest.approx(0.0 if melts else 12 * ohms / (ohms + 0.03), abs=1e-5)


def test_a_jumper_to_frame_blows_the_fuse_of_a_sheet() -> None:
    jumper = Attachment("jumper", "lamp H2.1", "frame")
    solution = solve_sheet(RELAY, {"button": "pressed"}, jumper)
    assert mode(solution, "fuse F6.element")
    # The relay stays in: its coil has its own way.
    assert mode(solution, "relay K4.armature")
    assert volts(solution, "lamp H2.1", "frame") == pytest.approx(0.0, abs=1e-3)


# --- sensors ------------------------------------------------------------------------------


def test_a_sensor_gives_its_share_of_its_supply() -> None:
    solution = solve_sheet(GATE, READY)
    supply = volts(solution, "gate sensor.supply", "gate sensor.ground")
    output = volts(solution, "gate sensor.output", "gate sensor.ground")
    assert supply == pytest.approx(8.0, abs=0.02)
    # 70 % from 1 kohm in all, loaded by 100 kohm: 0.2 % less.
    assert output / supply == pytest.approx(0.70, abs=0.002)
    opened = solve_sheet(GATE, READY | {"gate": "open"})
    assert volts(opened, "gate sensor.output", "gate sensor.ground") == pytest.approx(2.0, abs=0.02)


@pytest.mark.parametrize(("supply", "works"), [(12.0, True), (4.6, True), (4.4, False), (1.0, False)])
def test_a_sensor_starves_below_its_least_supply(supply: float, works: bool) -> None:
    bench = Bench()
    bench.source("supply", "plus", "0", supply, 0.1)
    floor = bench.number("floor", 4.5, "V")
    bench.device(Supplied("powered", "plus", "battery.-", floor))
    bench.resistor("upper", "plus", "out", 300.0, InMode("powered"))
    bench.resistor("lower", "out", "0", 700.0, InMode("powered"))
    bench.resistor("input", "out", "0", 1e5)
    solution = bench.solve()
    assert mode(solution, "powered") == works
    # 700 of 1000 ohm, loaded by 100 kohm: 69.85 %.
    assert volts(solution, "out") == pytest.approx(0.6985 * supply if works else 0.0, rel=1e-3, abs=1e-6)


def test_a_sensor_that_starves_only_while_it_works_never_rests() -> None:
    # 9 V behind 800 ohm: 5.0 V at 1 kohm idle, but 3.5 V once its output stage loads it too.
    bench = Bench()
    bench.source("supply", "plus", "0", 9.0, 800.0)
    bench.resistor("draw", "plus", "0", 1e3)
    floor = bench.number("floor", 4.5, "V")
    bench.device(Supplied("powered", "plus", "battery.-", floor))
    bench.resistor("output stage", "plus", "0", 1e3, InMode("powered"))
    solution = bench.solve()
    assert solution.chatters[0]
    assert alternating(solution) == {"powered"}


REVERSED = """
sheet: sensor with supply and ground crossed
system: 12 V
controls: {gate: [shut, open]}
runs:
  one: [battery+, resistor R1 47 ohm, gate sensor.ground]
  two: [gate sensor.supply, frame]
  out: [gate sensor.output, resistor R2 10 kohm, frame]
parts:
  gate sensor:
    kind: ratiometric sensor
    output: {gate shut: 70 %, gate open: 25 %}
    supply: {value: 8.0 V, range: 4.5..14 V}
    draw: 8 mA
"""


def test_a_reversed_sensor_conducts_by_its_substrate() -> None:
    solution = solve_sheet(REVERSED)
    assert mode(solution, "gate sensor.substrate")
    assert not mode(solution, "gate sensor.powered")
    # 12.6 V less the 0.45 V of the path, shared by 47 + 50 ohm and 10 kohm, and 1 kohm of draw.
    ground = volts(solution, "gate sensor.ground", "frame")
    assert ground == pytest.approx(12.6 * 1e3 / 1047, rel=0.01)
    assert volts(solution, "gate sensor.output", "frame") == pytest.approx(
        (ground - 0.45) * 1e4 / 10050, rel=1e-3
    )


def test_a_sensor_that_lost_its_ground_shows_its_supply_through_its_draw() -> None:
    solution = solve_sheet(GATE, READY, unplugged=["C2"])
    assert not mode(solution, "gate sensor.powered")
    # The plug off: the input's own pull-down takes the signal to zero.
    assert volts(solution, "controller.gate input", "controller.ground") == pytest.approx(0.0, abs=5e-3)


# --- controller logic ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("state", "released"),
    [
        ({}, True),
        ({"gate": "open"}, False),
        ({"button": "released"}, False),
        ({"key": "off"}, False),
    ],
)
def test_logic_releases_the_output(state: Mapping[str, str], released: bool) -> None:
    solution = solve_sheet(GATE, READY | dict(state))
    assert mode(solution, "controller.valve output driven") == released
    across = volts(solution, "coil Y2.1", "coil Y2.2")
    assert (across > 11) if released else (abs(across) < 1e-3)
    assert not solution.chatters[0]


@pytest.mark.parametrize("drop", [0.0, 0.05, 0.3])
def test_a_grounded_input_is_low_on_a_lifted_ground_too(drop: float) -> None:
    # The load's current lifts the controller's ground above the frame that the switch leads to.
    text = """
sheet: low is low
system: 12 V
controls: {arm: [up, down]}
runs:
  power: [battery+, fuse F3 10 A, controller.battery]
  ground: [controller.ground, resistor R9 50 mohm, frame]
  input: [controller.arm input, arm switch, frame]
  valve: [controller.valve output, coil Y2 9 ohm, frame]
parts:
  arm switch: {closed: {arm: down}}
  controller: {arm input: {pull-up: 4.7 kohm, pull-up volts: 5 V, bands: {0..2 V: low, 3..6 V: high}}}
functions:
  lift: {releases when: arm input is low, drives: valve output}
"""
    lifted = Attachment("source", "controller.ground", "frame", 0.05, drop)
    solution = solve_sheet(text, {"arm": "down"}, lifted)
    seen = volts(solution, "controller.arm input", "controller.ground")
    assert -drop - 0.1 <= seen <= -0.4 * drop
    assert mode(solution, "controller.valve output driven")
    assert not mode(solve_sheet(text, {"arm": "up"}, lifted), "controller.valve output driven")


def test_a_signal_between_bands_releases_nothing() -> None:
    # Between open (to 3.0 V) and shut (from 4.5 V): a leak of 252 ohm beside 210 ohm of the output.
    leak = Attachment("resistor", "controller.gate input", "frame", 252.0)
    solution = solve_sheet(GATE, READY, leak)
    signal = volts(solution, "controller.gate input", "controller.ground")
    assert 3.0 < signal < 4.5
    assert not mode(solution, "controller.valve output driven")


@pytest.mark.parametrize(("strap", "works"), [(0.001, True), (0.5, True), (1e6, False)])
def test_the_valve_follows_its_ground(strap: float, works: bool) -> None:
    circuit = solve_sheet(GATE, READY).stage.circuit
    stage = make_stage(circuit, solve_sheet(GATE, READY).stage.setup)
    key = circuit.parameter_of["strap S2.strap ohms"]
    solution = solve_changes(stage, Changes(np.array([[key]]), np.array([[strap]])))
    assert (volts(solution, "coil Y2.1", "coil Y2.2") > 10) == works

"""Circuits that never come to rest, and the devices that alternate in them.

The circuits are invented. That a relay opening its own supply buzzes is common practice, no
source.
"""

from __future__ import annotations

import numpy as np
import pytest

from backprobe.circuit.full import solve_full
from backprobe.circuit.solve import Changes, solve_changes
from tests.circuit.gate import GATE, READY
from tests.circuit.helpers import alternating, mode, solve_sheet


def test_a_relay_that_opens_its_own_supply_is_a_buzzer() -> None:
    solution = solve_sheet(
        """
sheet: buzzer
system: 12 V
runs:
  loop: [battery+, relay resting contact K7, relay coil K7 85 ohm, battery-]
"""
    )
    assert solution.chatters[0]
    assert alternating(solution) == {"relay K7.armature"}


def test_a_relay_that_closes_its_own_supply_holds_itself_or_rests() -> None:
    # A holding circuit: pressed it pulls; never pressed it rests. Neither chatters.
    text = """
sheet: holding circuit
system: 12 V
controls: {button: [released, pressed]}
runs:
  start: [battery+, button switch, relay coil K8 85 ohm, battery-]
  hold: [battery+, relay contact K8, K8.86]
parts:
  button switch: {kind: switch, closed: {button: pressed}}
"""
    for button, pulled in (("released", False), ("pressed", True)):
        solution = solve_sheet(text, {"button": button})
        assert not solution.chatters[0]
        assert mode(solution, "relay K8.armature") == pulled
        assert not solution.alternating.any()


# Controller and valve share one ground strap: while the valve is on, the strap lifts the ground.
SHARED = GATE.replace("[frame, strap S2, battery-]", "[frame, wire W1 1 mohm, S1.1]")


def shared_ground(strap: float) -> Changes:
    """The shared strap with this resistance."""
    circuit = solve_sheet(SHARED, READY).stage.circuit
    return Changes(np.array([[circuit.parameter_of["strap S1.strap ohms"]]]), np.array([[strap]]))


@pytest.mark.parametrize(
    ("strap", "chatters"),
    [
        # The valve at 9 ohm draws 1.3 A; the controller lets go below 8.5 V: from about 4.3 ohm.
        (0.001, False),
        (2.0, False),
        (8.0, True),
        (20.0, True),
    ],
)
def test_a_controller_that_loses_its_supply_to_its_own_valve_chatters(strap: float, chatters: bool) -> None:
    stage = solve_sheet(SHARED, READY).stage
    changes = shared_ground(strap)
    for solution in (
        solve_changes(stage, changes),
        solve_full(stage, changes.values(stage.circuit.nominal)),
    ):
        assert bool(solution.chatters[0]) == chatters
        driven = "controller.valve output driven"
        if chatters:
            assert driven in alternating(solution)
        else:
            assert not solution.alternating.any()
            assert mode(solution, driven)


def test_a_very_bad_ground_keeps_the_controller_off_without_chatter() -> None:
    # 150 ohm of own draw behind 400 ohm: the controller never has its 8.5 V.
    stage = solve_sheet(SHARED, READY).stage
    solution = solve_changes(stage, shared_ground(400.0))
    assert not solution.chatters[0]
    assert not mode(solution, "controller.powered")
    assert not mode(solution, "controller.valve output driven")


def test_one_circuit_of_a_batch_that_chatters_leaves_the_others_alone() -> None:
    stage = solve_sheet(SHARED, READY).stage
    key = stage.circuit.parameter_of["strap S1.strap ohms"]
    ohms = [0.001, 8.0, 0.5, 20.0, 400.0]
    together = solve_changes(stage, Changes(np.full((5, 1), key), np.array(ohms)[:, None]))
    assert together.chatters.tolist() == [False, True, False, True, False]
    for row in (0, 2, 4):
        alone = solve_changes(stage, shared_ground(ohms[row]))
        np.testing.assert_allclose(together.volts[row], alone.volts[0], rtol=0, atol=1e-9)

"""Relay: hysteresis, five terminals, stuck armature, wrong coil, loose socket. Ohm's law by hand."""

from __future__ import annotations

import numpy as np
import pytest

import backprobe as bp
from backprobe.circuit.settle import Electrical, settle
from backprobe.circuit.setup import make_setup
from backprobe.circuit.stage import make_stage
from tests.sheet.kinds.faulty import amps, circuit_of, mode, solved, volts

SHEET = """
sheet: Seat relay
controls: {key: [off, on]}
runs:
  coil: [battery+, key, relay coil K1 80 ohm, frame]
  load: [battery+, K1.30]
  works: [K1.87, resistor R1 100 ohm, frame]
  rests: [relay K1.87a, resistor R2 200 ohm, frame]
parts:
  battery: {volts: 12 V}
  relay K1: {pull-in: 7 V, drop-out: 3 V, contact: 10 mohm}
"""


@pytest.mark.parametrize(("key", "works", "rests"), [("off", 0.0, 12 / 200), ("on", 12 / 100, 0.0)])
def test_all_five_terminals_are_usable_by_number(key: str, works: float, rests: float) -> None:
    solution = solved(circuit_of(SHEET), {"key": key})
    assert amps(solution, "resistor R1.body") == pytest.approx(works, rel=0.01, abs=1e-6)
    assert amps(solution, "resistor R2.body") == pytest.approx(rests, rel=0.01, abs=1e-6)


def test_its_coil_by_number_is_its_coil() -> None:
    numbered = circuit_of(
        SHEET.replace("key, relay coil K1 80 ohm, frame]", "key, K1.86, K1.85, frame]").replace(
            "{pull-in", "{coil: 80 ohm, pull-in"
        )
    )
    assert amps(solved(numbered, {"key": "on"}), "relay K1.winding") == pytest.approx(12 / 80, rel=0.01)


@pytest.mark.parametrize(
    ("supply", "from_out", "from_in"), [(8.0, True, True), (5.0, False, True), (2.5, False, False)]
)
def test_between_drop_out_and_pull_in_it_holds_only_if_it_was_in(
    supply: float, from_out: bool, from_in: bool
) -> None:
    # Pulls in at 7 V, lets go below 3 V: 5 V hold it and do not pull it.
    circuit = circuit_of(SHEET.replace("volts: 12 V", f"volts: {supply} V"))
    stage = make_stage(circuit, make_setup(circuit.sheet, {"key": "on"}))
    values = circuit.nominal[None]

    def solver(modes: np.ndarray, rows: np.ndarray) -> Electrical:
        siemens, driven = stage.conductances(values, modes)
        found, _ = stage.solve(siemens, driven)
        return Electrical(values, found, stage.currents(found, siemens, driven))

    armature = circuit.device_of["relay K1.armature"]
    for before, after in ((False, from_out), (True, from_in)):
        modes = np.zeros((1, len(circuit.devices)), bool)
        modes[0, armature] = before
        assert bool(settle(stage, 1, solver, modes).modes[0, armature]) is after


def test_a_stuck_armature_draws_its_current_and_moves_nothing() -> None:
    solution = solved(circuit_of(SHEET), {"key": "on"}, "relay K1: armature stuck, does not pull though fed")
    assert amps(solution, "relay K1.winding") == pytest.approx(12 / 80, rel=0.01)
    assert not mode(solution, "relay K1.armature")
    assert amps(solution, "resistor R2.body") == pytest.approx(12 / 200, rel=0.01)


def test_a_relay_for_other_volts_does_not_pull() -> None:
    # Same watts at twice the volts: four times the ohms, 37.5 mA instead of 150, and it wants 14 V.
    solution = solved(circuit_of(SHEET), {"key": "on"}, "relay K1: wrong relay fitted (coil for 24 V)")
    assert amps(solution, "relay K1.winding") == pytest.approx(12 / 320, rel=0.01)
    assert not mode(solution, "relay K1.armature")


def test_in_a_24_volt_machine_the_wrong_relay_is_for_12_volts_and_runs_hot() -> None:
    text = SHEET.replace("controls", "system: 24 V\ncontrols").replace("volts: 12 V", "volts: 24 V")
    text = text.replace("80 ohm", "320 ohm").replace("pull-in: 7 V, drop-out: 3 V", "pull-in: 14 V")
    solution = solved(circuit_of(text), {"key": "on"}, "relay K1: wrong relay fitted (coil for 12 V)")
    # 24 V across 80 ohm: 0.3 A and 7.2 W where 1.8 W belong.
    assert amps(solution, "relay K1.winding") == pytest.approx(24 / 80, rel=0.01)
    assert mode(solution, "relay K1.armature")


def test_a_loose_socket_starves_the_coil_or_the_load() -> None:
    circuit = circuit_of(SHEET)
    # Level 6 is 30 ohm: the coil keeps 12 V 80/110 = 8.7 V and pulls; level 7, 100 ohm: 5.3 V, it does not.
    fault = "relay K1: socket loose or corroded at its coil clips"
    assert mode(solved(circuit, {"key": "on"}, fault, level=6), "relay K1.armature")
    starved = solved(circuit, {"key": "on"}, fault, level=7)
    assert volts(starved, "relay K1.86", "relay K1.85") == pytest.approx(12, rel=0.01)
    assert 80 * amps(starved, "relay K1.winding") == pytest.approx(12 * 80 / 180, rel=0.01)
    assert not mode(starved, "relay K1.armature")
    # 10 ohm before the contact: 12/110 A through the load.
    load = solved(circuit, {"key": "on"}, "relay K1: socket loose or corroded at its contact clips", level=5)
    assert amps(load, "resistor R1.body") == pytest.approx(12 / 110, rel=0.01)


def test_a_welded_contact_keeps_the_load_on_and_the_resting_contact_off() -> None:
    solution = solved(circuit_of(SHEET), {"key": "off"}, "relay K1: contact welded")
    assert amps(solution, "resistor R1.body") == pytest.approx(12 / 100, rel=0.01)
    assert abs(amps(solution, "resistor R2.body")) < 1e-6


def test_out_of_its_socket_nothing_flows() -> None:
    solution = solved(circuit_of(SHEET), {"key": "on"}, unplugged=["relay K1"])
    assert abs(amps(solution, "relay K1.winding")) < 1e-6
    assert abs(amps(solution, "resistor R1.body")) + abs(amps(solution, "resistor R2.body")) < 1e-6


def test_its_suppressor_is_that_of_a_coil() -> None:
    text = SHEET.replace("{pull-in", "{suppression: diode, pull-in").replace("key, ", "fuse F1 5 A, key, ")
    circuit = circuit_of(text)
    assert amps(solved(circuit, {"key": "on"}), "fuse F1.element") == pytest.approx(12 / 80, rel=0.01)
    for fault in ("suppressor diode shorted", "fed the wrong way round (85 and 86 swapped)"):
        solution = solved(circuit, {"key": "on"}, f"relay K1: {fault}", level=0)
        assert mode(solution, "fuse F1.element")
        assert not mode(solution, "relay K1.armature")


def test_a_relay_without_a_diode_does_not_mind_which_end_is_plus() -> None:
    # DIN 72552 names 86 the start and 85 the end of the winding: a bare winding pulls either way round.
    turned = SHEET.replace("relay coil K1 80 ohm, frame", "K1.85, K1.86, frame").replace(
        "{pull-in", "{coil: 80 ohm, pull-in"
    )
    circuit = circuit_of(turned)
    assert mode(solved(circuit, {"key": "on"}), "relay K1.armature")
    assert not [m.name for m in circuit.modes if "85 and 86" in m.mode]


@pytest.mark.parametrize(("key", "works", "rests"), [("off", 12 / 100, 0.0), ("on", 0.0, 12 / 200)])
def test_swapped_at_87_the_load_runs_at_rest_and_is_dead_when_pulled(
    key: str, works: float, rests: float
) -> None:
    # Common practice, no source: the wire of 87 put on the blade beside it has the resting contact.
    solution = solved(circuit_of(SHEET), {"key": key}, "relay K1: 87 and 87a swapped in its socket")
    assert amps(solution, "resistor R1.body") == pytest.approx(works, rel=0.01, abs=1e-6)
    assert amps(solution, "resistor R2.body") == pytest.approx(rests, rel=0.01, abs=1e-6)


def test_contacts_that_no_run_meets_have_no_wires_to_swap() -> None:
    coil_only = SHEET.partition("  load:")[0] + "parts:" + SHEET.partition("parts:")[2]
    assert not [m.name for m in circuit_of(coil_only).modes if "87a" in m.mode or "resting" in m.mode]
    four = "\n".join(line for line in SHEET.splitlines() if not line.startswith("  rests"))
    # The only contact wire on 87a: the load is live at rest.
    found = solved(circuit_of(four), {"key": "off"}, "relay K1: 87 and 87a swapped in its socket")
    assert amps(found, "resistor R1.body") == pytest.approx(12 / 100, rel=0.01)


def test_readings_find_the_wires_that_a_repair_has_changed_about() -> None:
    sheet = bp.parse_sheet(SHEET)
    read = "K1.87 to frame: 11.9 V, key off\nK1.87 to frame: 0.0 V, key on\nrelay K1 clicks, key on"
    leader = bp.rank(sheet, read, circumstances=["after repair"]).suspects[0]
    assert leader.name == "relay K1: 87 and 87a swapped in its socket"
    assert "then prove the guard in every position" in leader.repair


def test_out_of_its_socket_is_said_so_that_it_is_not_its_armature() -> None:
    sheet = bp.parse_sheet(SHEET)
    [reading] = bp.parse_readings("K1.30 to frame: 12 V, key on, relay K1 out", sheet)
    assert reading.setup.unplugged == {"relay K1"}
    with pytest.raises(bp.ReadingError, match="Write `K1 out` or `K1 fitted`"):
        bp.parse_readings("K1.30 to frame: 12 V, key on, K1 pulled", sheet)

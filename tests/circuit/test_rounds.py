"""Shortcuts in settling and solving leave every result as the long way finds it.

The long way is the oracle: all rounds walked one by one, every circuit solved with its own
factorisation. The sheet is the invented one that serves to measure speed.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from backprobe.circuit import settle
from backprobe.circuit.compiled import Circuit, compile_sheet
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import make_setup
from backprobe.circuit.solve import Changes, solve_changes
from backprobe.circuit.stage import Stage, make_stage
from backprobe.sheet.reader import load_sheet

SHEET = Path(__file__).parents[2] / "bench" / "sprayer.yaml"
WORKING = {"key": "on", "gate": "shut", "boom button": "pressed"}


@pytest.fixture(scope="module")
def circuit() -> Circuit:
    return compile_sheet(load_sheet(SHEET))


@pytest.fixture
def stage(circuit: Circuit) -> Stage:
    return make_stage(circuit, make_setup(circuit.sheet, WORKING))


def all_faults(circuit: Circuit) -> Changes:
    rows = [
        [(circuit.parameter_of[key], grid[level]) for key, grid in mode.changes.items()]
        for mode in circuit.modes
        for level in range(len(next(iter(mode.changes.values()))))
    ]
    width = max(map(len, rows))
    padded = [row + [(-1, 0.0)] * (width - len(row)) for row in rows]
    return Changes(
        np.array([[index for index, _ in row] for row in padded], np.int64),
        np.array([[value for _, value in row] for row in padded]),
    )


def test_rounds_that_repeat_need_not_be_walked(
    circuit: Circuit, stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    changes = all_faults(circuit)
    short = solve_changes(stage, changes)
    none = np.zeros(0, np.int64)
    monkeypatch.setattr(settle._Trail, "returned", lambda self, rows: (none, none))
    long = solve_changes(stage, changes)
    assert short.chatters.any()
    assert not short.chatters.all()
    for name in ("modes", "chatters", "alternating"):
        assert (getattr(short, name) == getattr(long, name)).all(), name
    assert np.abs(short.volts - long.volts).max() < 1e-12
    assert np.abs(short.currents - long.currents).max() < 1e-9


def test_an_odd_ring_of_states_ends_where_walking_would() -> None:
    """States 0 1 2 3 1 2 3 ...: back in state 1 in round 4, so round 40 is round 1 + 39 mod 3 = 1."""
    trail = settle._Trail()
    for state in (0, 1, 2, 3, 1):
        trail.append(np.array([[state & 1, state & 2]], bool))
    rows, first = trail.returned(np.array([0]))
    assert (rows.tolist(), first.tolist()) == ([0], [1])
    walked = [0, *[1, 2, 3] * 14]
    for late in range(5, 41):
        found = trail.at(settle._repeated(late, first, 4), rows)
        assert found.tolist() == [[bool(walked[late] & 1), bool(walked[late] & 2)]]


def test_every_fault_matches_its_own_factorisation(circuit: Circuit, stage: Stage) -> None:
    changes = all_faults(circuit)
    updated, full = solve_changes(stage, changes), solve_full(stage, changes.values(circuit.nominal))
    assert (updated.modes == full.modes).all()
    assert np.abs(updated.volts - full.volts).max() < 1e-9
    lead: NDArray[np.float64] = circuit.pair(circuit.node("controller.battery"), circuit.node("frame"))
    seen, expected = updated.transfer(lead) @ lead, full.transfer(lead) @ lead
    # A point that only leaks hold is some 1e10 ohm away, known to a thousandth.
    assert np.abs(seen - expected).max() < 1e-3 * (1 + np.abs(expected)).max()
    held = expected < 1e6
    assert held.any()
    assert np.abs(seen / expected - 1)[held].max() < 1e-4


def test_a_break_in_the_only_way_takes_the_circuit_with_the_branch_open(
    circuit: Circuit, stage: Stage
) -> None:
    """All severities of a joint that alone feeds the controller, from worn to a full break."""
    joint = circuit.parameter_of["C1-1.pin ohms"]
    ohms = 10 ** np.linspace(-2, 10, 25)
    changes = Changes(np.full((25, 1), joint), ohms[:, None])
    updated, full = solve_changes(stage, changes), solve_full(stage, changes.values(circuit.nominal))
    assert np.abs(updated.volts - full.volts).max() < 1e-9
    fed = updated.across("controller.battery", "battery.-")
    assert fed[0] > 11
    assert abs(fed[-1]) < 1

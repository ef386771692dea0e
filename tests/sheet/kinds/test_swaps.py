"""Wires that have changed places: every such fault of a sheet shows somewhere, in some operator state."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

import backprobe as bp
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import Setup, make_setup
from backprobe.demo.story import demo_sheets
from backprobe.readings.points import reachable_points
from backprobe.sheet.templates import templates

SHEETS = {name: sheet for name, sheet in demo_sheets().items()} | {t.name: t.sheet() for t in templates()}
DEAD_PAIR = "bus-pair"
"""Two alike wires without volts of their own: swapped, the nodes no longer understand each other, and no
meter shows it."""
SEEN = 0.01
"""Volts that a meter of two decimals shows [V]."""


def setups(sheet: bp.Sheet) -> list[Setup]:
    """Every operator state with all plugged, and each plug off in each of them."""
    states = [
        dict(s) for s in product(*[[(c.name, p) for p in c.positions] for c in sheet.controls.values()])
    ]
    plugs = [frozenset[str](), *(frozenset({name}) for name in sheet.connectors)]
    return [make_setup(sheet, state, off) for state in states for off in plugs]


@pytest.mark.parametrize("name", [n for n in SHEETS if n != DEAD_PAIR])
def test_every_swap_changes_what_some_point_shows(name: str) -> None:
    sheet = SHEETS[name]
    engine = bp.Engine(sheet)
    modes = [k for k, m in enumerate(engine.circuit.modes) if "swapped" in m.mode]
    rows = np.array([0, *(int(engine.rows_of_mode[k][0]) for k in modes)])
    quiet = set(modes)
    for setup in setups(sheet):
        if not quiet:
            break
        solution = solve_full(engine.stage(setup), engine.single_values[rows])
        nodes = [engine.circuit.node(p.terminal) for p in reachable_points(sheet, setup.unplugged)]
        volts = solution.padded[:, nodes]
        shows = (np.abs(volts - volts[0]) > SEEN).any(axis=1)
        quiet -= {k for k, shown in zip(modes, shows[1:], strict=True) if shown}
    assert [engine.circuit.modes[k].name for k in quiet] == []

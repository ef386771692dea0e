"""Every kind of part, in a tiny sheet of its own: it builds, and each of its faults is one.

A kind without an entry here fails, so that a new one brings its sheet. Field values are
invented; where a default is a figure of the trade its source stands in the kind's own file.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from backprobe.circuit.compiled import Circuit, compile_sheet
from backprobe.circuit.setup import make_setup
from backprobe.circuit.solve import Changes, solve_changes
from backprobe.circuit.stage import make_stage
from backprobe.sheet.anatomy import OPEN, Mode
from backprobe.sheet.kind import CLOSED, LEVELS, TEXT, VALUE, Kind
from backprobe.sheet.kinds import registry
from backprobe.sheet.kinds.wire import copper_resistance
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet
from tests.sheet.tiny_sheets import RUNS, text_of

FAMILIES = {"copper", "contact", "part", "source", "electronics", "wiring"}
KINDS = sorted(registry().by_name)


def sheet_of(kind: str, system: str = "12 V") -> Sheet:
    return parse_sheet(text_of(kind, system))


def own_modes(kind: str, circuit: Circuit) -> list[Mode]:
    names = {p.name for p in circuit.sheet.parts.values() if p.kind == kind}
    if kind == "connector":
        names = set(circuit.sheet.connectors)
    return [m for m in circuit.modes if m.part in names]


def test_every_kind_has_its_sheet_here() -> None:
    assert set(RUNS) == set(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_builds_and_solves(kind: str) -> None:
    sheet = sheet_of(kind)
    circuit = compile_sheet(sheet)
    if kind != "connector":
        assert any(p.kind == kind for p in sheet.parts.values())
    for position in ("up", "down"):
        stage = make_stage(circuit, make_setup(sheet, {"arm": position}))
        solution = solve_changes(stage, Changes(np.full((1, 1), -1, np.int64), np.zeros((1, 1))))
        assert np.isfinite(solution.volts).all()
        assert not solution.chatters.any()
        # Nothing in a passive circuit stands above its highest source.
        assert np.abs(solution.volts).max() < 15


@pytest.mark.parametrize("kind", KINDS)
def test_each_fault_changes_parameters_that_exist_by_grids_of_one_length(kind: str) -> None:
    circuit = compile_sheet(sheet_of(kind))
    modes = own_modes(kind, circuit)
    assert modes or kind == "controller"
    for mode in modes:
        assert mode.changes, mode.name
        assert len({len(grid) for grid in mode.changes.values()}) == 1, mode.name
        for key, grid in mode.changes.items():
            parameter = circuit.parameters[circuit.parameter_of[key]]
            assert grid, mode.name
            assert all(np.isfinite(grid)), mode.name
            if parameter.logarithmic:
                assert min(grid) > 0 and max(grid) <= OPEN, mode.name
        nominal = np.array([[circuit.nominal[circuit.parameter_of[key]]] for key in mode.changes])
        assert not np.allclose(np.array(list(mode.changes.values())), nominal, rtol=1e-3), mode.name


@pytest.mark.parametrize("kind", KINDS)
def test_each_fault_says_what_it_is_and_what_to_do(kind: str) -> None:
    modes = own_modes(kind, compile_sheet(sheet_of(kind)))
    assert len({m.name for m in modes}) == len(modes)
    for mode in modes:
        assert mode.rate > 0
        assert mode.why and mode.repair
        assert mode.minutes > 0
        assert mode.cost >= 0
        assert mode.spread >= 0
        assert mode.family in FAMILIES


@pytest.mark.parametrize("kind", KINDS)
def test_each_fault_shows_somewhere(kind: str) -> None:
    # In some operator state one of its severities moves some point, or some current, by a
    # thousandth of a volt or a tenth of a milliampere: else no reading could find it.
    sheet = sheet_of(kind)
    circuit = compile_sheet(sheet)
    modes = own_modes(kind, circuit)
    moved = {m.name: 0.0 for m in modes}
    for position, mode in product(("up", "down"), modes):
        stage = make_stage(circuit, make_setup(sheet, {"arm": position}))
        value = np.array([[0.0] * len(mode.changes), *zip(*mode.changes.values(), strict=True)])
        index = np.repeat([[circuit.parameter_of[k] for k in mode.changes]], len(value), axis=0)
        index[0] = -1
        solution = solve_changes(stage, Changes(index, value))
        volts = np.abs(solution.volts[1:] - solution.volts[0]).max()
        current = np.abs(solution.currents[1:] - solution.currents[0]).max()
        moved[mode.name] = max(moved[mode.name], volts / 1e-3, current / 1e-4)
    assert not [name for name, size in moved.items() if size < 1]


@pytest.mark.parametrize("kind", KINDS)
def test_defaults_are_honest_intervals_with_a_reason(kind: str) -> None:
    for spec in registry().by_name[kind].fields:
        assert spec.shape in {VALUE, CLOSED, LEVELS, TEXT}
        if spec.default is None:
            continue
        nominal, low, high = spec.default
        assert low < nominal < high, spec.name
        assert spec.why, spec.name


@pytest.mark.parametrize(
    ("kind", "field", "factor"), [("coil", "ohms", 4), ("relay", "pull-in", 2), ("battery", "volts", 2)]
)
def test_defaults_follow_the_volts_of_the_machine(kind: str, field: str, factor: float) -> None:
    # Same watts at twice the volts: four times the ohms.
    spec = registry().by_name[kind].field(field)
    assert spec is not None
    one, other = spec.default_value(12.0), spec.default_value(24.0)
    assert one is not None and other is not None
    assert other.nominal == pytest.approx(factor * one.nominal)


def test_a_wire_has_the_resistance_of_its_copper() -> None:
    # IEC 60028 [seen, third party]: 17.241 ohm mm2/km at 20 C. AWG 18 of 0.8230 mm2: 20.95 ohm/km.
    assert copper_resistance(1000.0, 1.0) == pytest.approx(17.241)
    assert copper_resistance(1000.0, 0.8230) == pytest.approx(20.95, abs=5e-3)
    wire = sheet_of("wire").parts["wire W1"].values["ohms"]
    assert wire.nominal == pytest.approx(0.017241 * 2 / 1.5)
    assert wire.low < wire.nominal < wire.high


def test_a_lamp_has_the_resistance_of_its_watts_at_the_volts_of_the_machine() -> None:
    # U^2/P: 144/21 and 576/21 ohm.
    assert sheet_of("lamp").parts["lamp H1"].values["ohms"].nominal == pytest.approx(144 / 21)
    assert sheet_of("lamp", "24 V").parts["lamp H1"].values["ohms"].nominal == pytest.approx(576 / 21)


def test_a_file_that_defines_a_kind_is_all_it_takes() -> None:
    for name, kind in registry().by_name.items():
        assert isinstance(kind, Kind)
        assert kind.name == name
        assert kind.about
        for enter, leave in kind.passes.values():
            assert {enter, leave} <= set(kind.terminals)

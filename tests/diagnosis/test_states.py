"""Operator states: in which a function works, and whether its guard holds it."""

from __future__ import annotations

from math import prod

import backprobe as bp
from backprobe.diagnosis.states import guard_shut, operator_states, try_states, works_with
from tests.cli.helpers import SHEET, SKETCH


def test_every_state_comes_once_and_rest_comes_first() -> None:
    sheet = bp.parse_sheet(SHEET)
    states = list(operator_states(sheet))
    assert len(states) == len(set(states)) == prod(len(c.positions) for c in sheet.controls.values())
    assert states[0] == bp.make_setup(sheet)


def test_a_series_chain_works_only_with_every_switch_closed() -> None:
    # Key and bar are in series: of 3 x 2 states only those with both closed feed the coil.
    engine = bp.Engine(bp.sketch(SKETCH))
    found = try_states(engine)
    assert found.complete and not found.unguarded
    best = found.best
    assert best is not None
    assert dict(best.state) == {"key": "on", "bar": "down"}
    for setup in operator_states(engine.sheet):
        closed = setup.position("key") in {"on", "start"} and setup.position("bar") == "down"
        assert (works_with(engine, setup) == ("relay K3",)) == closed


def test_a_guard_that_the_wiring_ignores_is_found() -> None:
    text = (
        "sheet: x\ncontrols: {key: [off, on], seat: [empty, seated]}\n"
        "runs: {one: [battery+, key switch, coil Y1 8 ohm, frame]}\n"
        "functions: {drive: {loads: coil Y1, guard: seat is seated}}\n"
    )
    sheet = bp.parse_sheet(text)
    found = try_states(bp.Engine(sheet))
    assert dict(found.unguarded["drive"].state) == {"key": "on", "seat": "empty"}
    works = found.works["drive"]
    assert works is not None and guard_shut(sheet.functions["drive"], works)


def test_a_function_that_cannot_work_has_no_state() -> None:
    sheet = bp.parse_sheet(SHEET.replace("3.5..5.5 V: shut", "8..9 V: shut"))
    found = try_states(bp.Engine(sheet))
    assert found.best is None and found.works == {"lift": None}


def test_a_blown_fuse_stops_everything() -> None:
    engine = bp.Engine(bp.sketch(SKETCH))
    setup = try_states(engine, every=False).best
    assert setup is not None
    assert works_with(engine, setup, "fuse F2: blown") == ()


def test_sheets_with_very_many_states_are_tried_in_part() -> None:
    switches = " > ".join(f"button B{k}" for k in range(1, 19))
    engine = bp.Engine(bp.sketch(f"battery+ > {switches} > coil Y1 > frame"))
    assert not try_states(engine).complete

"""A slip, a worn joint and a cause at once, on a dumper of the demo fleet, acted out by the solver."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.demo.story import demo_sheets

STATE = (
    "state: key start, seat seated, lever neutral, brake set, all plugged\n"
    "starter dead\nrelay K2 does not click, C6 unplugged\nstate: C6 unplugged\n"
    "before key start switch to battery-: 12.42 V\n"
    # Really taken at C8-2, behind the brake switch.
    "C8-1 to battery-: 5.41 V\n"
)


@pytest.mark.parametrize("supply_side", ["battery+ to C9-2: 250 mV", "C9-2 to battery-: 12.18 V"])
def test_slip_and_wear_and_cause_are_told_apart(supply_side: str) -> None:
    """Seat switch worn to 4.4 ohm, brake switch 123 ohm, one reading at the wrong cavity."""
    text = STATE + supply_side + "\nC9-2 to C8-1: 0 V\nC8-1 to C8-2: 6.77 V\n"
    answer = bp.rank(demo_sheets()["dumper"], text)
    leaders = {s.name: s for s in answer.groups[0].suspects}
    assert "brake switch: contact worn or dirty" in leaders
    assert answer.groups[0].probability > 0.8
    assert answer.readings.all[answer.slips[0][0]].red_name == "C8-1"
    assert answer.readings.all[answer.slips[0][0]].value == pytest.approx(5.41)
    severity = leaders["brake switch: contact worn or dirty"].severity
    assert severity is not None
    assert severity[0] < 123 < severity[2]
    worn = {w.name for w in answer.worn}
    assert "seat switch: contact worn or dirty" in worn

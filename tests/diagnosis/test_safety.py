"""No check asks for a function while its guard is open."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.demo.story import demo_sheets

COMPLAINTS = {
    "dumper": "starter dead, key start, seat seated, lever neutral, brake set, all plugged",
    "sprayer": "boom dead, key on, gate shut, boom button pressed, all plugged",
    "platform": "lift dead, key on, gate shut, outriggers down, lever raise, all plugged",
}
GUARDS = {
    "dumper": {"seat": "seated", "lever": "neutral", "brake": "set"},
    "sprayer": {"gate": "shut"},
    "platform": {"gate": "shut", "outriggers": "down"},
}
ASKED = {"dumper": ("key", "start"), "sprayer": ("boom button", "pressed"), "platform": ("lever", "raise")}


@pytest.mark.parametrize("name", COMPLAINTS)
def test_no_check_opens_a_guard_while_the_function_is_asked_for(name: str) -> None:
    """Every offered check of the demo complaints, by an independent look at its operator state."""
    checks = bp.next_checks(bp.rank(demo_sheets()[name], COMPLAINTS[name]), 500)
    assert len(checks) > 10
    control, position = ASKED[name]
    for check in checks:
        state = dict(check.candidate.setup.state)
        if state[control] == position:
            assert all(state[c] == p for c, p in GUARDS[name].items()), check.words()


def test_what_was_unplugged_for_safety_stays_unplugged() -> None:
    """Once C6 is off so that the engine cannot crank, no start check asks for it to be plugged."""
    click = "relay K2 does not click, key start, C6 unplugged, seat seated, lever neutral, brake set"
    lines = f"{COMPLAINTS['dumper']}\n{click}\n"
    checks = bp.next_checks(bp.rank(demo_sheets()["dumper"], lines), 100)
    for check in checks:
        setup = check.candidate.setup
        if dict(setup.state)["key"] == "start":
            assert "C6" in setup.unplugged, check.words()


def test_looking_settles_what_numbers_cannot() -> None:
    """Two joints between the same readings: the one that looks bad leads clearly."""
    sheet = bp.sketch("battery+ > fuse F1 5 A > key > splice S4 > seat switch > coil Y1 20 ohm > frame")
    lines = (
        "state: key on, seat seated, all plugged\ncoil Y1 dead\nafter key switch to battery-: 12.40 V\n"
        "before seat switch to battery-: 6.20 V\n"
    )
    before = {s.name: s.probability for s in bp.rank(sheet, lines).suspects}
    after = {s.name: s.probability for s in bp.rank(sheet, lines + "looked at S4: corroded\n").suspects}
    assert after["splice S4: corroded"] > before["splice S4: corroded"] + 0.15
    assert after["splice S4: corroded"] > 0.6

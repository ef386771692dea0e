"""A relay written by its terminals, and guards that act through its coil."""

from __future__ import annotations

import pytest

import backprobe as bp


def test_terminals_side_by_side_are_the_contact() -> None:
    """`K1.30 > K1.87` is the contact, not a wire across it: without the coil the load is dead."""
    sheet = bp.sketch(
        "power: battery+ > fuse F1 20A > K1.30 > K1.87 > coil Y1 12 ohm > frame\n"
        "coil: battery+ > key > relay coil K1 > frame"
    )
    volts = {
        key: next(e.volts for e in bp.predict(sheet, {"key": key}, points=["before coil Y1"]))
        for key in ("off", "on")
    }
    assert abs(volts["off"]) < 0.1
    assert volts["on"] == pytest.approx(12.5, abs=0.3)


def test_a_jump_inside_a_relay_is_refused() -> None:
    """No current goes from coil to contact inside a relay."""
    with pytest.raises(bp.SheetError, match="is no way through a relay"):
        bp.sketch("battery+ > relay coil K1 > frame; battery+ > K1.30 > K1.85 > lamp H1 10 W > frame")


def test_a_guard_on_a_relays_coil_guards_the_relays_load() -> None:
    """The gate switch holds the relay that feeds the valve: it is the valve's guard."""
    sheet = bp.sketch(
        "power: battery+ > relay contact K1 > coil Y1 12 ohm > frame\n"
        "coil: battery+ > key > gate switch > relay coil K1 > frame"
    )
    assert sheet.functions["coil Y1"].guard == "gate is shut"


def test_a_sensor_is_named_with_its_kind_inside_a_sketch() -> None:
    """What the message proposes works: kind and name before the terminal."""
    sheet = bp.sketch(
        "feed: controller.feed > C4-1 > ratiometric sensor gate sensor.supply\n"
        "signal: gate sensor.output > C4-2 > controller.gate input\n"
        "return: gate sensor.ground > C4-3 > controller.sensor ground\n"
        "ground: controller.ground > frame"
    )
    assert sheet.parts["gate sensor"].kind == "ratiometric sensor"
    assert sheet.connectors["C4"].part == "gate sensor"

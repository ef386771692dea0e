"""Supply codes and volts lost: ISO 16750-2 and what the trades allow, each under its source.

Marks: [seen] read in the source named, [mem] from memory, [calc] computed from seen or remembered inputs.
"""

from __future__ import annotations

import pytest

from backprobe.workbench.supply import (
    CODES,
    JUMP_START,
    OVER_VOLTAGE,
    STOPPED,
    codes_met,
    most_volts,
    running_volts,
)
from backprobe.workbench.wire import (
    CIRCUIT,
    CORRODED_JOINT,
    CREDITED,
    CRITICAL,
    FAULT,
    LIMITS,
    NEW_JOINT,
    ORDINARY,
    joint,
    least_circular_mils,
    least_gauge,
    least_size,
    wire_drop,
)
from backprobe.workbench.wire_tables import circular_mils, gauge_area

# --- ISO 16750-2 (2023), tables 3 and 4 [seen] ------------------------------------------------------


@pytest.mark.parametrize(
    ("system", "code", "least", "most"),
    [
        (12, "A", 6, 16),
        (12, "B", 8, 16),
        (12, "C", 9, 16),
        (12, "D", 10.5, 16),
        (24, "E", 10, 32),
        (24, "F", 16, 32),
        (24, "G", 22, 32),
        (24, "H", 18, 32),
    ],
)
def test_supply_codes(system: int, code: str, least: float, most: float) -> None:
    assert CODES[system][code] == (least, most)
    assert most_volts(system) == most
    assert code in codes_met(least, system)
    assert code not in codes_met(least + 0.1, system)


def test_running_stopped_and_over_voltage() -> None:
    assert (running_volts(12), running_volts(24)) == (14, 28)
    assert (STOPPED[12], STOPPED[24]) == (12, 24)
    assert (OVER_VOLTAGE[12], OVER_VOLTAGE[24], JUMP_START) == (18, 36, 26)


# --- volts that may be lost ---------------------------------------------------------------------


def test_trade_limits() -> None:
    # A vehicle training library [seen]: ground path 0.1 V, power wire 0.2 V, switch 0.3 V, starter 0.5 V.
    assert dict(LIMITS) == {
        "ground path": 0.1,
        "power wire": 0.2,
        "switch": 0.3,
        "starter cables together": 0.5,
    }
    # A list that a printed repair manual credits to SAE [seen]; the primary document was not found.
    assert [v for _, v in CREDITED] == [0.0, 0.1, 0.2, 0.3]
    assert FAULT == 1.0


@pytest.mark.parametrize(
    ("volts", "over"),
    [
        (0.09, ()),
        (0.15, ("ground path",)),
        (0.25, ("ground path", "power wire")),
        (0.4, ("ground path", "power wire", "switch")),
        (0.6, ("ground path", "power wire", "switch", "starter cables together")),
    ],
)
def test_a_drop_is_held_against_each_limit(volts: float, over: tuple[str, ...]) -> None:
    assert joint(volts, 5).over == over


def test_joints_new_and_corroded() -> None:
    # A public calculator for vehicles [seen]: new joint 2 to 5 mohm, corroded 50 to 200 mohm, circuit 0.5 V.
    assert (NEW_JOINT, CORRODED_JOINT, CIRCUIT) == ((0.002, 0.005), (0.05, 0.2), 0.5)
    assert joint(0.004 * 7, 7).state == "as a new joint"
    assert joint(0.1 * 7, 7).state == "as a corroded joint"
    assert joint(0.3 * 7, 7).state == "worse than a corroded joint"


def test_a_joint_by_its_drop() -> None:
    # [calc] 1.84 V at 4.2 A is 0.44 ohm and 7.7 W; 2.12 V at 45 A is 47 mohm and 95 W.
    lug, strap = joint(1.84, 4.2), joint(2.12, 45)
    assert (lug.ohms, lug.watts) == pytest.approx((0.44, 7.7), abs=0.05)
    assert strap.ohms == pytest.approx(0.047, abs=5e-4)
    assert strap.watts == pytest.approx(95, abs=0.5)


# --- sizing: marine E-11 practice, length counted out and back [seen] -----------------------------


def test_three_and_ten_percent() -> None:
    assert (CRITICAL, ORDINARY) == (0.03, 0.10)


@pytest.mark.parametrize(
    ("feet", "share", "cmil", "gauge"),
    [
        (25, 0.03, 7465, 10),  # the printed table's 25 ft column, 10 A
        (25, 0.10, 2240, 16),
        (21, 0.03, 6271, 12),  # the true 11 ft + 10 ft: 12 AWG would do
    ],
)
def test_the_published_pump(feet: float, share: float, cmil: float, gauge: int) -> None:
    # 10 A pump, 11 ft + 10 ft on 12 V: printed 10 AWG at 3 % and 16 AWG at 10 % [seen]. The length rule is
    # out and back, rounded up to the table's column; cmil = 10.75 I L / V.
    found = least_circular_mils(feet, 10, share * 12)
    assert found == pytest.approx(cmil, abs=1)
    assert least_gauge(found) == gauge


def test_gauges_of_the_published_pump_in_circular_mils() -> None:
    # 10 AWG 10 381, 12 AWG 6530, 16 AWG 2583 cmil [seen].
    for gauge, cmil in ((10, 10381), (12, 6530), (16, 2583)):
        assert circular_mils(gauge_area(gauge)) == pytest.approx(cmil, abs=3)


def test_the_least_size_is_the_first_that_holds() -> None:
    # IEC 60228 class 5 rows [seen]: 6.4 m (21 ft) at 10 A may lose 0.36 V, so 5.6 ohm/km: 4 mm2, not 2.5 mm2.
    size = least_size(6.4, 10, 0.36)
    assert size == 4.0
    assert wire_drop(6.4, 4.0, 10).share <= 0.03 < wire_drop(6.4, 2.5, 10).share


@pytest.mark.parametrize(("share", "critical", "ordinary"), [(0.03, True, True), (0.05, False, True)])
def test_building_practice_is_another_rule(share: float, critical: bool, ordinary: bool) -> None:
    # Building practice [seen] allows 3 % for the branch and 5 % with its feeder: not the marine 3 and 10 %.
    assert (share <= CRITICAL, share <= ORDINARY) == (critical, ordinary)

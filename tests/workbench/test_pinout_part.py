"""The pins of a sensor on the bench: hand-reckoned volts, roles, and nothing that could harm it."""

from __future__ import annotations

from itertools import permutations

import pytest

from backprobe.errors import ReadingError, UnitError
from backprobe.workbench.pinout_part import limiting_ohms, parse_part_lines, part_pins

VOLTS, LIMIT = 9.0, 2700.0
DRAW, DIODE, SLOPE = 900.0, 0.5, 60.0
"""A sensor reckoned by hand: its supply side, and the substrate path from ground to output."""


def across(plus: str, minus: str) -> float:
    """Volts across two terminals of a three-wire sensor whose output is let go."""
    ways = {
        ("supply", "ground"): VOLTS * DRAW / (DRAW + LIMIT),
        ("ground", "supply"): VOLTS * DRAW / (DRAW + LIMIT),
        ("ground", "output"): DIODE + (VOLTS - DIODE) * SLOPE / (SLOPE + LIMIT),
        ("supply", "output"): DIODE + (VOLTS - DIODE) * (DRAW + SLOPE) / (DRAW + SLOPE + LIMIT),
    }
    return ways.get((plus, minus), VOLTS)


@pytest.mark.parametrize("order", list(permutations("ABC")))
def test_six_readings_find_every_order(order: tuple[str, str, str]) -> None:
    role = dict(zip(order, ("supply", "output", "ground"), strict=True))
    lines = [f"{a}+ {b}- {across(role[a], role[b]):.2f} V" for a, b in permutations("ABC", 2)]
    found = part_pins("\n".join(lines))
    assert found.found
    assert found.assignments[0][0] == order
    assert found.missing == ()


def test_following_what_is_missing_finds_the_order() -> None:
    order = ("C", "A", "B")
    role = dict(zip(order, ("supply", "output", "ground"), strict=True))
    lines: list[str] = []
    for _ in range(6):
        found = part_pins("\n".join(lines))
        if found.found:
            break
        plus, minus = (w[0] for w in found.missing[0][0].split()[:2])
        third = found.missing[0][0].split()[2:]
        assert not third or role[minus] != role[third[0]]
        shown = across(role[plus], role[minus])
        if third:
            shown = 0.0 if role[third[0]] == "output" and role[minus] == "ground" else shown
        lines.append(f"{found.missing[0][0]} {shown:.2f} V")
    assert found.assignments[0][0] == order
    assert len(lines) <= 4


def test_a_potentiometer_is_seen_and_its_ends_stay_alike() -> None:
    # 4.9 kohm, wiper at 40 % from C: ends 4.9 k, wiper to B 2.94 k, wiper to C 1.96 k.
    def volts(ohms: float) -> str:
        return f"{VOLTS * ohms / (ohms + LIMIT):.2f} V"

    pairs = {"B C": 4900.0, "A B": 2940.0, "A C": 1960.0}
    lines = []
    for pair, ohms in pairs.items():
        one, other = pair.split()
        lines += [f"{one}+ {other}- {volts(ohms)}", f"{other}+ {one}- {volts(ohms)}"]
    found = part_pins("\n".join(lines))
    assert found.kinds[0][0] == "potentiometer"
    assert found.kinds[0][1] > 0.95
    wiper = sum(p for pins, p in found.assignments if pins[1] == "A")
    assert wiper > 0.95
    assert found.assignments[0][1] == pytest.approx(0.5, abs=0.2)


def test_a_sensor_that_conducts_nowhere() -> None:
    found = part_pins("\n".join(f"{a}+ {b}- 9.00 V" for a, b in permutations("ABC", 2)))
    assert found.kinds[0][0] == "nothing conducts"
    assert not found.found


def test_no_two_pins_can_take_more_than_four_milliamperes() -> None:
    # 9 V / 4 mA = 2250 ohm: the next E12 value is 2.7 kohm; 12 V: 3 k, 3.3 k; 5 V: 1250, 1.5 k.
    assert [limiting_ohms(v) for v in (9.0, 12.0, 5.0)] == [2700.0, 3300.0, 1500.0]
    assert part_pins("").amps <= 4e-3
    with pytest.raises(UnitError, match="too much"):
        part_pins("", ohms=470.0)
    with pytest.raises(UnitError, match="no source"):
        part_pins("", volts=24.0)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("A+ A- 3 V", "twice"),
        ("A+ B- B 3 V", "twice"),
        ("A+ B- 3 ohm", "no reading"),
        ("A B 3 V", "no reading"),
        ("A+ B- 30 V", "too many volts"),
        ("A+ B- 3 V; C+ D- 2 V", "three pins"),
    ],
)
def test_lines_that_are_refused(text: str, says: str) -> None:
    with pytest.raises(ReadingError, match=says):
        part_pins(text)


def test_lines_are_read_with_third_pin_and_target() -> None:
    found, pins = parse_part_lines("1+ 3- 2.4 V\n1+ 3- 2 0.52 V, with target  # steel\n")
    assert pins == ("1", "2", "3")
    assert [(r.plus, r.minus, r.third, r.volts, r.target) for r in found] == [
        ("1", "3", "", 2.4, False),
        ("1", "3", "2", 0.52, True),
    ]

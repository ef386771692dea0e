"""Three unlabelled pins, acted out by hand: roles, sources, the missing reading, the sheet."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import permutations
from math import inf, log2

import numpy as np
import pytest

import backprobe as bp
from backprobe.errors import ReadingError
from backprobe.workbench.pinout import PinOut, pin_out
from backprobe.workbench.pinout_lines import parse_pin_lines
from backprobe.workbench.pinout_next import information
from backprobe.workbench.pinout_sheet import sheet_text

METER = 10e6
Pins = Mapping[str, tuple[float, float]]


def shown(pins: Pins, red: str, load: float = inf, far: str = "") -> float:
    """Volts on a pin with a resistor to another pin or to ground: Kirchhoff at two nodes, by hand."""
    volts, ohms = pins[red]
    if not far:
        siemens = 1 / ohms + 1 / METER + 1 / load
        return volts / ohms / siemens
    other, other_ohms = pins[far]
    a = np.array([[1 / ohms + 1 / METER + 1 / load, -1 / load], [-1 / load, 1 / other_ohms + 1 / load]])
    return float(np.linalg.solve(a, [volts / ohms, other / other_ohms])[0])


def readings(pins: Pins, *lines: str) -> str:
    """The lines with what the circuit shows, to a handheld's 10 mV."""
    done = []
    for line in lines:
        words = line.split()
        if words[1] == "open":
            done.append(f"{line} {shown(pins, words[0]):.2f} V")
        else:
            load = {"1k": 1e3, "470": 470.0, "4.7k": 4700.0}[words[2]]
            far = "" if words[4] == "ground" else words[4]
            done.append(f"{line} {shown(pins, words[0], load, far):.2f} V")
    return "\n".join(done)


def all_lines(feed: str, others: tuple[str, str]) -> tuple[str, ...]:
    names = (feed, *others)
    return (
        *(f"{p} open" for p in names),
        *(f"{p} with 1k to ground" for p in names),
        *(f"{p} with 1k to {feed}" for p in others),
    )


FAMILIES = {
    "pull-down": ((7.7, 0.9), (0.0, 33e3)),
    "pull-up to the feed": ((7.7, 0.9), (7.7, 5600.0)),
    "pull-up to another supply": ((7.7, 0.9), (5.1, 3900.0)),
    "two-wire input, 8.2 V behind 1 kohm": ((5.3, 0.6), (8.2, 1000.0)),
    "driver that is on": ((5.3, 0.6), (12.5, 0.2)),
    "held in the middle": ((7.7, 0.9), (3.9, 12e3)),
    "dead": ((7.7, 0.9), (0.0, 1e9)),
}


@pytest.mark.parametrize("kind", FAMILIES)
def test_every_family_is_recognised(kind: str) -> None:
    feed, signal = FAMILIES[kind]
    pins = {"A": signal, "B": feed, "C": (0.0, 0.4)}
    found = pin_out(readings(pins, *all_lines("B", ("A", "C"))))
    pins_in_order, share = found.assignments[0]
    assert pins_in_order == ("B", "C", "A")
    assert share > 0.95
    assert found.kinds["signal"][0][0] == kind


@pytest.mark.parametrize("order", list(permutations("ABC")))
def test_all_orders_of_the_pins(order: tuple[str, str, str]) -> None:
    feed, ground, signal = order
    pins = {feed: (8.3, 0.7), ground: (0.0, 0.3), signal: (0.0, 27e3)}
    found = pin_out(readings(pins, *all_lines(feed, (ground, signal))))
    assert found.assignments[0][0] == order
    assert found.found
    assert found.missing == ()
    assert found.source("signal").ohms == pytest.approx(27e3, rel=0.15)
    assert found.source("feed").volts == pytest.approx(8.3, abs=0.02)


def test_the_meter_is_taken_off() -> None:
    # A source behind 1 Mohm: a 10 Mohm meter shows 10/11 of it.
    pins = {"A": (8.3, 0.7), "B": (0.0, 0.3), "C": (5.5, 1e6)}
    text = readings(pins, "A open", "B open", "A with 1k to ground", "B with 1k to A")
    text += f"\nC open {shown(pins, 'C'):.3f} V\nC with 470k to ground {shown(pins, 'C', 470e3):.3f} V"
    source = next(s for s in pin_out(text).sources if s.pin == "C")
    assert source.measured
    assert source.volts == pytest.approx(5.5, rel=0.01)
    assert source.ohms == pytest.approx(1e6, rel=0.02)
    assert source.ohms_low < 1e6 < source.ohms_high


def test_two_loaded_readings_give_the_textbook_source() -> None:
    # OpenStax University Physics vol. 2, m58453 [seen]: 12.00 V, 0.100 ohm shows 11.881 V on 10 ohm and
    # 10.00 V on 0.5 ohm.
    found = pin_out("A with 10 ohm to ground 11.8812 V; A with 0.5 ohm to ground 10.0000 V; B open 0 V")
    source = next(s for s in found.sources if s.pin == "A")
    assert source.measured
    assert source.volts == pytest.approx(12.0, abs=1e-3)
    assert source.ohms == pytest.approx(0.1, abs=1e-4)


def test_one_reading_is_not_an_answer_and_the_missing_one_is_named() -> None:
    found = pin_out("A open 7.9 V")
    assert not found.found
    # Seven volts may be a feed or a pull-up: nobody knows yet.
    assert found.assignments[0][1] < 0.5
    assert len(found.missing) == 3
    assert found.missing[0].bits >= found.missing[-1].bits > 0
    assert "A open" not in {m.words for m in found.missing}
    words = found.missing[0].words
    assert "with 1k to" in words or "ohms, key off" in words


def test_following_what_is_missing_leads_to_the_answer() -> None:
    pins = {"A": (0.0, 0.3), "B": (6.9, 4300.0), "C": (6.9, 0.8)}
    lines: list[str] = []
    for _ in range(9):
        found = pin_out("\n".join(lines))
        if found.found and not found.missing:
            break
        words = found.missing[0].words
        if "key off" in words:
            ohms = {"A": "0.5 ohm", "B": "4.41k", "C": "41k"}[words[0]]
            lines.append(f"{words[0]} to ground {ohms}")
        else:
            lines.append(readings(pins, words))
    assert found.assignments[0][0] == ("C", "A", "B")
    assert found.found
    assert found.kinds["signal"][0][0] == "pull-up to the feed"


def test_readings_of_no_known_pattern_are_not_explained_away() -> None:
    found = pin_out(
        "A open 3.3 V; B open 9 V; C open 6.6 V; A with 1k to ground 3.0 V; B with 1k to ground 2.0 V"
    )
    assert found.none_of_these > 0.9
    assert not found.found


def test_a_dead_feed_and_an_open_ground_are_seen() -> None:
    dead = {"A": (0.0, 38e3), "B": (0.0, 0.3), "C": (0.0, 21e3)}
    found = pin_out(readings(dead, "A open", "B open", "C open", "A with 1k to ground"))
    assert found.kinds["feed"][0][0] == "dead feed"
    open_ground = {"A": (7.9, 0.8), "B": (0.0, 5e6), "C": (7.9, 6200.0)}
    found = pin_out(
        readings(
            open_ground,
            "A open",
            "B open",
            "C open",
            "A with 1k to ground",
            "C with 1k to ground",
            "B with 1k to A",
        )
    )
    assert found.kinds["ground"][0][0] == "open ground"


def test_twenty_four_volts() -> None:
    pins = {"A": (25.3, 0.4), "B": (0.0, 0.3), "C": (0.0, 15e3)}
    lines = all_lines("A", ("B", "C"))
    found = pin_out(readings(pins, *lines), system_volts=24.0)
    assert found.assignments[0][0] == ("A", "B", "C")
    assert found.kinds["feed"][0][0] == "battery feed"
    # 25 V on 1 kohm is 0.6 W: a quarter-watt resistor is told to be quick about it.
    early = pin_out("A open 25.3 V", system_volts=24.0)
    assert all(m.caution for m in early.missing if "with 1k" in m.words)


@pytest.mark.parametrize(
    ("volts", "level"), [(1.9, "low release"), (4.1, "mid release"), (6.6, "high release")]
)
def test_release_levels(volts: float, level: str) -> None:
    pins = {"A": (7.7, 0.9), "B": (0.0, 0.3), "C": (0.0, 33e3)}
    text = readings(pins, *all_lines("A", ("B", "C")))
    found = pin_out(text + f"\nC with 22k to A {volts} V releases")
    assert found.level == level


def test_the_sheet_that_it_makes_shows_the_same_source() -> None:
    pins = {"A": (7.7, 0.9), "B": (0.0, 0.3), "C": (7.7, 5600.0)}
    found = pin_out(readings(pins, *all_lines("A", ("B", "C"))))
    text = sheet_text(found)
    sheet = bp.parse_sheet(text)
    setup = bp.make_setup(sheet, {"key": "on"}, frozenset({"X1"}))
    rows = {e.point: e for e in bp.predict(sheet, setup)}
    assert rows["X1-A machine side"].volts == pytest.approx(7.7, abs=0.05)
    assert rows["X1-C machine side"].volts == pytest.approx(7.7, abs=0.05)
    assert rows["X1-C machine side"].ohms == pytest.approx(5600, rel=0.03)
    assert rows["X1-B machine side"].ohms < 1


def test_bands_of_the_sheet_end_between_the_levels_that_differ() -> None:
    pins = {"A": (7.7, 0.9), "B": (0.0, 0.3), "C": (0.0, 33e3)}
    text = readings(pins, *all_lines("A", ("B", "C")))
    text += "\nC with 47k to A 1.0 V held; C with 15k to A 4.0 V releases; C with 470 ohm to A 7.0 V code"
    sheet = bp.parse_sheet(sheet_text(pin_out(text)))
    bands = sheet.parts["controller"].pins["signal input"].bands
    assert [b.meaning for b in bands] == ["held", "releases", "code high"]
    assert [b.high for b in bands][:2] == pytest.approx([2.5, 5.5])


@pytest.mark.parametrize("text", ["", "A open 7.9 V", "C2-1 open 12.6 V; C2-3 open 12.5 V; C2-2 open 0 V"])
def test_every_state_of_knowledge_makes_a_sheet_that_reads(text: str) -> None:
    found = pin_out(text)
    written = sheet_text(found)
    assert bp.parse_sheet(written).parts
    # What nobody measured is not called measured.
    assert text or "measured" not in written


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("A is 8 V", "not a reading"),
        ("A open 8 A", "neither volts nor ohms"),
        ("A open eight", "no value"),
        ("A with 1k to A 3 V", "itself"),
        ("A to B 4 ohm", "ohms with something on"),
        ("ground to A 8 V", "begins with the ground"),
        ("A open 80 V", "out of scope"),
        ("A open 8 V; B open 1 V; C open 1 V; D open 0 V", "not three pins"),
    ],
)
def test_lines_that_are_refused(text: str, says: str) -> None:
    with pytest.raises(ReadingError, match=says):
        pin_out(text)


def test_every_bad_line_is_named_with_its_number() -> None:
    with pytest.raises(ReadingError) as error:
        parse_pin_lines("A open 8 V\nB shut 2 V\n# a remark\nC open\n", file="pins.txt")
    assert "pins.txt:2" in str(error.value)
    assert "pins.txt:4" in str(error.value)


def test_information_of_textbook_cases() -> None:
    # Two equally likely labels far apart are one bit; alike they are none; of four, two by two, one.
    even = np.full(4, 0.25)
    narrow = np.full(4, 0.1)
    assert information(even, np.array([0.0, 0.0, 9.0, 9.0]), narrow, ["a", "a", "b", "b"]) == pytest.approx(
        1.0, abs=0.01
    )
    assert information(even, np.zeros(4), narrow, ["a", "a", "b", "b"]) == pytest.approx(0.0, abs=1e-6)
    assert information(even, np.array([0.0, 3.0, 6.0, 9.0]), narrow, list("abcd")) == pytest.approx(
        2.0, abs=0.02
    )
    # A quarter against three quarters: 0.811 bit.
    share = -(0.25 * log2(0.25) + 0.75 * log2(0.75))
    assert information(even, np.array([0.0, 9.0, 9.0, 9.0]), narrow, list("abbb")) == pytest.approx(
        share, abs=0.01
    )


def test_readings_may_be_given_as_values() -> None:
    text = "A open 7.9 V\nB open 0.00 V"
    listed, _ = parse_pin_lines(text)
    one, other = pin_out(text), pin_out(listed)
    assert isinstance(other, PinOut)
    assert one.assignments == other.assignments

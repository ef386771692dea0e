"""Lines about the meter itself and what is seen without a number; common practice, no source."""

from __future__ import annotations

from math import isinf

import pytest

import backprobe as bp
from backprobe.readings.lines import Context, context_after, parse_context
from backprobe.readings.planned import parse_planned
from backprobe.report.reading_words import as_typed
from backprobe.sheet.model import Sheet

TEXT = """\
sheet: Vine mulcher, blade drive
system: 24 V
controls: {key: [off, on], seat: [empty, seated], light: [off, on]}
runs:
  work: [battery+, fuse F6 20 A, relay contact K7, C9-1, coil Y8 14 ohm, C9-2, frame]
  hold: [battery+, fuse F5 3 A, key, seat switch, relay coil K7 230 ohm, frame]
  lamp: [battery+, circuit breaker Q1 10 A, light switch, lamp H1 5 W, frame]
parts: {light switch: {closed: {light: on}}}
functions: {blades: {loads: coil Y8}}
"""
STATE = "key on, seat seated, light off, all plugged"


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    return bp.parse_sheet(TEXT, file="mulcher.yaml")


def read(line: str, sheet: Sheet) -> bp.Reading:
    return bp.parse_reading(line, sheet, parse_context(STATE, sheet))


# --- numbers ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "line",
    [
        "C9-1 to frame: 65 mV, moving 50..95 mV",
        "C9-1 to frame: 65 mV moving 50..95 mV",
        "C9-1 to frame: 65 mV moving from 50 to 95 mV",
    ],
)
def test_a_number_that_moves_keeps_its_ends(line: str, sheet: Sheet) -> None:
    """50 to 95 mV is 45 mV wide: half of it is the width of the reading."""
    found = read(line, sheet)
    assert (found.value, found.low, found.high) == pytest.approx((0.065, 0.050, 0.095))
    assert found.half_width == pytest.approx(0.0225)
    assert found.moving
    assert found.numeric


@pytest.mark.parametrize(
    "said", ["moving 50..95 mV", "50..95 mV", "between 50 and 95 mV", "jumps 50 to 95 mV"]
)
def test_ends_alone_give_their_middle(said: str, sheet: Sheet) -> None:
    found = read(f"C9-1 to frame: {said}", sheet)
    assert (found.value, found.low, found.high) == pytest.approx((0.0725, 0.050, 0.095))


@pytest.mark.parametrize(
    ("line", "volts"),
    [
        ("C9-1 to frame: 65 mV", 0.065),
        ("25.1V at C9-1 to battery-", 25.1),
        ("25.1 V between C9-1 and frame", 25.1),
        ("no voltage at C9-1 to frame", 0.0),
        ("no voltage between C9-1 and frame", 0.0),
        ("1.2 V across coil Y8", 1.2),
        ("C9-1 to frame: 12 V or so", 12.0),
    ],
)
def test_volts_as_they_are_said(line: str, volts: float, sheet: Sheet) -> None:
    assert read(line, sheet).value == pytest.approx(volts)


def test_or_so_is_as_wide_as_about(sheet: Sheet) -> None:
    about, so = (read(f"C9-1 to frame: {t}", sheet) for t in ("about 12 V", "12 V or so"))
    assert about.half_width == so.half_width == pytest.approx(1.2)


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("no voltage at C9-1", "does not say where the black lead was. Write `C9-1 to battery-: 0 V`"),
        ("25.1V at C9-1", "does not say where the black lead was. Write `C9-1 to battery-: 25.1V`"),
        ("C9-1 has no power", "Write `C9-1 to battery-: 0 V`"),
        ("C9-1 to frame: about 6", "has no unit. Write V or ohm"),
        ("C9-1 to frame about 6", "has no unit. Write `C9-1 to frame: about 6 V`"),
        ("C9-1 to C9-2: -3 ohm", "is no resistance. A meter shows that on a circuit with a potential"),
        ("C9-1 to frame: 95..50 mV", "does not run from low to high"),
        ("leads together: OL", "shows leads that do not conduct"),
        ("C9-1 to C9-2: 0.1 ohm, leads 0.4 ohm", "is less than the leads alone (0.4 ohm)"),
    ],
)
def test_what_cannot_be_taken_says_what_to_write(line: str, message: str, sheet: Sheet) -> None:
    with pytest.raises(bp.ReadingError) as caught:
        read(line, sheet)
    assert message in str(caught.value)


# --- the leads -------------------------------------------------------------------------------------


def test_leads_are_taken_off_the_ohms_that_follow(sheet: Sheet) -> None:
    """18.6 ohm with leads of 0.4 ohm are 18.2 ohm; volts and over-range stay as they are."""
    lines = (
        f"state: {STATE}, C9 unplugged\n"
        "C9-1 part side to C9-2 part side: 18.6 ohm\n"
        "leads together: 0.4 ohm\n"
        "C9-1 part side to C9-2 part side: 18.6 ohm\n"
        "C9-1 machine side to frame: OL\n"
        "battery+ to battery-: 25.1 V\n"
        "C9-1 part side to C9-2 part side: 18.2 ohm, leads taken off\n"
    )
    before, leads, after, over, volts, by_hand = bp.parse_readings(lines, sheet)
    assert (before.value, before.leads) == (18.6, None)
    assert (leads.kind, leads.value) == ("leads", 0.4)
    assert after.value == pytest.approx(18.2)
    assert after.leads == 0.4
    assert "less 0.4 ohm of leads: 18.2" in as_typed(after)
    assert isinf(over.value)
    assert volts.value == 25.1
    assert (by_hand.value, by_hand.leads) == (18.2, 0.0)


def test_leads_alone_rank_nothing(sheet: Sheet) -> None:
    lines = f"state: {STATE}\ncoil Y8 dead\n"
    with_leads = bp.rank(sheet, lines + "leads together: 0.3 ohm\n")
    without = bp.rank(sheet, lines)
    assert [s.name for s in with_leads.suspects] == [s.name for s in without.suspects]
    assert len(with_leads.readings.all) == 2


def test_a_context_keeps_the_leads_but_no_state_from_them(sheet: Sheet) -> None:
    leads = bp.parse_reading("leads together: 0.4 ohm", sheet)
    assert context_after([leads]) == Context(leads=0.4)
    volts = read("battery+ to battery-: 25.1 V", sheet)
    after = context_after([leads, volts])
    assert (after.leads, after.plugs_known, dict(after.state)["key"]) == (0.4, True, "on")


# --- what is seen without a number -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "kind", "subject", "seen"),
    [
        ("continuity C9-1 to C9-2", "beeper", "C9-1 to C9-2", "beeps"),
        ("C9-1 to C9-2 beeps", "beeper", "C9-1 to C9-2", "beeps"),
        ("C9-1 to C9-2: no beep", "beeper", "C9-1 to C9-2", "silent"),
        ("fuse F6 good", "fuse", "fuse F6", "good"),
        ("F6 is blown", "fuse", "fuse F6", "blown"),
        ("fuse F6 blows in 3 s", "fuse", "fuse F6", "blows"),
        ("breaker Q1 trips after 5 s", "fuse", "circuit breaker Q1", "blows"),
        ("Q1 tripped", "fuse", "circuit breaker Q1", "blown"),
        ("fuse F6 holds", "fuse", "fuse F6", "holds"),
        ("lamp H1 bright", "lamp", "lamp H1", "lit"),
        ("lamp H1 dim", "lamp", "lamp H1", "dim"),
        ("lamp H1 out", "lamp", "lamp H1", "dark"),
    ],
)
def test_seen_without_a_number(line: str, kind: str, subject: str, seen: str, sheet: Sheet) -> None:
    found = read(line, sheet)
    assert (found.kind, found.subject, found.seen) == (kind, subject, seen)


def test_no_continuity_is_over_range(sheet: Sheet) -> None:
    found = read("no continuity C9-1 to C9-2", sheet)
    assert (found.kind, found.over_range) == ("ohms", True)


def test_a_control_called_light_is_no_lamp(sheet: Sheet) -> None:
    assert read("coil Y8 dead, light on", sheet).setup.position("light") == "on"


@pytest.mark.parametrize("name", ["coil Y8", "blades"])
def test_an_outside_battery_is_a_source_across_the_part(name: str, sheet: Sheet) -> None:
    found = read(f"{name} works on an outside 12 V battery, C9 unplugged", sheet)
    [source] = found.setup.attached
    assert (source.kind, source.red, source.black, source.volts) == ("source", "coil Y8.1", "coil Y8.2", 12.0)
    assert (found.kind, found.subject, found.seen) == ("works", "blades", "works")


def test_an_outside_battery_acquits_the_part(sheet: Sheet) -> None:
    """A coil that works on its own battery is not what keeps the blades dead."""
    lines = f"state: {STATE}\nblades dead\n"
    tested = bp.rank(sheet, lines + "coil Y8 works on an outside 24 V battery, C9 unplugged\n")
    before = bp.rank(sheet, lines)
    winding = "coil Y8: winding open"
    chance = [{s.name: s.probability for s in a.suspects}.get(winding, 0.0) for a in (before, tested)]
    assert chance[0] > 0.01
    assert chance[1] < 0.2 * chance[0]


# --- a measurement that is only meant --------------------------------------------------------------


def test_a_planned_measurement_needs_no_number(sheet: Sheet) -> None:
    found = parse_planned("ohms C9-1 part side to C9-2 part side, C9 unplugged", sheet)
    assert (found.kind, found.red, found.black) == ("ohms", "C9-1.part", "C9-2.part")
    assert not found.numeric
    assert dict(found.setup.state) == {"key": "off", "seat": "empty", "light": "off"}
    assert parse_planned("C9-1 to frame, key on", sheet).kind == "volts"
    assert parse_planned("C9-1 to frame: 24.1 V, key on", sheet).value == 24.1
    with pytest.raises(bp.ReadingError):
        parse_planned("ohms C9-1 to nowhere", sheet)

"""Digital inputs of 24 V, types 1 to 3 (IEC 61131-2), as bands of a controller's input.

Voltage limits of types 1 and 3 and the 0.5 and 2 mA at 5 V are [seen] in makers' pages, those of
type 2 and the other currents are [mem]; contact resistances are [calc] by Ohm's law.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

import backprobe as bp
from backprobe.diagnosis.predict import chance_of
from tests.circuit.helpers import solve_sheet, volts
from tests.reference.books import outside

SUBJECT = "digital inputs of 24 V"
STANDARD = "IEC 61131-2"


@dataclass(frozen=True)
class Kind:
    """One type of input."""

    name: str
    off_up_to: float
    on_from: float
    on_amps: float
    """Least current while on [A]."""

    @property
    def ohms(self) -> float:
        """Input resistance that just draws the least current at the on limit [ohm]."""
        return self.on_from / self.on_amps


TYPES = (
    Kind("type 1", 5.0, 15.0, 2e-3),
    Kind("type 2", 5.0, 11.0, 6e-3),
    Kind("type 3", 5.0, 11.0, 2e-3),
)

SHEET = """
sheet: a contact on a digital input
system: 24 V
controls: {{gate: [open, shut]}}
runs:
  power: [battery+, wire W0 1 mohm, box.battery]
  ground: [box.ground, strap S1, battery-]
  signal: [battery+, gate switch, wire W1 1 mohm, {extra}box.gate input]
parts:
  battery: {{volts: 24 V, resistance: 1 mohm}}
  box:
    kind: controller
    gate input:
      pull-down: {ohms:g} ohm
      bands: {bands}
  gate switch: {{closed: {{gate: shut}}}}
"""


def sheet(kind: Kind, *, series: float = 0.0, bands: str = "") -> str:
    """The contact, resistance in series with it, and an input of a type."""
    extra = f"resistor R1 {series:g} ohm, wire W2 1 mohm, " if series else ""
    limits = bands or f"{{0..{kind.off_up_to} V: low, {kind.on_from}..30 V: high}}"
    return SHEET.format(ohms=kind.ohms, bands=limits, extra=extra)


def chances(text: str, gate: str) -> tuple[float, float]:
    """How surely the sheet's input would be read as low and as high."""
    parsed = bp.parse_sheet(text)
    setup = bp.make_setup(parsed, {"gate": gate})
    solution = solve_sheet(text, {"gate": gate})
    low, high = (
        float(chance_of(solution, bp.Reading("code", setup, subject="gate input", seen=seen))[0])
        for seen in ("low", "high")
    )
    return low, high


def level(text: str) -> float:
    """Volts at the input with the gate shut."""
    return volts(solve_sheet(text, {"gate": "shut"}), "box.gate input", "box._ground")


@outside(SUBJECT, STANDARD, "seen + mem", figures=2)
@pytest.mark.parametrize("kind", TYPES, ids=lambda k: k.name)
def test_a_sound_contact_is_low_when_open_and_high_when_closed(kind: Kind) -> None:
    low, high = chances(sheet(kind), "open")
    assert low > 0.99
    assert high < 0.01
    low, high = chances(sheet(kind), "shut")
    assert low < 0.01
    assert high > 0.99


@outside(SUBJECT, STANDARD, "mem + calc", confidence="M")
@pytest.mark.parametrize(
    ("kind", "most"),
    [
        # (24 V - on limit) / least current; 6.5 kohm for type 3.
        (TYPES[0], 4_500.0),
        (TYPES[1], 13.0 / 6e-3),
        (TYPES[2], 6_500.0),
    ],
    ids=lambda v: getattr(v, "name", ""),
)
def test_contact_resistance_that_still_gives_a_legal_one(kind: Kind, most: float) -> None:
    assert (24 - kind.on_from) / kind.on_amps == pytest.approx(most)
    assert level(sheet(kind, series=most)) == pytest.approx(kind.on_from, rel=1e-3)
    legal, too_much = (chances(sheet(kind, series=most * k), "shut") for k in (0.9, 1.1))
    assert legal[1] > 0.95
    assert too_much[1] < 0.05


@outside(SUBJECT, STANDARD, "seen", figures=2)
@pytest.mark.parametrize("wanted", [6.0, 7.0, 8.0, 9.0, 10.0])
def test_between_5_and_11_volts_is_neither_off_nor_on(wanted: float) -> None:
    kind = TYPES[2]
    text = sheet(kind, series=kind.ohms * (24 / wanted - 1))
    assert level(text) == pytest.approx(wanted, rel=2e-3)
    low, high = chances(text, "shut")
    assert low < 0.01
    assert high < 0.01


@outside(SUBJECT, STANDARD, "seen", figures=2)
def test_a_low_reading_between_the_bands_speaks_against_a_sound_contact_and_for_wear() -> None:
    kind = TYPES[2]
    worn, stuck = "gate switch: contact worn or dirty", "gate switch: does not close"
    engine = bp.Engine(bp.parse_sheet(sheet(kind)), only={worn, stuck, "wire W1: broken"})
    answer = bp.rank(engine, "box.gate input to battery-: 8.00 V, gate shut, all plugged")
    # 8 V across 5.5 kohm is 11 kohm in series: never an open contact, which would show 0 V.
    first = answer.suspects[0]
    assert first.name == worn
    assert first.probability > 0.5
    assert first.severity is not None
    assert first.severity[0] < 11_000 < first.severity[2]
    assert answer.as_built < 0.05


@outside(SUBJECT, STANDARD + "; a trip of 8.0 to 8.8 V", "seen", figures=2)
@pytest.mark.parametrize("kind", TYPES, ids=lambda k: k.name)
@pytest.mark.parametrize("trip", [8.0, 8.5, 8.8])
def test_a_trip_in_the_middle_satisfies_all_types(kind: Kind, trip: float) -> None:
    bands = f"{{0..{trip} V: low, {trip}..30 V: high}}"
    for wanted, seen in ((kind.off_up_to, 0), (kind.on_from, 1)):
        text = sheet(kind, series=kind.ohms * (24 / wanted - 1), bands=bands)
        assert chances(text, "shut")[seen] > 0.99


@outside(SUBJECT, "EN 60947-5-2 and IEC 61131-2: 1.5 mA of a sensor that is off", "seen + mem")
@pytest.mark.parametrize("kind", TYPES, ids=lambda k: k.name)
def test_leakage_of_a_two_wire_sensor_at_rest(kind: Kind) -> None:
    # At 5 V the leak of 1.5 mA stays off only on an input that takes as much there: type 1 need take
    # only 0.5 mA, type 2 takes 2 mA, type 3 takes 1.5 mA. Inputs as resistances that take just that.
    transition = {"type 1": 0.5e-3, "type 2": 2e-3, "type 3": 1.5e-3}[kind.name]
    ohms = 5.0 / transition
    text = SHEET.format(ohms=ohms, bands="{0..5 V: low, 11..30 V: high}", extra="").replace(
        "gate switch,", f"resistor R1 {24 / 1.5e-3 - ohms:g} ohm, wire W2 1 mohm, gate switch,"
    )
    leak = level(text) / ohms
    if kind.name == "type 1":
        # The fixed resistance of 6 kohm holds the loop at 1.5 mA: far above 5 V on such an input.
        assert level(text) == pytest.approx(15.0, rel=2e-3)
    else:
        assert level(text) <= 5.0 * (1 + 2e-3)
    assert leak == pytest.approx(1.5e-3, rel=2e-3)


@outside(
    SUBJECT, "manual of a mobile controller: 44 kohm, low to 3.4 V, high from 4.2 V", "seen + calc", figures=3
)
@pytest.mark.parametrize(("wanted", "low", "high"), [(3.2, 1, 0), (3.8, 0, 0), (4.5, 0, 1)])
def test_an_input_of_a_mobile_controller(wanted: float, low: int, high: int) -> None:
    text = SHEET.format(
        ohms=44e3,
        bands="{0..3.4 V: low, 4.2..30 V: high}",
        extra=f"resistor R1 {44e3 * (24 / wanted - 1):.0f} ohm, wire W2 1 mohm, ",
    )
    assert level(text) == pytest.approx(wanted, rel=1e-3)
    found = chances(text, "shut")
    assert found == pytest.approx((low, high), abs=0.03)

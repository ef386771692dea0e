"""Circuit breaker: what trips it, tripped, burnt and tired. Ohm's law by hand."""

from __future__ import annotations

import pytest

from backprobe.sheet.kinds.circuit_breaker import TRIPS_AT
from tests.sheet.kinds.faulty import amps, circuit_of, mode, solved, volts

SHEET = """
sheet: Breaker
controls: {key: [off, on]}
runs:
  main: [battery+, circuit breaker Q1 10 A, key, resistor R1 LOAD ohm, frame]
parts:
  battery: {volts: 12 V}
"""


@pytest.mark.parametrize(("load", "trips"), [(1.2, False), (0.5, True)])
def test_it_holds_its_rating_and_trips_on_overload(load: float, trips: bool) -> None:
    # 12 V / (1.2 + 0.18) ohm = 8.7 A; 12 V / 0.68 ohm = 17.6 A; it trips between, at some 13.5 A.
    solution = solved(circuit_of(SHEET.replace("LOAD", str(load))), {"key": "on"})
    assert mode(solution, "circuit breaker Q1.contact") is trips
    assert (amps(solution, "resistor R1.body") < 1e-6) is trips
    assert 8.7 < 10 * TRIPS_AT < 17.6


def test_tripped_it_has_all_the_volts_across_it() -> None:
    solution = solved(circuit_of(SHEET.replace("LOAD", "4")), {"key": "on"}, "circuit breaker Q1: tripped")
    assert volts(solution, "circuit breaker Q1.1", "circuit breaker Q1.2") == pytest.approx(12, abs=1e-3)


def test_worn_by_many_trips_it_goes_below_its_rating() -> None:
    # 12 V / 1.38 ohm = 8.7 A, above 7 A.
    circuit = circuit_of(SHEET.replace("LOAD", "1.2"))
    solution = solved(circuit, {"key": "on"}, "circuit breaker Q1: trips too early", level=0)
    assert mode(solution, "circuit breaker Q1.contact")


def test_a_burnt_contact_is_in_series() -> None:
    # Level 2 is 1 ohm: 12 V / (4 + 1 + 0.17) ohm.
    circuit = circuit_of(SHEET.replace("LOAD", "4"))
    solution = solved(circuit, {"key": "on"}, "circuit breaker Q1: contact burnt", level=2)
    assert amps(solution, "resistor R1.body") == pytest.approx(12 / 5.17, rel=0.01)

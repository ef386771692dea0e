"""Wires, temperatures, claims and amperes on the page: arithmetic written out, errors at their field."""

from __future__ import annotations

from typing import Any

import pytest

from backprobe.jobs.store import Store
from backprobe.workbench.budget import budget
from tests.web.helpers import DEAD, at_work, post, visitor, words


def asked(client: Any, address: str, fields: dict[str, Any], **more: Any) -> str:
    """Send a form, and the page that it leads to."""
    taken = post(client, address, fields, **more)
    assert taken.status_code == 303
    place = taken.headers["location"]
    assert place.startswith(f"{address}?again=")
    page = client.get(place.partition("#")[0])
    assert page.status_code == 200
    return str(page.text)


def plain(page: str) -> str:
    return words(page).replace("\u00a0", " ")


@pytest.fixture
def client() -> Any:
    with Store.open(":memory:") as store, visitor(store) as found:
        yield found


def test_a_joint_is_volts_over_amperes_and_volts_times_amperes(client: Any) -> None:
    # 0.6 V / 12 A = 50 mohm; 0.6 V x 12 A = 7.2 W, which chars a plug.
    page = plain(asked(client, "/wire", {"amps": "12", "lost": "0.6", "lost_unit": "V"}))
    assert "A joint of 50.0 mΩ, 7.20 W of heat" in page
    assert "brown plastic" in page
    assert "starter cables together (0.50 V)" in page


def test_a_wire_by_its_gauge_and_by_its_size_lose_alike(client: Any) -> None:
    # AWG 18 is 0.8231 mm2 by its definition, 0.127 mm x 92 ** ((36 - 18) / 39) in diameter.
    gauge = asked(client, "/wire", {"amps": "3", "length": "4", "size": "18", "size_unit": "AWG"})
    size = asked(client, "/wire", {"amps": "3", "length": "4", "size": "0.8231", "size_unit": "mm2"})
    headline = plain(gauge).partition("Loses ")[2][:12]
    assert headline
    assert f"Loses {headline}" in plain(size)


def test_there_and_back_loses_twice(client: Any) -> None:
    fields = {"amps": "5", "length": "3", "size": "2.5", "size_unit": "mm2"}
    once = plain(asked(client, "/wire", fields)).partition("Resistance ")[2].partition(" m")[0]
    twice = plain(asked(client, "/wire", fields | {"both_ways": "yes"})).partition("Resistance ")[2]
    assert float(twice.partition(" m")[0]) == pytest.approx(2 * float(once), rel=0.01)


def test_ohms_move_with_copper(client: Any) -> None:
    # alpha convention of the page: (234.5 + 20) / (234.5 - 5) of 24.0 - 0.4 ohm = 26.2 ohm
    page = plain(
        asked(client, "/temperature", {"ohms": "24", "celsius": "-5", "leads": "0.4", "window": "27..31"})
    )
    assert f"is {23.6 * 254.5 / 229.5:.1f} Ω at 20 °C" in page
    assert "Outside" in page
    assert "Too low" in page


def test_a_battery_in_the_cold_warns_of_ice(client: Any) -> None:
    assert "may be frozen" in asked(client, "/temperature", {"celsius": "-12"})
    assert "may be frozen" not in asked(client, "/temperature", {"celsius": "5"})


def test_claims_are_held_against_arithmetic(client: Any) -> None:
    page = plain(asked(client, "/sanity", {"text": "24 V 3 A 60 W\n14 F is -10 C"}))
    assert "1 claim does not hold" in page
    assert "72.0 W" in page
    assert "line 2" in page


def test_what_cannot_be_read_is_said_at_its_field_and_kept(client: Any) -> None:
    page = asked(client, "/wire", {"amps": "many", "length": "4", "size": "1.5", "size_unit": "mm2"})
    assert 'id="amps-wrong"' in page
    assert 'value="many"' in page
    assert 'value="4"' in page
    assert 'id="answer"' not in page


@pytest.mark.parametrize(
    ("address", "field"),
    [
        ("/wire", "amps"),
        ("/temperature", "celsius"),
        ("/sanity", "text"),
        ("/band", "sweep"),
        ("/log", "recording"),
    ],
)
def test_an_empty_form_says_what_is_needed(client: Any, address: str, field: str) -> None:
    page = asked(client, address, {field: ""})
    assert f'id="{field}-wrong"' in page
    assert "This is needed." in page


def test_a_decimal_comma_is_taken_where_it_is_written() -> None:
    with Store.open(":memory:") as store, visitor(store, language="de") as client:
        page = plain(asked(client, "/wire", {"amps": "12", "lost": "0,6", "lost_unit": "V"}))
        assert "Eine Verbindung von 50,0 mΩ, 7,20 W Wärme" in page


def test_the_budget_of_a_job_is_the_engines(client: Any) -> None:
    with at_work(DEAD) as (visiting, job):
        address = f"/job/{job.record.id}/budget"
        found = budget(job.engine)
        page = plain(visiting.get(address).text)
        assert f"{found.loads[0].running * 1000:.0f} mA" in page
        assert "fuse F3" in page
        held = plain(asked(visiting, address, {"state:key": "off", "capacity": "50"}))
        assert "With key off" in held
        assert 'id="capacity-wrong"' in asked(visiting, address, {"capacity": "a lot"})


def test_a_circuit_can_be_typed_or_picked(client: Any) -> None:
    run = "battery+ > fuse F9 5 A > key > lamp L2 21 W > frame"
    assert "fuse F9" in asked(client, "/budget", {"sheet": run})
    assert "Start chain" in asked(client, "/budget", {"circuit": "template:start-chain"})
    page = asked(client, "/budget", {"sheet": "runs: [", "circuit": ""})
    assert 'id="sheet-wrong"' in page

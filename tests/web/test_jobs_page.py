"""The list of jobs, and a new one from each source."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

import backprobe as bp
from backprobe.jobs.store import Store
from tests.web.helpers import DEAD, SHEET, at_work, post, visitor, words


@pytest.fixture
def store() -> Iterator[Store]:
    with Store.open(":memory:") as store:
        yield store


@pytest.fixture
def client(store: Store) -> Iterator[TestClient]:
    with visitor(store) as client:
        yield client


def test_an_open_job_shows_where_it_stopped_and_is_one_tap_away() -> None:
    with at_work(DEAD, "C4-1 to battery-: 12.2 V") as (client, job):
        page = client.get("/").text
        assert f'<a class="card" href="/job/{job.record.id}">' in page
        assert "2 readings, the last: C4-1 to battery-: 12.2 V" in words(page)
        assert "vine trimmer T2" in page


def test_a_closed_job_stands_below() -> None:
    with at_work(DEAD) as (client, job):
        job.store.append(job.record.id, "closed", {})
        page = words(client.get("/").text)
        assert "No job stands open." in page
        assert "Closed cutter dead" in page


def upload(text: str | bytes, name: str = "trimmer.yaml") -> dict[str, Any]:
    return {"sheet": (name, text if isinstance(text, bytes) else text.encode(), "application/yaml")}


@pytest.mark.parametrize(
    ("fields", "files", "name"),
    [
        ({}, upload(SHEET), "Vine trimmer, bar circuit"),
        ({}, upload("\ufeff" + SHEET), "Vine trimmer, bar circuit"),
        ({"run": "battery+ > fuse F1 5 A > key > relay coil K1 90 ohm > frame"}, {}, None),
        ({"template": bp.templates()[0].name}, {}, bp.templates()[0].sheet().name),
    ],
)
def test_a_job_begins_from_each_source(
    client: TestClient, store: Store, fields: dict[str, str], files: dict[str, Any], name: str | None
) -> None:
    answer = post(client, "/jobs", {"title": "boom dead", "machine": "T2", **fields}, files=files or None)
    assert answer.status_code == 303
    line = store.jobs()[0]
    assert answer.headers["location"] == f"/job/{line.id}"
    assert (line.title, line.machine) == ("boom dead", "T2")
    if name:
        assert store.job(line.id).sheet_name == name
    assert client.get(answer.headers["location"]).status_code == 200


def test_a_typed_circuit_may_have_a_decimal_comma_and_is_called_after_its_machine(
    client: TestClient, store: Store
) -> None:
    run = "battery+ > fuse F1 7,5 A > key > relay coil K1 90 ohm > frame"
    post(client, "/jobs", {"run": run, "machine": "vine mower M3", "from": "typed"})
    record = store.job(store.jobs()[0].id)
    assert "fuse F1 7.5 A" in record.sheet_text
    assert record.sheet_name == record.title == "vine mower M3"
    post(client, "/jobs", {"run": run})
    assert "Circuit of relay K1" in {store.job(line.id).title for line in store.jobs()}


def test_what_happened_before_is_kept_with_the_job(client: TestClient, store: Store) -> None:
    fields = {
        "run": "battery+ > fuse F1 5 A > key > relay coil K1 90 ohm > frame",
        "circumstance": ["wet", "nonsense"],
    }
    post(client, "/jobs", fields)
    opened = store.job(store.jobs()[0].id).entries[0].data
    assert opened == {"circumstances": ["wet"]}


@pytest.mark.parametrize(
    ("fields", "files", "field", "said"),
    [
        ({}, {}, "run", "No circuit was given"),
        ({"run": "battery+ > fuse F1 5 V > key"}, {}, "run", "'5 V' does not fit a fuse"),
        ({"run": "no such thing"}, {}, "run", ""),
        ({"template": "nonsense"}, {}, "template", "'nonsense' is not a template"),
        ({"from": "typed"}, {}, "run", "Type what the current meets, or choose a sheet file."),
        ({"from": "library"}, {}, "template", "No circuit was chosen"),
        ({"from": "library", "run": "battery+ > coil Y1 > frame"}, {}, "template", "No circuit was chosen"),
        ({"from": "taps", "run": "battery+ > fues F1 > frame"}, {}, "run", "Did you mean 'fuse F1'?"),
        ({}, upload("sheet: x\nkontrols: {a: [b, c]}\n"), "sheet", "Did you mean 'controls'?"),
        ({}, upload(b"\xff\xfe\x00"), "sheet", "is not UTF-8 text"),
        ({}, upload(b"a" * 600_000), "sheet", "longer than 500 kB"),
    ],
)
def test_a_source_that_is_wrong_is_named_and_what_was_typed_stays(
    client: TestClient, store: Store, fields: dict[str, str], files: dict[str, Any], field: str, said: str
) -> None:
    answer = post(client, "/jobs", {"title": "boom <dead>", **fields}, files=files or None)
    assert answer.status_code == 303
    page = client.get(answer.headers["location"]).text
    assert f'id="{field}-wrong"' in page
    assert said in words(page)
    assert 'value="boom &lt;dead&gt;"' in page
    for name, text in fields.items():
        assert name in {"template", "from"} or f'value="{text.replace(">", "&gt;")}"' in page
    assert not store.jobs()


def test_a_job_without_a_machine_is_told_apart_by_its_time_and_named_later(
    client: TestClient, store: Store
) -> None:
    run = "battery+ > fuse F1 5 A > key > relay coil K1 90 ohm > frame"
    post(client, "/jobs", {"run": run, "from": "typed"})
    line = store.jobs()[0]
    begun = f"{line.opened_at:%Y-%m-%d %H:%M}"
    assert f"no machine named, begun {begun}" in words(client.get("/").text)
    # Where the job is closed it is asked for too.
    assert f'action="/job/{line.id}/machine"' in client.get(f"/job/{line.id}").text
    answer = post(client, f"/job/{line.id}/machine", {"machine": " mower  M7 ", "back": "/"})
    assert answer.headers["location"] == "/"
    page = words(client.get("/").text)
    assert "mower M7" in page
    assert "no machine named" not in page
    assert store.job(line.id).machine == "mower M7"


def test_a_typed_value_that_cannot_be_is_warned_of_where_the_complaint_is_asked(
    client: TestClient,
) -> None:
    run = "battery+ > fuse F1 5 A > key > clutch coil Y1 4 Mohm > frame"
    page = words(client.get(post(client, "/jobs", {"run": run}).headers["location"]).text)
    assert "parts.coil Y1.ohms: 4.00 MΩ. 12.0 V squared / 4.00 MΩ" in page


def test_the_circuit_is_asked_for_before_complaint_and_machine(client: TestClient) -> None:
    page = client.get("/").text
    assert page.index('name="from" value="taps"') < page.index('name="title"')
    assert "<details" in page.partition('name="from" value="typed"')[2].partition('name="title"')[0]


def test_a_job_that_is_not_there_is_one_clear_message(client: TestClient) -> None:
    answer = client.get("/job/zz9zz")
    assert answer.status_code == 404
    assert "zz9zz" in words(answer.text)
    assert "Traceback" not in answer.text


def test_two_jobs_do_not_mix(store: Store) -> None:
    with at_work(DEAD) as (client, job):
        other = bp.Job.new(job.store, job.sheet, title="other")
        other.read("cutter works, key on, bar down, all plugged")
        assert "cutter dead" in client.get(f"/job/{job.record.id}").text
        assert "cutter works" in client.get(f"/job/{other.record.id}").text

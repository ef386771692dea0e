"""The home of a job: the check that the engine proposes, its answers, and what they change."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

import backprobe as bp
from backprobe.jobs.job import Job
from backprobe.report.check_words import worth_doing
from tests.web.helpers import DEAD, at_work, hidden, plain, post, words

LAMP = """\
sheet: Vine trimmer, gate circuit
system: 12 V
controls: {key: [off, on], gate: [open, shut]}
runs:
  power:  [battery+, fuse F3 10 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, ring G1, frame, strap, battery-]
  sense:  [controller.feed, C2-1, gate switch, C2-2, controller.gate input]
  valve:  [controller.lift output, C3-1, coil Y2 9.1 ohm, C3-2, ring G2, frame]
parts:
  controller: {gate input: {bands: {0..1 V: open, 3.5..5.5 V: shut}}}
functions:
  lift: {releases when: gate input is shut, drives: lift output, guard: gate is shut}
lamps:
  gate lamp: {lit: gate input is open}
"""


def home(client: TestClient, job: Job, query: str = "") -> str:
    answer = client.get(f"/job/{job.record.id}{query}")
    assert answer.status_code == 200
    return str(answer.text)


def first(job: Job) -> bp.Check:
    return worth_doing(bp.Job.open(job.store, job.record.id).next_checks(12))[0]


def numeric(job: Job) -> int:
    """The place of the first check that is answered by volts."""
    checks = worth_doing(bp.Job.open(job.store, job.record.id).next_checks(12))
    return next(k for k, c in enumerate(checks) if c.candidate.kind == "volts")


def lines_of(job: Job) -> list[str]:
    return [str(e.data["line"]) for e in bp.Job.open(job.store, job.record.id).entries]


def test_a_new_job_asks_what_is_dead_first() -> None:
    with at_work() as (client, job):
        page = home(client, job)
        assert "What is dead?" in page
        # The state in which the function should work is offered: key on, bar down.
        for control, position in (("key", "on"), ("bar", "down")):
            assert re.search(rf'name="state:{control}".*?value="{position}" selected', page, re.S)
        answer = post(
            client,
            f"/job/{job.record.id}/reading",
            {
                "take": "works",
                "function": "cutter",
                "works": "dead",
                "plugs": "all",
                "state:key": "on",
                "state:bar": "down",
            },
        )
        assert answer.status_code == 303
        assert lines_of(job) == ["cutter dead"]


def test_the_check_of_the_engine_is_shown_with_all_it_needs() -> None:
    with at_work(DEAD) as (client, job):
        check, page = first(job), words(home(client, job))
        assert check.candidate.red
        assert check.candidate.black
        for name in (check.candidate.red.name, check.candidate.black.name):
            assert name in page
        for caution in check.cautions:
            assert caution in page
        assert "key on" in page
        assert "all plugged" in page


def test_only_cautions_of_this_check_are_shown() -> None:
    # A look needs no plug pulled and no lead placed: only what the sheet says of everything.
    with at_work(DEAD) as (client, job):
        checks = worth_doing(job.next_checks(12))
        place = next(k for k, c in enumerate(checks) if c.candidate.kind == "looked")
        page = words(home(client, job, f"?check={place}"))
        assert "Cutter bar on the ground" in page
        assert "Key off before" not in page
        assert "Ohms only on a dead circuit" not in page


@pytest.mark.parametrize(
    ("typed", "unit", "line"),
    [
        ("4.78", "V", "4.78 V"),
        ("about 6", "V", "about 6 V"),
        ("180 mV", "V", "180 mV"),
        ("180", "mV", "180 mV"),
        ("3.1..4.2", "V", "3.1 V..4.2 V"),
        ("3.1 to 4.2", "V", "3.1 V..4.2 V"),
        ("OL", "V", "OL V"),
    ],
)
def test_a_number_becomes_the_line_of_the_check(typed: str, unit: str, line: str) -> None:
    with at_work(DEAD) as (client, job):
        place = numeric(job)
        check = worth_doing(job.next_checks(12))[place].candidate
        page = home(client, job, f"?check={place}")
        where = hidden(page, "where")
        fields = {"where": where, "check": str(place), "value": typed, "value_unit": unit}
        answer = post(client, f"/job/{job.record.id}/read", fields)
        assert answer.headers["location"] == f"/job/{job.record.id}?read=3"
        assert check.red
        assert check.black
        assert lines_of(job)[-1] == f"{check.red.name} to {check.black.name}: {line}"


def test_a_decimal_comma_is_read_where_one_is_written() -> None:
    with at_work(DEAD, language="de") as (client, job):
        page = home(client, job, f"?check={numeric(job)}")
        fields = {"where": hidden(page, "where"), "value": "4,78", "value_unit": "V"}
        post(client, f"/job/{job.record.id}/read", fields)
        assert lines_of(job)[-1].endswith(": 4.78 V")


def test_a_comma_that_may_mark_thousands_is_asked_about_where_none_is_written() -> None:
    with at_work(DEAD) as (client, job):
        page = home(client, job, f"?check={numeric(job)}")
        fields = {"where": hidden(page, "where"), "value": "4,780", "value_unit": "V"}
        answer = post(client, f"/job/{job.record.id}/read", fields)
        shown = client.get(answer.headers["location"]).text
        assert "has a decimal comma" in words(shown)
        assert 'value="4,780"' in shown


@pytest.mark.parametrize("typed", ["", "nine", "4.7 bananas", "5 A", "<script>"])
def test_what_cannot_be_read_is_said_at_the_field_and_stays_typed(typed: str) -> None:
    with at_work(DEAD) as (client, job):
        page = home(client, job, f"?check={numeric(job)}")
        fields = {"where": hidden(page, "where"), "value": typed, "value_unit": "V"}
        answer = post(client, f"/job/{job.record.id}/read", fields)
        assert answer.status_code == 303
        shown = client.get(answer.headers["location"]).text
        field = re.search(r'<input id="value"[^>]*>', shown)
        assert field
        assert 'aria-invalid="true"' in field[0]
        assert f'value="{typed.replace("<", "&lt;").replace(">", "&gt;")}"' in field[0]
        assert len(lines_of(job)) == 1


def test_the_reading_is_shown_in_the_zone_where_it_fell() -> None:
    with at_work(DEAD) as (client, job):
        place = numeric(job)
        outcome = max(worth_doing(job.next_checks(12))[place].outcomes, key=lambda o: o.chance)
        middle = (outcome.low + outcome.high) / 2
        page = home(client, job, f"?check={place}")
        fields = {"where": hidden(page, "where"), "value": f"{middle:.3f}", "value_unit": "V"}
        answer = post(client, f"/job/{job.record.id}/read", fields)
        shown = client.get(answer.headers["location"]).text
        hit = re.findall(r'<li class="hit">(.*?)</li>', shown, re.S)
        assert len(hit) == 1
        assert outcome.means[0] in words(hit[0]) or "no fault here" in words(hit[0])


def test_a_word_is_an_answer_too() -> None:
    with at_work(DEAD) as (client, job):
        checks = worth_doing(job.next_checks(12))
        place = next(k for k, c in enumerate(checks) if c.candidate.kind == "looked")
        part = checks[place].candidate.part
        page = home(client, job, f"?check={place}")
        post(
            client,
            f"/job/{job.record.id}/read",
            {"where": hidden(page, "where"), "shows": f"looked at {part}: fine"},
        )
        assert lines_of(job)[-1] == f"looked at {part}: fine"


def test_a_lamp_can_be_told_instead() -> None:
    with at_work("lift dead, key on, gate shut, all plugged", text=LAMP) as (client, job):
        checks = worth_doing(job.next_checks(12))
        place = next(k for k, c in enumerate(checks) if c.candidate.red)
        page = home(client, job, f"?check={place}")
        assert "gate lamp dark" in page
        fields = {"where": hidden(page, "where"), "take": "lamp", "lamp": "gate lamp lit"}
        post(client, f"/job/{job.record.id}/read", fields)
        assert lines_of(job)[-1] == "gate lamp lit"


def test_a_changed_setup_is_refused_and_stores_nothing() -> None:
    with at_work(DEAD) as (client, job):
        for where in ("", "{}", "[1]", '{"start": 1, "state": 3, "unplugged": [], "held": [], "kind": ""}'):
            fields = {"where": where, "value": "4", "value_unit": "V"}
            answer = post(client, f"/job/{job.record.id}/read", fields)
            assert "again=" in answer.headers["location"]
        assert len(lines_of(job)) == 1


def test_what_cannot_be_reached_is_not_proposed_again_until_it_is_taken_back() -> None:
    with at_work(DEAD) as (client, job):
        check = first(job).candidate
        assert check.red
        name = check.red.name
        post(client, f"/job/{job.record.id}/unreachable", {"point": name})
        fresh = bp.Job.open(job.store, job.record.id)
        assert fresh.out_of_reach == {name}
        after = fresh.next_checks(40)
        assert after
        assert not [c for c in after if name in {p.name for p in (c.candidate.red, c.candidate.black) if p}]
        assert f"Out of reach on this machine: {name}" in words(home(client, job))
        post(client, f"/job/{job.record.id}/undo", {"number": str(fresh.record.entries[-1].number)})
        assert not bp.Job.open(job.store, job.record.id).out_of_reach
        assert first(job).candidate.red == check.red


def test_a_plug_out_of_reach_is_neither_pulled_nor_read() -> None:
    with at_work(DEAD) as (_, job):
        job.cannot_reach("C4")
        for check in job.next_checks(60):
            assert "C4" not in check.candidate.setup.unplugged
            assert not [p for p in (check.candidate.red, check.candidate.black) if p and p.connector == "C4"]


def test_what_the_sheet_does_not_have_cannot_be_out_of_reach() -> None:
    with at_work(DEAD) as (client, job):
        answer = post(client, f"/job/{job.record.id}/unreachable", {"point": "C9-9"})
        assert answer.status_code == 404
        assert "'C9-9' is no point, part or plug of this sheet" in words(answer.text)
        assert not bp.Job.open(job.store, job.record.id).out_of_reach


def test_an_entry_is_taken_back_and_stays_in_the_log() -> None:
    with at_work(DEAD, "C4-1 to battery-: 12.2 V") as (client, job):
        post(client, f"/job/{job.record.id}/undo", {"number": "3"})
        assert lines_of(job) == [DEAD]
        page = home(client, job)
        assert '<span class="done">C4-1 to battery-: 12.2\u00a0V</span>' in plain(page)
        assert post(client, f"/job/{job.record.id}/undo", {"number": "x"}).status_code == 422


def test_a_reading_typed_elsewhere_is_seen_at_the_next_look() -> None:
    with at_work(DEAD) as (client, job):
        before = home(client, job)
        bp.Job.open(job.store, job.record.id).read("C4-1 to battery-: 0.02 V")
        assert home(client, job) != before

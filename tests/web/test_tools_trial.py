"""Trials, hearsay and the report: what defeats the guard says so everywhere, and is never a repair."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

import backprobe as bp
from backprobe.jobs.job import Job
from backprobe.report.reading_words import as_typed
from backprobe.workbench.verdict import DEFEATS, SOUND_REPAIR
from tests.web.helpers import at_work, post, words
from tests.web.test_suspects_page import GATE
from tests.web.test_tools_numbers import asked, plain

BRIDGE = "join C2-1 C2-2 for good"


@pytest.fixture
def gate() -> Iterator[tuple[Any, Job]]:
    with at_work(
        "lift dead, key on, gate shut, lever raise, all plugged",
        "C2-1 to battery-: 5.1 V",
        "C2-2 to battery-: 0.02 V",
        text=GATE,
    ) as found:
        yield found


def test_a_bridge_over_the_guard_defeats_it_and_cures_nothing(gate: tuple[Any, Job]) -> None:
    client, job = gate
    found = bp.trial(job.engine, BRIDGE, job.readings())
    assert found.verdict == DEFEATS
    page = plain(asked(client, f"/job/{job.record.id}/trial", {"claim": BRIDGE}))
    assert "DEFEATS THE GUARD" in page
    assert "Refused as a repair" in page
    assert "Cures it" not in page
    assert "Makes it work" not in page
    assert "Put it on the record" not in page


def test_the_worst_meaning_comes_first(gate: tuple[Any, Job]) -> None:
    client, job = gate
    page = asked(client, f"/job/{job.record.id}/trial", {"claim": "bridge it"})
    found = bp.trial(job.engine, "bridge it", job.readings())
    assert len(found.meanings) > 1
    assert found.verdict == DEFEATS
    verdicts = re.findall(r"<h3>\d+\. .*?</h3>\s*<div>\s*<p class=\"(\w+)\"", page, re.S)
    assert verdicts[0] == "danger"
    assert "danger" not in verdicts[verdicts.count("danger") :]


def test_a_moments_test_goes_on_the_record_with_its_way_back(gate: tuple[Any, Job]) -> None:
    client, job = gate
    address = f"/job/{job.record.id}/trial"
    fields = {"claim": "unplug C2, key on, gate shut, lever rest", "time": "moment"}
    page = asked(client, address, fields)
    assert "Put it on the record" in page
    assert "Put back: plug C2 again" in plain(page)
    refused = post(client, f"{address}/record", {**fields, "saw": ""})
    again = client.get(refused.headers["location"].partition("#")[0]).text
    assert 'id="saw-wrong"' in again
    assert 'id="answer"' in again
    done = post(client, f"{address}/record", {**fields, "saw": "gate lamp stays dark"})
    assert done.headers["location"] == f"/job/{job.record.id}#log"
    entry = job.store.job(job.record.id).entries[-1]
    assert entry.kind == "trial"
    assert "plug C2 again" in str(entry.data["put_back"])
    report = plain(client.get(f"/job/{job.record.id}/report").text)
    assert "gate lamp stays dark" in report
    assert "plug C2 again" in report


def test_what_defeats_the_guard_goes_on_no_record(gate: tuple[Any, Job]) -> None:
    client, job = gate
    before = len(job.store.job(job.record.id).entries)
    post(client, f"/job/{job.record.id}/trial/record", {"claim": BRIDGE, "time": "good", "saw": "it lifts"})
    post(
        client,
        f"/job/{job.record.id}/trial/record",
        {"claim": "join C2-1 C2-2", "time": "moment", "saw": "x"},
    )
    assert len(job.store.job(job.record.id).entries) == before


def test_every_join_of_a_plug_says_that_none_is_a_repair(gate: tuple[Any, Job]) -> None:
    client, job = gate
    page = plain(asked(client, f"/job/{job.record.id}/trial", {"plug": "C2"}))
    # Two cavities can be joined or not.
    assert "C2: 2 ways to join its cavities" in page
    assert "None of these is a repair" in page
    assert "DEFEATS THE GUARD" in page


def test_an_unknown_claim_keeps_its_words_and_shows_what_is_known(gate: tuple[Any, Job]) -> None:
    client, job = gate
    page = asked(client, f"/job/{job.record.id}/trial", {"claim": "kick the tyre"})
    assert 'id="claim-wrong"' in page
    assert re.search(r'<textarea id="claim"[^>]*>\s*kick the tyre</textarea>', page)
    assert "is not understood" in page


def test_hearsay_is_one_table_with_an_answer(gate: tuple[Any, Job]) -> None:
    client, job = gate
    lines = "bridge it\nnew gate switch\nkick the tyre"
    page = plain(asked(client, f"/job/{job.record.id}/hearsay", {"lines": lines}))
    assert "3 proposed cures, judged" in page
    assert "DEFEATS THE GUARD" in page
    assert "3. kick the tyre NOT JUDGED 'kick the tyre' is not understood" in page
    assert "Do not do this" in page
    found = bp.hearsay(job.engine, lines, job.readings())
    assert found.said[1].trial is not None
    assert found.said[1].verdict == SOUND_REPAIR
    assert "ALLOWED : cures it with" in page
    assert "SOUND REPAIR" not in page


def test_german_says_it_too() -> None:
    with at_work(text=GATE, language="de") as (client, job):
        page = plain(asked(client, f"/job/{job.record.id}/trial", {"claim": BRIDGE}))
        assert "HEBELT DEN SCHUTZ AUS" in page
        assert "Als Reparatur abgelehnt" in page


def test_the_report_has_the_whole_log_and_the_guards_to_prove(gate: tuple[Any, Job]) -> None:
    client, job = gate
    job.read("C2-2 to battery-: 4.9 V")
    job.undo()
    page = client.get(f"/job/{job.record.id}/report").text
    shown = plain(page)
    for reading in job.readings():
        assert as_typed(reading) in shown
    assert "C2-2 to battery-: 4.9 V (taken back)" in shown
    # One tick for each guard and state: dead with the gate open, working with it shut.
    assert re.search(r"☐ [^☐]*gate open[^☐]*: lift must NOT work", shown)
    assert re.search(r"☐ [^☐]*gate shut[^☐]*: lift must work", shown)
    assert job.answer().groups[0].suspects[0].name in shown
    assert 'class="circuit' in page
    assert "still open" in shown


def test_several_lines_are_judged_at_once(gate: tuple[Any, Job]) -> None:
    client, job = gate
    home = f"/job/{job.record.id}"
    fields = {"claim": "new gate switch\n\n bigger fuse \n", "time": "good"}
    taken = post(client, f"{home}/trial", fields)
    assert taken.headers["location"].startswith(f"{home}/hearsay?again=")
    page = words(client.get(taken.headers["location"].partition("#")[0]).text)
    assert "2 proposed cures, judged" in page
    assert "1. new gate switch for good" in page


def test_an_example_is_tried_by_one_tap(gate: tuple[Any, Job]) -> None:
    client, job = gate
    page = asked(client, f"/job/{job.record.id}/trial", {"claim": "bridge it", "example": "unplug C2"})
    assert "Proposed: unplug C2" in words(page)

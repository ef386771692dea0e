"""Free entry: any reading, and the four things that each has to know."""

from __future__ import annotations

import html
import re
from collections.abc import Mapping
from typing import Any

import pytest

import backprobe as bp
from backprobe.jobs.job import Job
from tests.web.helpers import DEAD, at_work, post, words

SETUP = {"plugs": "all", "state:key": "on", "state:bar": "down"}
NUMBER = {"take": "number", "red": "C4-1", "black": "battery-", "value": "12.1", "value_unit": "V"}


def enter(client: Any, job: Job, fields: Mapping[str, Any]) -> Any:
    return post(client, f"/job/{job.record.id}/reading", fields)


def last(job: Job) -> bp.Reading:
    return bp.Job.open(job.store, job.record.id).readings()[-1]


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        (NUMBER, "C4-1 to battery-: 12.1 V"),
        ({**NUMBER, "value": "4.7k", "value_unit": "ohm"}, "C4-1 to battery-: 4.7 kΩ"),
        ({**NUMBER, "value": "4.7k", "value_unit": "kohm"}, "C4-1 to battery-: 4.7 kΩ"),
        (
            {"take": "tester", "red": "battery+", "black": "C4-2", "tester": "lit"},
            "test lamp from battery+ to C4-2 lit",
        ),
        ({"take": "tester", "red": "C4-1", "black": "C4-2", "tester": "beeps"}, "C4-1 to C4-2 beeps"),
        ({"take": "works", "function": "cutter", "works": "dead"}, "cutter dead"),
        ({"take": "click", "relay": "relay K7", "click": "does not click"}, "relay K7 does not click"),
        ({"take": "fuse", "fuse": "fuse F3", "fuse_seen": "blown"}, "fuse F3 blown"),
        ({"take": "looked", "part": "bar switch", "seen": "corroded"}, "bar switch corroded"),
        ({"take": "looked", "part": "bar switch", "seen": "no change"}, "bar switch no change"),
        ({"take": "line", "line": "C4-1 to frame: 3.2 V"}, "C4-1 to frame: 3.2 V"),
        ({"take": "number", "line": "C4-1 to frame: 3.2 V"}, "C4-1 to frame: 3.2 V"),
    ],
)
def test_every_kind_of_reading_can_be_entered(fields: dict[str, str], said: str) -> None:
    with at_work() as (client, job):
        answer = enter(client, job, SETUP | fields)
        assert answer.headers["location"] == f"/job/{job.record.id}?read=2"
        assert last(job).words() == said


def test_the_setup_is_stored_with_the_reading() -> None:
    with at_work() as (client, job):
        fields = SETUP | NUMBER | {"red": "C4-2 part side", "plugs": "some", "off": ["C4"], "state:bar": "up"}
        enter(client, job, fields)
        reading = last(job)
        assert dict(reading.setup.state) == {"key": "on", "bar": "up"}
        assert reading.setup.unplugged == {"C4"}
        assert (reading.red_name, reading.black_name) == ("C4-2 part side", "battery-")


@pytest.mark.parametrize(
    ("lacks", "field"),
    [
        ({"red": ""}, "red"),
        ({"black": ""}, "black"),
        ({"value": ""}, "value"),
        ({"plugs": ""}, "plugs"),
        ({"plugs": "some"}, "off"),
        ({"state:bar": ""}, "state:bar"),
        ({"state:key": "sideways"}, "state:key"),
        ({"red": "C4-1 part side"}, "red"),
        ({"red": "C4-1", "black": "C4-1"}, "black"),
    ],
)
def test_what_is_missing_is_asked_beside_its_field(lacks: dict[str, str], field: str) -> None:
    with at_work() as (client, job):
        answer = enter(client, job, SETUP | NUMBER | lacks)
        assert answer.status_code == 303
        page = client.get(answer.headers["location"]).text
        assert f'id="{field}-wrong"' in page
        assert page.count('class="wrong"') == 1
        kept = SETUP | NUMBER | lacks
        if kept["value"]:
            assert f'value="{kept["value"]}"' in page
        assert not bp.Job.open(job.store, job.record.id).entries


def test_all_that_is_missing_is_asked_at_once() -> None:
    with at_work() as (client, job):
        answer = enter(client, job, {"take": "number"})
        page = words(client.get(answer.headers["location"]).text)
        for question in (
            "Where was red?",
            "Where was black?",
            "Nothing was typed",
            "What was plugged?",
            "Where was it?",
        ):
            assert question in page


def test_what_the_last_reading_left_is_filled_in() -> None:
    with at_work(DEAD) as (client, job):
        page = client.get(f"/job/{job.record.id}/reading?red=C4-2").text
        assert re.search(r'name="state:bar".*?<option value="down" selected', page, re.S)
        assert "<option selected>C4-2</option>" in page
        assert re.search(r'value="all" checked', page)


def test_a_new_job_presumes_no_state() -> None:
    with at_work() as (client, job):
        page = client.get(f"/job/{job.record.id}/reading").text
        assert "checked" not in page
        assert not re.search(
            r'name="state:bar".*?<option value="(up|down)" selected', page.split("</select>")[2], re.S
        )


def test_ohms_are_stored_less_the_leads() -> None:
    with at_work() as (client, job):
        enter(client, job, {"take": "leads", "leads": "0.4", "leads_unit": "ohm"})
        off = {
            "plugs": "some",
            "off": ["C4"],
            "state:key": "off",
            "red": "C4-1 part side",
            "black": "C4-2 part side",
        }
        enter(client, job, SETUP | NUMBER | off | {"value": "1.5", "value_unit": "ohm"})
        # 1.5 ohm with leads of 0.4 ohm in it.
        assert last(job).value == pytest.approx(1.1)


def opened(page: str) -> set[str]:
    """Ids of the sections that stand open."""
    return set(re.findall(r'<details[^>]* id="([\w-]+)" open', page))


def test_a_number_is_the_likely_entry_and_a_known_setup_is_one_line() -> None:
    with at_work() as (client, job):
        assert opened(client.get(f"/job/{job.record.id}/reading").text) == {"setup", "take-number"}
    with at_work(DEAD) as (client, job):
        page = client.get(f"/job/{job.record.id}/reading").text
        assert opened(page) == {"take-number"}
        assert "In this state: key on, bar down, all plugged" in words(page)


@pytest.mark.parametrize(
    ("fields", "sections"),
    [
        ({"take": "works"}, {"take-works"}),
        ({"take": "looked"}, {"take-looked"}),
        ({"take": "line", "line": "C4-1 to nowhere: 3 V"}, {"take-line"}),
        # Enter in the field of the typed line presses the first button.
        ({"take": "number", "line": "C4-1 to nowhere: 3 V"}, {"take-line"}),
        ({"take": "leads", "leads": "lots"}, {"take-leads"}),
        ({"take": "tester", "red": "C4-1"}, {"take-number", "take-tester"}),
        (NUMBER | {"value": "cats"}, {"take-number"}),
        (NUMBER | {"state:bar": ""}, {"setup", "take-number"}),
        (NUMBER | {"plugs": "some"}, {"setup", "take-number"}),
    ],
)
def test_what_is_wrong_stands_in_an_open_section(fields: dict[str, str], sections: set[str]) -> None:
    with at_work(DEAD) as (client, job):
        answer = enter(client, job, SETUP | fields)
        page = client.get(answer.headers["location"].partition("#")[0]).text
        assert 'class="wrong"' in page
        assert opened(page) == sections


def test_points_are_grouped_and_one_is_picked_once() -> None:
    with at_work(DEAD, "C4-1 to battery-: 12.2 V") as (client, job):
        page = client.get(f"/job/{job.record.id}/reading").text
        black = page[page.index('id="black"') :].partition("</select>")[0]
        assert black.count(" selected") == 1
        assert [html.unescape(label) for label in re.findall(r'<optgroup label="([^"]+)"', black)][:2] == [
            "near the last reading",
            "C4: bar switch",
        ]

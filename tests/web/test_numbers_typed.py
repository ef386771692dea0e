"""Numbers as thumbs type them: a decimal comma in every language, and never a thousand for one."""

from __future__ import annotations

import pytest

from backprobe.errors import UnitError
from backprobe.web.frame import parse_number
from backprobe.web.numbers import pointed, typed_number

from .helpers import DEAD, at_work, post, words


@pytest.mark.parametrize(
    ("typed", "english", "german"),
    [
        ("12,6", "12.6", "12.6"),
        ("0,125", "0.125", "0.125"),
        ("-3,15", "-3.15", "-3.15"),
        ("about 6,2", "about 6.2", "about 6.2"),
        ("3,1..4,2", "3.1..4.2", "3.1..4.2"),
        ("4,7k", "4.7k", "4.7k"),
        ("12.6", "12.6", "12.6"),
        # 1,250 is a thousand and more to an English reader, and one and a quarter to a German one.
        ("1,250", "1,250", "1.250"),
        ("1,250,000", "1,250,000", "1,250,000"),
        ("1,2.3", "1,2.3", "1,2.3"),
    ],
)
def test_a_comma_is_a_point_where_it_can_be_nothing_else(typed: str, english: str, german: str) -> None:
    assert pointed(typed, comma=False) == english
    assert pointed(typed, comma=True) == german


def test_a_number_with_a_comma_has_the_unit_beside_it() -> None:
    assert typed_number("12,6", "V", comma=False) == "12.6 V"
    assert parse_number("12,6", "V", comma=False, unit="V").value == 12.6
    assert parse_number("4,7k", "ohm", comma=False, unit="ohm").value == 4700
    with pytest.raises(UnitError, match=r"decimal comma|commas"):
        parse_number("1,250", "V", comma=False, unit="V")


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_reading_with_a_comma_is_taken_in_every_language(language: str) -> None:
    with at_work(DEAD, language=language) as (client, job):
        fields = {"take": "number", "red": "C4-1", "black": "battery-", "value": "12,6", "value_unit": "V"}
        state = {"state:key": "on", "state:bar": "down", "plugs": "all"}
        answer = post(client, f"/job/{job.record.id}/reading", {**fields, **state})
        page = client.get(answer.headers["location"]).text
        assert 'id="value-wrong"' not in page, words(page)
        line = str(job.store.job(job.record.id).readings[-1].data["line"])
        assert line.startswith("C4-1 to battery-: 12.6 V")

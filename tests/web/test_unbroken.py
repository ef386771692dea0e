"""Names of points and numbers with their units stay on one line, and stay what they are."""

from __future__ import annotations

import re

import pytest

from backprobe.web.unbroken import kept_together
from tests.web.helpers import DEAD, at_work, plain

KEPT = '<span class="kept">{}</span>'


@pytest.mark.parametrize("name", ["C12-3", "X1-A", "C5-10", "2026-03-09", "A2-1"])
def test_a_name_is_kept_and_its_hyphen_stays(name: str) -> None:
    made = kept_together(f"<p>red on {name}, black on frame</p>")
    assert made == f"<p>red on {KEPT.format(name)}, black on frame</p>"
    # What is copied or searched for is the name as it is typed.
    assert re.sub(r"<[^>]*>", "", made) == f"red on {name}, black on frame"


@pytest.mark.parametrize("text", ["battery- to frame", "a two-wire sensor", "pull-up", "-5 or 4", "a - 5"])
def test_what_is_no_name_is_left_alone(text: str) -> None:
    assert kept_together(f"<p>{text}</p>") == f"<p>{text}</p>"


@pytest.mark.parametrize(
    "made",
    [
        '<input value="C5-3 to battery-: 4.78 V">',
        "<textarea>C5-3: 4.78 V</textarea>",
        "<pre>C5-3: 4.78 V</pre>",
        "<svg><text>C5-3: 4.78 V</text></svg>",
        "<script>let a = 'C5-3';</script>",
    ],
)
def test_fields_and_drawings_are_left_alone(made: str) -> None:
    assert kept_together(made) == made


@pytest.mark.parametrize(
    "made",
    ["<option>C5-3, 5 V</option>", '<option value="2 A" selected>2 A</option>', '<code id="log-12">'],
)
def test_what_a_form_sends_or_a_link_goes_to_is_left_alone(made: str) -> None:
    assert kept_together(made) == made


def test_what_is_typed_is_kept_whole_and_its_tag_left_alone() -> None:
    assert kept_together('<code id="log-12">C5-3: 5 V</code>') == (
        f'<code id="log-12">{KEPT.format("C5-3")}: 5 V</code>'
    )


def test_where_no_markup_is_allowed_only_the_unit_is_kept() -> None:
    assert kept_together("<title>C5-3 at 5 V</title>") == "<title>C5-3 at 5\u00a0V</title>"


def test_a_button_has_one_child_so_that_no_blank_is_lost() -> None:
    assert kept_together('<button value="C3-2">Cannot reach C3-2</button>') == (
        f'<button value="C3-2"><span>Cannot reach {KEPT.format("C3-2")}</span></button>'
    )
    assert kept_together("<label><input> 5 V</label>") == "<label><input> 5\u00a0V</label>"


def test_a_page_says_the_same_as_before() -> None:
    with at_work(DEAD, "C4-1 to battery-: 12.2 V") as (client, job):
        page = client.get(f"/job/{job.record.id}").text
    assert KEPT.format("C4-1") in page
    assert "C4-1 to battery-: 12.2\u00a0V" in plain(page)

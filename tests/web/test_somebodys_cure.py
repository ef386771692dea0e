"""Hearsay: one way in, pages called as their links are, and no recipe under a ban."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from typing import Any

import pytest

from backprobe.demo.story import demo_sheet_text
from backprobe.jobs.job import Job
from tests.web.helpers import at_work
from tests.web.test_tools_numbers import asked, plain

STATE = "key start, seat seated, lever neutral, brake set, all plugged"
READ = (
    f"starter dead, {STATE}",
    f"relay K2 does not click, {STATE}",
    f"C8-1 to frame: 12.3 V, {STATE}",
    f"C8-2 to frame: 0.03 V, {STATE}",
)


@pytest.fixture
def dumper() -> Iterator[tuple[Any, Job]]:
    with at_work(*READ, text=demo_sheet_text("dumper")) as found:
        yield found


def titles(page: str) -> tuple[str, str]:
    """Heading of a page, and its title without the program's name."""
    heading, title = re.search(r"<h1>(.*?)</h1>", page), re.search(r"<title>(.*?) · ", page)
    assert heading
    assert title
    return html.unescape(heading[1]), html.unescape(title[1])


def links(page: str) -> dict[str, str]:
    """Address to text of the links in the main part of a page."""
    main = page[page.index("<main") :]
    found = re.findall(r'<a[^>]*href="([^"]+)"[^>]*>(.*?)</a>', main, re.S)
    return {to: html.unescape(re.sub(r"<[^>]+>", "", text)).strip() for to, text in found}


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_page_is_called_as_the_link_to_it(language: str) -> None:
    with at_work(*READ, text=demo_sheet_text("dumper"), language=language) as (client, job):
        lists = ["/tools", f"/job/{job.record.id}/bench"]
        for page in (client.get(address).text for address in lists):
            assert len(links(page)) >= 10
            for address, text in links(page).items():
                assert titles(client.get(address).text) == (text, text), address
        menu = client.get("/").text
        for address in ("/tools", "/phone"):
            named = re.search(rf'<a href="{address}"[^>]*>(.*?)</a>', menu)
            assert named
            assert titles(client.get(address).text)[0] == html.unescape(named[1])


def test_there_is_one_way_in_and_it_leads_to_both(dumper: tuple[Any, Job]) -> None:
    client, job = dumper
    home = f"/job/{job.record.id}"
    for listed, one, many in (
        ("/tools", "/trial", "/hearsay"),
        (f"{home}/bench", f"{home}/trial", f"{home}/hearsay"),
    ):
        found = links(client.get(listed).text)
        assert found[one] == "Hearsay"
        assert many not in found
        there = links(client.get(one).text)[many]
        assert titles(client.get(many).text)[0] == there
        assert links(client.get(many).text)[one] == "Hearsay"
        assert "Hearsay" in plain(client.get(one).text)


def test_a_bridge_for_a_moment_is_no_recipe(dumper: tuple[Any, Job]) -> None:
    client, job = dumper
    page = asked(client, f"/job/{job.record.id}/trial", {"claim": "bridge the seat switch for a moment"})
    shown = plain(page)
    assert shown.index("DEFEATS THE GUARD") < shown.index("Refused as a repair")
    assert "never to work with it" in shown
    assert "Better not to touch the guard. It tells the same: measure volts across seat switch" in shown
    assert "Put back" not in shown
    assert "Safe set-up" not in shown
    assert "Put it on the record" not in shown


def test_it_says_whether_this_machine_would_even_crank(dumper: tuple[Any, Job]) -> None:
    client, job = dumper
    shown = plain(asked(client, f"/job/{job.record.id}/trial", {"claim": "bridge the seat switch"}))
    assert "relay K2 clicks and the engine cranks with nobody on the seat" in shown
    assert re.search(
        r"the engine would not even crank with it: the volts are lost at [^.]*brake switch", shown
    )


def test_of_what_is_refused_the_state_that_decides_is_seen_and_no_more(dumper: tuple[Any, Job]) -> None:
    client, job = dumper
    page = asked(client, f"/job/{job.record.id}/trial", {"claim": "bridge the seat switch"})
    answer = page[page.index('id="answer"') : page.index('name="claim"')]
    assert "The guard is lost with key start, seat empty, lever neutral, brake set." in plain(answer)
    # What runs with it, and what it carries, would read as an offer.
    assert "Can run" not in answer
    assert "Carries most" not in answer


def test_the_state_that_decides_is_seen_and_the_rest_is_folded(dumper: tuple[Any, Job]) -> None:
    client, job = dumper
    page = asked(client, f"/job/{job.record.id}/trial", {"claim": "unplug C7"})
    answer = page[page.index('id="answer"') : page.index('name="claim"')]
    folded = "".join(re.findall(r"<details>.*?</details>", answer, re.S))
    seen = plain(re.sub(r"<details>.*?</details>", "", answer, flags=re.S))
    assert "key start, seat seated, lever neutral, brake set" in seen
    assert "Carries most" not in seen
    assert "In every other operator state nothing changes." in plain(folded)
    assert ": –" not in plain(answer)


def test_the_reply_says_what_must_not_happen() -> None:
    with at_work(*READ, text=demo_sheet_text("dumper"), language="de") as (client, job):
        shown = plain(asked(client, f"/job/{job.record.id}/hearsay", {"lines": "new brake switch"}))
    assert "Bei offenem Schutz: starter darf NICHT gehen; relay K2 darf NICHT klicken; der Motor" in shown


def test_each_of_several_leads_to_its_trial(dumper: tuple[Any, Job]) -> None:
    client, job = dumper
    home = f"/job/{job.record.id}"
    lines = "new starter\nnew brake switch\nspray it\nkick the tyre"
    page = asked(client, f"{home}/hearsay", {"lines": lines})
    claims = re.findall(rf'action="{home}/trial">.*?name="claim" value="([^"]+)"', page, re.S)
    assert claims == ["new starter", "new brake switch", "spray it"]
    shown = plain(page)
    assert "relay K2 does not click, so coil M1 is not asked yet" in shown
    assert re.search(r"2\. new brake switch ALLOWED : cures it with \d+ %", shown)
    assert re.search(r"The best of \d+ things that it may mean: C8 opened", shown)
    assert "this is the worst" not in shown

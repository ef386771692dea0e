"""A job is closed as tried only with every tick; what was ticked, and what was not, stands in the record."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from backprobe.demo.story import demo_jobs
from backprobe.jobs.job import Job
from backprobe.report.words import LEAST
from tests.jobs.test_repairs import READ, SHEET
from tests.web.helpers import at_work, visitor, words
from tests.web.test_repair_page import home, kept, send

PROVEN = "repaired and tried"
ACROSS = "before brake switch to after brake switch: 12.5 V"


@pytest.fixture
def at_proof() -> Iterator[tuple[TestClient, Job]]:
    with at_work(*READ, text=SHEET) as (client, job):
        job.repaired("brake switch: replaced")
        job.read("relay K1 works")
        yield client, job


def ticks(page: str) -> list[str]:
    return [html.unescape(t) for t in re.findall(r'type="checkbox" name="tick" value="([^"]*)"', page)]


def test_every_guard_alone_and_what_is_put_back_has_a_tick(at_proof: tuple[TestClient, Job]) -> None:
    client, job = at_proof
    page = home(client, job)
    shown = words(page)
    assert len(ticks(page)) == len(set(ticks(page))) == 6
    for text in (
        "Everything that was unplugged or taken out is back in; the small wire of the starter stays off",
        "The small wire is back on the starter.",
        "brake released, seat seated: relay K1 must NOT click",
        "brake set, seat empty: relay K1 must NOT click",
        "brake set, seat seated: relay K1 must click",
        "No jumper, stand-in or resistor is left in the machine.",
    ):
        assert text in shown
    # Nothing is ticked for anybody.
    assert "checked" not in page


def test_with_one_tick_missing_the_job_stays_open_and_says_so_once(at_proof: tuple[TestClient, Job]) -> None:
    client, job = at_proof
    keys = ticks(home(client, job))
    for missing in keys:
        some = [k for k in keys if k != missing]
        page = send(client, job, "close", proving="1", reason=PROVEN, tick=some)
        assert kept(job).record.is_open
        assert words(page).count("1 of 6 on the list is not ticked") == 1
        assert page.count("checked>") == len(some)


def test_each_tick_goes_into_the_log_by_name(at_proof: tuple[TestClient, Job]) -> None:
    client, job = at_proof
    page = send(client, job, "close", proving="1", reason=PROVEN, tick=ticks(home(client, job)))
    record = kept(job).record
    assert record.closed_as == PROVEN
    assert record.closing is not None
    told = record.closing.data["tried"]
    assert isinstance(told, list)
    assert len(told) == 6
    report = client.get(f"/job/{job.record.id}/report").text
    for shown in (words(page), words(report)):
        log = shown[shown.index("Ticked by hand:") :]
        assert "brake released, seat seated and all plugged: relay K1 must NOT click" in log
        assert "No jumper, stand-in or resistor is left in the machine" in log
    assert words(report).count("\u2611") == 6
    assert "\u2610" not in words(report)


def test_typed_by_hand_the_reason_needs_the_ticks_too(at_proof: tuple[TestClient, Job]) -> None:
    client, job = at_proof
    page = send(client, job, "close", other="Repaired and tried", reason="")
    assert "not ticked" in words(page)
    assert kept(job).record.is_open


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"reason": "closed without trying the guards"}, "closed without trying the guards"),
        ({"reason": "handed on"}, "handed on, closed without trying the guards"),
        ({"reason": "", "other": "works, in a hurry"}, "works, in a hurry, closed without trying the guards"),
    ],
)
def test_closed_without_proof_the_record_says_so(
    at_proof: tuple[TestClient, Job], fields: dict[str, str], said: str
) -> None:
    client, job = at_proof
    assert "Close without trying the guards" in home(client, job)
    send(client, job, "close", **fields)
    assert kept(job).record.closed_as == said
    assert said in words(client.get("/").text)
    report = words(client.get(f"/job/{job.record.id}/report").text)
    assert said in report
    assert "\u2611" not in report


def test_without_a_repair_nobody_is_told_of_guards() -> None:
    with at_work(*READ, text=SHEET) as (client, job):
        assert "without trying the guards" not in home(client, job)
        send(client, job, "close", reason="handed on")
        assert kept(job).record.closed_as == "handed on"


def test_before_it_is_tried_again_all_is_put_back_but_what_would_crank() -> None:
    with at_work(*READ, "C1-1 to C2-1: 4.2 ohm, key off, C1 unplugged", text=SHEET) as (client, job):
        page = words(send(client, job, "repaired", part="brake switch", what="replaced"))
        back = page[page.index("Put back first") : page.index("It works")]
        assert "C1" in back
        assert "The small wire stays off the starter for now: relay K1 works when it clicks." in back
        assert "is back on the starter" not in page


def test_what_was_shown_with_an_earlier_check_in_the_same_setup_is_one_line() -> None:
    with at_work(READ[0], text=SHEET) as (client, job):
        first = words(home(client, job))
        assert "As before" not in first
        # The first caution stands in full above the leads, each further one under its headline.
        full = first[first.index("Caution ") : first.index("Red")]
        assert "take the small wire off the starter" in full
        kept(job).read(READ[1])
        second = home(client, job)
        above = second[second.index('id="check"') : second.index('class="leads"')]
        folded = above[above.index("<details") :]
        assert "Small starter wire off first" in folded[: folded.index("</summary>")]
        assert re.search(r"As before</strong> Where .* take the small wire off the starter", folded)
        assert second.count("take the small wire off the starter") == 1


def test_one_part_is_said_once_and_the_further_check_is_folded() -> None:
    with at_work(*READ, ACROSS, text=SHEET) as (client, job):
        page = home(client, job)
        shown = words(page)
        assert "It is the brake switch: 99\u00a0%." in page
        assert "Repair: brake switch" in shown
        assert "You may repair" not in shown
        assert "First guess" not in shown
        assert "To be surer first" not in shown
        if 'id="read"' in page:
            assert "A further check would only tell what is wrong in it" in page[: page.index('id="read"')]


def test_the_first_suspects_stand_on_the_page_with_their_shares() -> None:
    with at_work(*READ, text=SHEET) as (client, job):
        page = home(client, job)
        found = re.findall(r"<li><b>(\d+)\u00a0%</b> <span>([^<]*)</span></li>", page)
        likely = [s for s in job.answer().suspects if s.probability >= LEAST][:5]
        assert [html.unescape(name) for _, name in found] == [s.name for s in likely]
        assert int(found[0][0]) == pytest.approx(100 * likely[0].probability, abs=0.51)


def test_no_volts_and_the_battery_s_are_one_tap_away() -> None:
    with at_work(READ[0], text=SHEET) as (client, job):
        page = home(client, job)
        taps = dict(re.findall(r'name="shows" value="([^"]*)">([^<]*)<', page))
        line = next(k for k in taps if k.endswith(": 0 V"))
        assert any(": about 12" in k for k in taps)
        where = html.unescape(re.search(r'name="where" value="([^"]*)"', page)[1])  # type: ignore[index]
        send(client, job, "read", where=where, check="0", shows=line)
        reading = kept(job).readings()[-1]
        assert (reading.kind, reading.value) == ("volts", 0.0)


def test_no_line_ends_between_a_number_and_its_unit() -> None:
    with at_work(*READ, text=SHEET) as (client, job):
        for where in ("", "/suspects", "/report"):
            page = client.get(f"/job/{job.record.id}{where}").text
            bare = re.sub(r"<(textarea|script|svg|select).*?</\1>|<[^>]*>", "\n", page, flags=re.S)
            assert not re.findall(r"\d (?:V|mV|ohm|%|min)(?!\w)", bare)
            assert "\u00a0V" in bare


@pytest.mark.parametrize("language", ["en", "de"])
def test_what_is_worn_as_well_stands_beside_the_repair_and_in_the_report(language: str) -> None:
    story = demo_jobs()[-1]
    with at_work() as (_, plain):
        job = Job.new(plain.store, story.sheet, title="worn")
        for step in story.steps:
            job.read(step.line)
        worn = [w for w in job.answer().worn if w.present > 0.5]
        assert worn
        title = {"en": "Worn as well, but not the cause", "de": "Auch verschlissen, aber nicht die Ursache"}
        with visitor(plain.store, language=language) as client:
            for where in ("", "/report", "/suspects"):
                page = words(client.get(f"/job/{job.record.id}{where}").text)
                assert title[language] in page
                assert worn[0].name.partition(":")[0] in page[page.index(title[language]) :]
                assert "Worn perhaps" not in page


def test_two_pages_name_one_next_check() -> None:
    for story in demo_jobs():
        with at_work() as (_, plain):
            job = Job.new(plain.store, story.sheet, title="one answer")
            for step in story.steps:
                job.read(step.line)
            with visitor(plain.store) as client:
                first = client.get(f"/job/{job.record.id}").text
                other = client.get(f"/job/{job.record.id}/suspects").text
            check = re.search(r'<h1 id="check">Next check: ([^<]*)</h1>', first)
            apart = re.search(r"<h3>(?:What tells|The next check tells) them apart: ([^.<]*)", other)
            if check and apart:
                assert apart[1].strip() == check[1].strip()
                assert "The next check tells them apart" in other

"""The page of suspects says what the answer says, no more and no less."""

from __future__ import annotations

import re

import pytest

import backprobe as bp
from backprobe.jobs.job import Job
from backprobe.report.check_words import worth_doing
from backprobe.report.layout import percent
from backprobe.report.reading_words import strongest, telling
from backprobe.report.words import shown_groups
from tests.web.helpers import DEAD, at_work, plain, words

GATE = """\
sheet: Vine trimmer, gate circuit
system: 12 V
controls: {key: [off, on], gate: [open, shut], lever: [rest, raise]}
runs:
  power:  [battery+, fuse F3 10 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, ring G1, frame, strap, battery-]
  sense:  [controller.feed, C2-1, gate switch, C2-2, controller.gate input]
  valve:  [controller.lift output, C3-1, coil Y2 9.1 ohm, C3-2, ring G2, frame]
parts:
  controller:
    feed: {volts: {value: 5.1 V, range: 5.0..5.2 V, origin: measured, on: 2026-05-12}, limit: 80 mA}
    gate input: {pull-down: 21 kohm, bands: {0..1 V: open, 3.5..5.6 V: shut}}
functions:
  lift: {releases when: gate input is shut and lever is raise, drives: lift output, guard: gate is shut}
"""
STATE = "key on, gate shut, lever raise, all plugged"


def shown(client: object, job: Job) -> str:
    answer = client.get(f"/job/{job.record.id}/suspects")  # type: ignore[attr-defined]
    assert answer.status_code == 200
    return str(answer.text)


def test_every_shown_suspect_has_its_chance_and_repair() -> None:
    with at_work(DEAD, "C4-1 to battery-: 12.3 V", "C4-2 to battery-: 0.01 V") as (client, job):
        answer = job.answer()
        page = words(shown(client, job)).replace("\u00a0", " ")
        for group in shown_groups(answer):
            for suspect in group.suspects[:3]:
                if suspect.probability < 0.01:
                    continue
                assert suspect.name in page
                assert percent(suspect.probability) in page
                assert suspect.repair in page


def test_predicted_stands_beside_measured_for_every_reading() -> None:
    with at_work(DEAD, "C4-1 to battery-: 12.3 V", "C4-2 to battery-: 0.01 V") as (client, job):
        suspect = job.answer().groups[0].suspects[0]
        page = shown(client, job)
        table = re.search(r"<tbody>(.*?)</tbody>", page, re.S)
        assert table
        assert table[1].count("<tr>") == len(suspect.reasons) == 3
        assert "12.3\u00a0V" in table[1]
        pro, contra = strongest(suspect)
        marked = pro or (telling(job.answer(), suspect) if contra is None else None)
        own = page.split("</table>")[0]
        assert own.count("Most for it:") == (marked is not None)
        assert own.count("Most against it:") == (contra is not None)


def test_a_group_that_looks_alike_names_the_check_that_parts_it() -> None:
    with at_work(DEAD) as (client, job):
        group = job.answer().groups[0]
        assert len(group.suspects) > 1
        page = shown(client, job)
        split = bp.splitting_check(job.answer(), job.next_checks(12), group)
        assert split
        assert re.search("(What tells|The next check tells) them apart", page)
        place = worth_doing(job.next_checks(12)).index(split.check)
        assert f'href="/job/{job.record.id}?check={place}#read"' in page


ROW = """\
sheet: Row of switches
controls: {key: [off, on]}
runs:
  row: [battery+, fuse F1 5 A, C1-1, C2-1, bar switch, C2-2, C3-1, key, C3-2, C4-1, coil Y1 9 ohm, frame]
parts: {bar switch: {closed: {key: [off, on]}}}
"""
BROKEN = ("Y1 dead, key on, all plugged", "C1-1 to battery-: 12.5 V", "C4-1 to battery-: 0 V")


@pytest.mark.parametrize(
    ("language", "head", "still"),
    [
        ("en", "Somewhere from C1-1 to C4-1", "possibilities, in series from C1-1 to C4-1."),
        ("de", "Irgendwo von C1-1 bis C4-1", "Möglichkeiten, in Reihe von C1-1 bis C4-1."),
    ],
)
def test_neighbours_in_a_row_are_one_stretch_with_its_list_folded(
    language: str, head: str, still: str
) -> None:
    with at_work(*BROKEN, text=ROW, language=language) as (client, job):
        page = plain(shown(client, job))
        said = words(page)
        assert head in said
        assert still in said
        section = page[page.index("<h2>") : page.index("</section>", page.index("<h2>"))]
        # The check that halves the row comes before those that lie on it: three at once, three behind a fold.
        listed = section[section.index('class="button second"') :]
        folded = listed.index("Show 3 more of them" if language == "en" else "Noch 3 davon zeigen")
        assert [m.start() > folded for m in re.finditer("<h3>", listed)] == [False] * 3 + [True] * 3


def test_before_anything_is_read_nobody_is_blamed() -> None:
    with at_work() as (client, job):
        page = words(shown(client, job))
        assert "Nothing read yet" in page
        assert "Say first what is dead." in page


def test_a_controller_is_held_back_with_what_is_missing() -> None:
    lines = (f"lift dead, {STATE}", "C2-2 to battery-: 5.08 V")
    with at_work(*lines, text=GATE) as (client, job):
        held = [h for h in job.answer().held if h.probability >= 0.01]
        assert held
        page = words(shown(client, job))
        assert "The controller comes last" in page
        for missing in held[0].missing:
            assert missing.what in page


def test_a_reading_that_does_not_fit_is_named() -> None:
    # The input reads shut while the drop along the same run says that it is open: one of both is a slip.
    lines = (
        f"lift dead, {STATE}",
        "C2-1 to battery-: 5.1 V",
        "C2-2 to battery-: 0.01 V",
        "C2-1 to C2-2: 0.01 V",
    )
    with at_work(*lines, text=GATE) as (client, job):
        answer = job.answer()
        page = words(shown(client, job))
        assert answer.drops or answer.slips
        assert "None of these" in page
        assert ("do not add up" in page) == bool(answer.drops)
        assert ("Take again" in page) == bool(bp.doubts(answer) or bp.live_ohms(answer))


def test_worn_things_stand_apart() -> None:
    # A switch that loses 0.4 V of 12 at 140 mA is worn, and not what keeps the relay out.
    with at_work(DEAD, "C4-1 to C4-2: 0.42 V", "after relay K7 to battery-: 11.6 V") as (client, job):
        answer = job.answer()
        page = words(shown(client, job))
        worn = [w for w in answer.worn if w.present >= 0.01]
        assert ("Perhaps worn, and not the cause" in page) == any(w.present < 0.5 for w in worn)
        assert ("Worn as well, but not the cause" in page) == any(w.present >= 0.5 for w in worn)
        for w in worn:
            assert w.name in page

"""The circuit page of a job: volts, leads, suspects, one part's faults, and the way to a reading."""

from __future__ import annotations

import html
import re
from pathlib import Path

import httpx2
import pytest
from jinja2 import Environment
from starlette.testclient import TestClient

import backprobe as bp
import backprobe.web
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.web.app import make_app
from backprobe.web.circuit_part import part_of
from backprobe.web.circuit_view import shown_volts, view_of
from tests.web.helpers import plain

SHEET = """\
sheet: Vineyard mulcher, gate circuit
system: 12 V
controls: {key: [off, on], gate: [open, shut]}
runs:
  main: [battery+, fuse F1 10 A, key switch, C1-1, gate switch, C1-2, coil Y1 9 ohm, ring G1, frame]
functions:
  blades: {loads: coil Y1, guard: gate is shut}
"""
STATE = "key on, gate shut, all plugged"


def _job(store: Store, *lines: str) -> Job:
    job = Job.new(store, bp.parse_sheet(SHEET), title="Blades dead")
    for line in lines:
        job.read(f"{line}, {STATE}")
    return job


@pytest.fixture
def store() -> Store:
    """An empty store."""
    return Store.open(":memory:")


def _get(store: Store, address: str, language: str = "en") -> httpx2.Response:
    client = TestClient(
        make_app(store),
        base_url="http://localhost",
        client=("127.0.0.1", 50_000),
        headers={"accept-language": language},
    )
    return client.get(address)


def _plain(page: httpx2.Response) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page.text)).split())


def test_what_a_fault_would_do_is_told_one_thing_after_the_other() -> None:
    part = """{% set fault = {"stops": ["stop coil Y1"], "starts": starts, "defeats": ["gate open"]} %}"""
    source = (Path(backprobe.web.__file__).parent / "templates" / "circuit.html").read_text(encoding="utf-8")
    would = re.search(r"<dd>({% if fault.stops %}.*?)</dd>", source, re.S)
    assert would
    shown = Environment(trim_blocks=True, lstrip_blocks=True, autoescape=True).from_string(part + would[1])

    def text(starts: list[str]) -> str:
        page = shown.render(starts=starts, _=lambda words, **gaps: words % gaps)
        return " ".join(re.sub(r"<[^>]+>", "", page).split())

    assert text([]) == "stop stop coil Y1; defeat a guard: gate open works"
    both = "stop stop coil Y1; let horn work where it should not; defeat a guard: gate open works"
    assert text(["horn"]) == both


def test_leads_of_the_next_check_and_volts_stand_in_the_drawing(store: Store) -> None:
    job = _job(store, "blades dead", "C1-1 to battery-: 12.3 V")
    page = _get(store, f"/job/{job.record.id}/circuit")
    assert page.status_code == 200
    candidate = job.next_checks(1)[0].candidate
    assert candidate.red is not None
    assert candidate.black is not None
    assert 'class="lead red"' in page.text
    assert f"red on {candidate.red.name}" in _plain(page)
    assert f"black on {candidate.black.name}" in _plain(page)
    job.read(f"C1-2 to battery-: 0.02 V, {STATE}")
    view = view_of(job.answer(), job.next_checks(1)[0])
    page = _get(store, f"/job/{job.record.id}/circuit?state={view.setups.index(STATE)}")
    healthy = bp.predict(job.engine, {"key": "on", "gate": "shut"}, points=["C1-2"])[0]
    assert f">{shown_volts(healthy.volts)} / 0.02 V<" in page.text


def test_volts_are_those_of_the_state_that_is_chosen(store: Store) -> None:
    job = _job(store, "blades dead", "C1-1 to battery-: 12.3 V")
    job.read("C1-1 to battery-: 0.00 V, key off, gate shut, all plugged")
    answer = job.answer()
    first = view_of(answer, None, 0)
    assert first.setups == ("key off, gate shut, all plugged", "key on, gate shut, all plugged")
    volts = {p.name: (p.healthy, p.measured) for p in first.places}
    assert volts["C1-1"] == ("0 V", "0 V")
    other = {p.name: p.measured for p in view_of(answer, None, 1).places}
    assert other["C1-1"] == "12.3 V"
    assert view_of(answer, None, 99).chosen == 0


def test_suspects_are_numbered_likeliest_first(store: Store) -> None:
    job = _job(store, "blades dead", "C1-1 to battery-: 12.3 V", "C1-2 to battery-: 0.00 V")
    view = view_of(job.answer(), None)
    assert [n.number for n in view.suspects] == list(range(1, len(view.suspects) + 1))
    assert view.suspects[0].part == job.answer().suspects[0].names[0].partition(":")[0]
    heavier = re.findall(r'class="part [^"]*suspect" data-part="([^"]+)"', view.drawing)
    assert view.suspects[0].part in heavier


def test_a_part_tells_what_each_fault_would_do_and_which_defeats_the_guard(store: Store) -> None:
    job = _job(store, "blades dead")
    part = part_of(job.answer(), None, "gate switch")
    assert part is not None
    assert part.works == ("blades",)
    faults = {f.mode: f for f in part.faults}
    assert faults["does not close"].stops == ("blades",)
    assert faults["does not close"].defeats == ()
    assert faults["does not open"].stops == ()
    assert faults["does not open"].defeats == ("blades: gate open",)
    page = _get(store, f"/job/{job.record.id}/circuit?part=gate%20switch")
    assert "defeat a guard: blades: gate open works" in _plain(page)
    assert {"C1-1", "C1-2"} <= set(part.points)


def test_faults_show_what_the_next_check_would(store: Store) -> None:
    job = _job(store, "blades dead")
    check = next(c for c in job.next_checks(9) if c.candidate.kind == "volts" and c.candidate.red)
    part = part_of(job.answer(), check, "fuse F1")
    assert part is not None
    blown = next(f for f in part.faults if f.mode == "blown")
    red, black = check.candidate.red, check.candidate.black
    assert red is not None
    assert black is not None
    shown = bp.predict(
        job.engine, check.candidate.setup, points=[red.name], black=black.name, fault="fuse F1: blown"
    )[0]
    assert blown.shows == shown_volts(shown.volts)


def test_a_part_that_is_not_there_is_said_so(store: Store) -> None:
    job = _job(store)
    page = _get(store, f"/job/{job.record.id}/circuit?part=flux%20coil")
    assert page.status_code == 200
    assert "No part of this sheet is called so" in _plain(page)


def test_a_point_leads_to_a_reading_with_red_on_it(store: Store) -> None:
    job = _job(store, "blades dead")
    page = _get(store, f"/job/{job.record.id}/circuit")
    links = [html.unescape(a) for a in re.findall(r'class="point-link" href="([^"]+)"', page.text)]
    link = next(a for a in links if "red=C1-2" in a)
    form = _get(store, link)
    assert form.status_code == 200
    red = form.text.partition('name="red"')[2].partition("</select>")[0]
    assert "<option selected>C1-2</option>" in red


def test_every_part_of_the_drawing_has_a_link_for_those_who_cannot_tap(store: Store) -> None:
    job = _job(store)
    page = _get(store, f"/job/{job.record.id}/circuit")
    drawn = {html.unescape(p) for p in re.findall(r'data-part="([^"/]+)" ?', page.text)}
    linked = {html.unescape(p) for p in re.findall(r'#part">([^<]+)</a>', plain(page.text))}
    assert "coil Y1" in drawn
    assert drawn <= linked


def test_german_writes_a_comma_and_leaves_the_drawing_sound(store: Store) -> None:
    job = _job(store, "blades dead", "C1-1 to battery-: 12.3 V")
    page = _get(store, f"/job/{job.record.id}/circuit", "de")
    assert "12,3 V" in page.text
    drawing = page.text.partition("<svg")[2].partition("</svg>")[0]
    assert not re.search(r'="[^"]*\d,\d', drawing)


def test_the_policy_finds_nothing_inline(store: Store) -> None:
    job = _job(store, "blades dead")
    for address in (f"/job/{job.record.id}/circuit?part=coil%20Y1", "/sketch"):
        page = _get(store, address).text
        assert not re.search(r"\sstyle=|\son\w+=\"|<style|<script(?![^>]*\ssrc=)", page)


@pytest.mark.parametrize(
    ("volts", "words"),
    [(0.004, "0 V"), (-0.004, "0 V"), (0.02, "0.02 V"), (9.876, "9.88 V"), (12.44, "12.4 V")],
)
def test_volts_are_written_as_a_meter_shows_them(volts: float, words: str) -> None:
    assert shown_volts(volts) == words

"""Bands, stand-ins, pins, recordings and plans on the page: the engine's answer, drawn, with its cautions."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree

import pytest

import backprobe as bp
from backprobe.diagnosis.plan import End
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.report.standin_words import REMOVAL, TESTING
from tests.web.helpers import DEAD, at_work, visitor
from tests.web.test_suspects_page import GATE
from tests.web.test_tools_numbers import asked, plain

SENSOR = """\
sheet: Vine trimmer, bar sensor circuit
system: 12 V
controls: {key: [off, on], bar: [up, down], lever: [rest, run]}
runs:
  power:  [battery+, fuse F3 10 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, ring G1, frame, strap, battery-]
  feed:   [controller.feed, C2-1, bar sensor.supply]
  signal: [bar sensor.output, C2-2, controller.bar input]
  return: [bar sensor.ground, C2-3, controller.sensor ground]
  valve:  [controller.cutter output, C3-1, coil Y2 9.1 ohm, C3-2, ring G2, frame]
parts:
  bar sensor: {kind: ratiometric sensor, output: {bar up: 18 %, bar down: 70 %}}
  controller:
    feed: {volts: 7.3 V +-2 %, limit: 70 mA}
    bar input:
      pull-down: 36 kohm
      bands: {0..0.5 V: code low, 0.5..2.4 V: up, 4.3..5.9 V: down, 6.4..7.8 V: code high}
functions:
  cutter: {releases when: bar input is down and lever is run, drives: cutter output, guard: bar is down}
"""
SWEEP = "0.6: open\n1.4: open\n2.2: open\n3.0: shut\n4.1: shut\n5.2: shut\n2.6 down: shut\n2.0 down: open"
TABLE = "time [s],signal [V]\n" + "\n".join(
    f"{k / 2:g},{0.3 if 60 <= k < 66 or 140 <= k < 146 else 5.1 + 0.01 * (k % 3):.2f}" for k in range(240)
)


@pytest.fixture
def client() -> Iterator[Any]:
    with Store.open(":memory:") as store, visitor(store) as found:
        yield found


@pytest.fixture
def gate() -> Iterator[tuple[Any, Job]]:
    with at_work("lift dead, key on, gate shut, lever raise, all plugged", text=GATE) as found:
        yield found


@pytest.fixture
def sensor() -> Iterator[tuple[Any, Job]]:
    with at_work(text=SENSOR) as found:
        yield found


def drawing(page: str) -> ElementTree.Element:
    """The first drawing of a page; it must be XML without anything that the policy forbids."""
    found = re.search(r"<svg viewBox.*?</svg>", page, re.S)
    assert found
    assert "style=" not in found[0]
    return ElementTree.fromstring(found[0])


def texts(svg: ElementTree.Element) -> list[str]:
    return [t.text or "" for t in svg.iter("{http://www.w3.org/2000/svg}text")]


def test_bands_stand_with_their_intervals_and_the_next_volts(client: Any) -> None:
    answer = bp.band(SWEEP)
    page = asked(client, "/band", {"sweep": SWEEP})
    edge = answer.crossings[0].edges[0]
    assert f"{edge.low:.2f} – {edge.high:.2f} V" in plain(page)
    assert answer.next is not None
    assert f"Next {answer.next.volts:.2f} V" in plain(page)
    assert "never more volts than the sensor's own feed" in plain(page)
    svg = drawing(page)
    assert f"{edge.best:.2f}" in [t.lstrip("\u2191\u2193") for t in texts(svg)]
    # One mark for each answer that was given.
    marks = [
        p
        for p in svg.iter("{http://www.w3.org/2000/svg}path")
        if re.fullmatch(r"M[\d.]+ [\d.]+V[\d.]+", p.get("d", "")) and p.get("class") == "ink"
    ]
    assert len(marks) == len(SWEEP.splitlines())


def test_a_sweep_can_be_sent_as_a_file(client: Any) -> None:
    file = {
        "sweep_file": ("sweep.csv", b"volts,answer\n1.0,open\n2.0,open\n3.0,shut\n4.0,shut\n", "text/csv")
    }
    page = plain(asked(client, "/band", {"sweep": ""}, files=file))
    assert "1 edge" in page
    bad = {"sweep_file": ("sweep.csv", b"\xff\xfe", "text/csv")}
    assert "is not UTF-8 text" in plain(asked(client, "/band", {"sweep": ""}, files=bad))


def test_a_sweep_is_held_against_the_jobs_sheet(gate: tuple[Any, Job]) -> None:
    client, job = gate
    page = plain(asked(client, f"/job/{job.record.id}/band", {"sweep": SWEEP, "input": "gate input"}))
    assert "The sheet's bands of gate input" in page
    assert "holds" in page


def test_a_stand_in_says_what_it_defeats_and_how_it_comes_out(sensor: tuple[Any, Job]) -> None:
    client, job = sensor
    address = f"/job/{job.record.id}/stand-in"
    page = asked(client, address, {"wanted": "bar input|down"})
    shown = plain(page)
    bench = bp.stand_in_for(job.sheet, "bar input", "down")
    assert TESTING in shown
    assert REMOVAL in shown
    assert "DEFEATS THE GUARD: cutter would work with" in shown
    assert any(r.open is not None for r in bench.released)
    best = bench.stand_ins[0]
    assert f"{best.volts:.2f} V, at worst {best.low:.2f} V – {best.high:.2f} V" in shown
    assert [t for t in texts(drawing(page)) if t.isdigit()] == [
        str(k + 1) for k in range(len(bench.stand_ins))
    ]


def test_the_warning_stands_before_anything_is_asked(client: Any) -> None:
    assert "FOR TESTING ONLY" in client.get("/stand-in").text


def test_a_stand_in_by_numbers_alone(client: Any) -> None:
    page = plain(asked(client, "/stand-in", {"feed": "7.4", "band": "3.9..5.1", "pull_down": "33k"}))
    assert "3.90 V – 5.10 V" in page
    assert "guard must be truly shut" in page
    wrong = asked(client, "/stand-in", {"feed": "7.4", "band": "5.1..3.9"})
    assert 'id="band-wrong"' in wrong
    assert 'id="feed-wrong"' in asked(client, "/stand-in", {"feed": "", "band": "3.9..5.1"})


def test_pins_have_their_roles_or_the_reading_that_is_missing(client: Any) -> None:
    page = plain(asked(client, "/pin-out", {"side": "machine", "readings": "A open 8.31 V\nB open 0.00 V"}))
    found = bp.pin_out("A open 8.31 V\nB open 0.00 V")
    assert "Missing: this reading next" in page
    assert found.missing[0].words in page
    assert "Never on airbag, hybrid or high-voltage circuits" in page


def test_a_sensor_on_the_bench_is_given_little_current(client: Any) -> None:
    page = plain(asked(client, "/pin-out", {"side": "part", "readings": "", "pins": "A, B, C", "bench": "6"}))
    assert "no two pins take more than" in page
    # 6 V / 4 mA = 1.5 kohm is a value of E12.
    assert "6.00 V through 1.50 kΩ" in page


def test_dropouts_are_drawn_and_numbered(client: Any) -> None:
    page = asked(client, "/log", {"recording": TABLE, "notes": "29.6 s: wiggled C4\n69.8 s: wiggled C4"})
    assert "2 dropouts: 5.11 V → 0.30 V" in plain(page)
    assert "2 of 2 within 3.0 s" in plain(page)
    svg = drawing(page)
    assert {"1", "2"} <= set(texts(svg))
    assert sum(r.get("class") == "soft" for r in svg.iter("{http://www.w3.org/2000/svg}rect")) == 2


def test_a_long_recording_is_kept_without_being_sent_again(client: Any) -> None:
    rows = "\n".join(f"{k},{5 + 0.01 * (k % 3):.2f}" for k in range(4000))
    page = asked(client, "/log", {"recording": f"time [s],signal [V]\n{rows}"})
    assert "The last recording is kept" in page
    assert rows[:200] not in page
    number = re.search(r'name="before" value="([^"]+)"', page)
    assert number
    again = asked(client, "/log", {"recording": "", "before": number[1], "within": "5"})
    assert 'id="answer"' in again


def test_a_bad_cell_names_its_line(client: Any) -> None:
    page = plain(asked(client, "/log", {"recording": TABLE.replace("1.5,5.10", "1.5,five")}))
    assert "5: 'five' is no number" in page


def test_the_plan_is_a_list_and_a_tree(gate: tuple[Any, Job]) -> None:
    client, job = gate
    address = f"/job/{job.record.id}/plan"
    page = asked(client, address, {"depth": "3", "steps": "4", "begin": "read"})
    plan = bp.plan(job.engine, job.readings(), depth=3, steps=4)
    assert not isinstance(plan.first, End)
    for step in plan.steps:
        assert f"{step.number}. " in plain(page)
    first = plan.first.check.candidate
    assert first.red is not None
    name = first.red.name
    assert f"red {name if name.startswith(('before', 'after')) else f'on {name}'}" in plain(page)
    boxes = drawing(page).iter("{http://www.w3.org/2000/svg}rect")
    assert sum(1 for b in boxes if b.get("rx")) == len(plan.steps)
    assert 'id="steps-wrong"' in asked(client, address, {"depth": "3", "steps": "400"})


def test_a_plan_is_kept_until_the_log_grows() -> None:
    with at_work(DEAD) as (client, job):
        address = f"/job/{job.record.id}/plan"
        asked(client, address, {"depth": "2", "steps": "2"})
        plans = client.app.state.plans  # type: ignore[attr-defined]
        assert len(plans) == 1
        asked(client, address, {"depth": "2", "steps": "2"})
        assert len(plans) == 1
        job.read("C4-1 to battery-: 12.3 V")
        asked(client, address, {"depth": "2", "steps": "2"})
        assert len(plans) == 2


def test_a_jobs_calculations_lead_to_its_own_pages() -> None:
    with at_work() as (client, job):
        home = f"/job/{job.record.id}"
        page = client.get(f"{home}/bench").text
        for name in ("budget", "stand-in", "band", "log", "plan", "trial", "sanity"):
            assert f'href="{home}/{name}"' in page
        for name in ("wire", "temperature", "pin-out"):
            assert f'href="/{name}"' in page

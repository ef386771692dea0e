"""Guards are tried with the starter's wire or plug off, and the list says what is to be seen meanwhile.

That an engine is not cranked to prove that it must not crank is common practice, no source.
"""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.demo.story import demo_sheets
from backprobe.diagnosis.guard_tries import guard_tries
from backprobe.jobs.job import Job
from backprobe.jobs.kept_still import kept_still
from backprobe.jobs.proving import SMALL_WIRE, STARTER_PLUG, Tick, ticks_of
from backprobe.jobs.store import Store
from backprobe.report.repair_words import before_trying, headings, tick_words
from backprobe.sheet.model import Sheet
from backprobe.web.texts import texts
from tests.jobs.test_repairs import SHEET

STARTS = f"{SHEET}parts:\n  key switch: {{closed: {{key: start}}}}\n"
DEAD = "relay K1 dead, key start, brake set, seat seated, all plugged"
SHARED = """\
sheet: Press, start circuit through one plug
system: 12 V
controls: {key: [off, on, start], seat: [empty, seated]}
runs:
  coil: [battery+, fuse F1 15 A, key start, C1-1, seat switch, C2-1, relay coil K1 81 ohm, frame]
  turn: [battery+, relay contact K1, C2-2, coil starter 2 ohm, frame]
functions:
  starter: {loads: coil starter, guard: seat is seated}
  relay K1: {loads: relay K1, guard: seat is seated}
"""


def told(sheet: Sheet) -> list[str]:
    return [tick_words(t, sheet) for t in ticks_of(bp.Engine(sheet))]


def test_with_the_small_wire_off_its_loose_end_says_what_the_engine_would_do() -> None:
    sheet = bp.parse_sheet(STARTS)
    ticks = ticks_of(bp.Engine(sheet))
    wire = [t.key for t in ticks].index(SMALL_WIRE)
    for k, tick in enumerate(ticks):
        said = tick_words(tick, sheet)
        assert ("no volts at the loose end of the small wire" in said) == (bool(tick.tries) and k < wire)
        # What cannot crank is not ticked for not cranking.
        assert ("crank" in said) == (bool(tick.tries) and k > wire)
    assert tick_words(ticks[0], sheet).endswith("the small wire of the starter stays off for now.")
    assert [t.works for t in ticks[wire + 1 : -1]] == [True]


def test_what_goes_back_on_stands_under_the_states_that_must_run() -> None:
    ticks = ticks_of(bp.Engine(bp.parse_sheet(STARTS)))
    said = dict(zip([t.key for t in ticks], headings(ticks), strict=True))
    assert said[SMALL_WIRE] == "Then the states in which it must run."
    assert list(said.values()).count("") == len(said) - 2


def test_where_a_plug_stands_before_the_starter_it_stays_off_and_its_cavity_tells() -> None:
    sheet = demo_sheets()["dumper"]
    engine = bp.Engine(sheet)
    still = kept_still(engine, guard_tries(engine))
    assert still is not None
    assert still.plug == "C6"
    assert still.behind == {"starter"}
    ticks = ticks_of(engine)
    back = [t.key for t in ticks].index(STARTER_PLUG)
    assert tick_words(ticks[back], sheet) == "C6 is plugged again."
    for tick in ticks[1:back]:
        said = tick_words(tick, sheet)
        assert "C6 unplugged: relay K2 must NOT click, no volts from C6-1 machine side to battery-" in said
        # The starter cannot turn with its plug off: that it stands still proves nothing.
        assert "starter must" not in said
    assert "all plugged: starter must work, relay K2 must click, the engine must crank" in told(sheet)[-2]
    assert "with C6 off" in headings(ticks)[1]


def test_the_cavity_is_live_where_it_may_crank_and_dead_where_not() -> None:
    engine = bp.Engine(demo_sheets()["dumper"])
    for tick in ticks_of(engine):
        for one in tick.tries:
            assert one.setup is not None
            setup = one.setup if one.setup.unplugged else one.setup.without("C6")
            (point,) = bp.predict(engine, setup, points=["C6-1 machine side"])
            assert (point.volts > 10) == one.works


def test_a_plug_that_the_guards_run_through_stays_on() -> None:
    sheet = bp.parse_sheet(SHARED)
    engine = bp.Engine(sheet)
    assert kept_still(engine, guard_tries(engine)) is None
    assert any("the engine must not crank" in t for t in told(sheet))


@pytest.mark.parametrize("language", ["en", "de"])
def test_before_it_is_tried_again_the_wire_stays_off(language: str) -> None:
    with Store.open(":memory:") as store:
        job = Job.new(store, bp.parse_sheet(STARTS), title="will not crank")
        job.read(DEAD)
        job.read("C1-1 to C2-1: 4.2 ohm, key off, C1 unplugged")
        job.repaired("brake switch: replaced")
        said = [texts(language).said(t) for t in before_trying(job, job.readings()[0].setup)]
    wanted = {
        "en": [
            "Put back: C1.",
            "The small wire stays off the starter for now: relay K1 works when it clicks.",
        ],
        "de": ["Wieder einsetzen: C1.", "Der kleine Draht am Anlasser bleibt vorerst ab: relay K1 geht"],
    }[language]
    assert [s.startswith(w) for s, w in zip(said, wanted, strict=True)] == [True, True]


def test_a_starter_behind_a_plug_is_tried_with_it_on_and_each_guard_before() -> None:
    sheet = demo_sheets()["dumper"]
    with Store.open(":memory:") as store:
        job = Job.new(store, sheet, title="will not crank")
        job.read("starter dead, key start, seat seated, lever neutral, brake set, all plugged")
        job.repaired("relay K2: replaced")
        back, first = before_trying(job, job.readings()[0].setup)
    assert back == "Everything that was unplugged or taken out is back in."
    assert first.startswith(
        "Leave C6 off at first: with each guard open in turn (seat empty, lever drive and"
    )
    assert first.endswith("Then plug C6 and try.")


def test_every_tick_is_said_in_german() -> None:
    german = texts("de")
    for sheet in (bp.parse_sheet(STARTS), demo_sheets()["dumper"]):
        ticks: tuple[Tick, ...] = ticks_of(bp.Engine(sheet))
        for text in [h for h in headings(ticks) if h] + [tick_words(t, sheet) for t in ticks if not t.tries]:
            assert german.said(text) != text
        assert "no volts" not in german.said(tick_words(ticks[1], sheet).rpartition(", ")[2])

"""The starter's plug is off only where that proves something; what the list says a sound machine does.

That an engine is not cranked to prove that it must not crank is common practice, no source. What each sheet
does is read off its runs by hand.
"""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.demo.story import demo_sheets
from backprobe.diagnosis.guard_tries import guard_tries
from backprobe.diagnosis.states import WORKS, works_with
from backprobe.jobs.job import Job
from backprobe.jobs.kept_still import kept_still
from backprobe.jobs.proving import PLUGGED, STARTER_PLUG, ticks_of
from backprobe.jobs.store import Store
from backprobe.report.repair_words import before_trying, tick_musts, tick_words
from backprobe.sheet.model import Sheet
from backprobe.web.texts import texts

CONTROLS = """\
sheet: Vine lifter
system: 12 V
controls: {key: [off, on, start], seat: [seated, empty], lever: [neutral, drive]}
"""
STARTER = """\
  chain: [battery+, fuse F1, key start switch, lever switch, relay coil K2, frame]
  start: [battery+, relay contact K2, C1-1, coil M1 1.3 ohm, frame]
"""
SWITCHES = """\
  key start switch: {closed: {key: start}}
  lever switch: {closed: {lever: neutral}}
"""
SHUNT = f"""\
{CONTROLS}runs:
{STARTER}\
  boom: [battery+, fuse F2, key on switch, resistor R1 12 ohm, splice S1, coil Y1 44 ohm, frame]
  seat: [splice S1, C1-2, seat switch, frame]
parts:
{SWITCHES}\
  key on switch: {{closed: {{key: ON}}}}
  seat switch: {{closed: {{seat: empty}}}}
functions:
  starter: {{loads: coil M1, guard: lever is neutral and key is start}}
  boom: {{loads: coil Y1, guard: seat is seated}}
"""
SHUNTED, SHUNTED_AT_START = SHUNT.replace("ON", "on"), SHUNT.replace("ON", "[on, start]")
"""A seat switch that lets the boom go through the starter's plug, and one by which it also runs at start."""
GLOW = f"""\
{CONTROLS}runs:
{STARTER}\
  glow: [battery+, fuse F2, key glow switch, seat switch, coil Y1 44 ohm, frame]
parts:
{SWITCHES}\
  key glow switch: {{closed: {{key: start}}}}
  seat switch: {{closed: {{seat: seated}}}}
functions:
  starter: {{loads: coil M1, guard: lever is neutral}}
  pump: {{loads: coil Y1, guard: seat is seated}}
"""
"""With the seat empty the pump is held and the engine cranks."""
GLOW_UNNAMED = GLOW.replace("starter:", "motor:")
GLOW_BARE = GLOW.replace("C1-1, ", "")
DIRECT = f"""\
{CONTROLS}runs:
  chain: [battery+, fuse F1, key start switch, lever switch, coil M1 1.3 ohm, frame]
  pump: [battery+, fuse F2, key on switch, seat switch, relay coil K1 92 ohm, frame]
parts:
{SWITCHES}\
  key on switch: {{closed: {{key: on}}}}
  seat switch: {{closed: {{seat: seated}}}}
functions:
  starter: {{loads: coil M1, guard: lever is neutral}}
  pump: {{loads: relay K1, guard: seat is seated}}
"""
"""A starter fed by its key, and a relay that has nothing to do with it."""
PLUG_OF_THE_PUMP = GLOW_BARE.replace("seat switch, coil Y1", "seat switch, C1-1, coil Y1")
SHEETS = [SHUNTED, SHUNTED_AT_START, GLOW, GLOW_UNNAMED, GLOW_BARE, DIRECT, PLUG_OF_THE_PUMP]


def told(text: str) -> list[str]:
    sheet = bp.parse_sheet(text)
    return [tick_words(t, sheet) for t in ticks_of(bp.Engine(sheet))]


def every_sheet() -> list[Sheet]:
    return [*(bp.parse_sheet(t) for t in SHEETS), *demo_sheets().values()]


def test_every_try_has_words_and_a_sound_machine_meets_it() -> None:
    for sheet in every_sheet():
        engine = bp.Engine(sheet)
        for tick in ticks_of(engine):
            for one in tick.tries:
                assert all(tick_musts(tick, sheet)) and tick_musts(tick, sheet)
                if one.setup is not None and not one.both:
                    runs = one.function in works_with(engine, one.setup)
                    assert runs == one.works, tick_words(tick, sheet)


def test_a_plug_through_which_a_guard_runs_is_on_where_that_guard_is_tried() -> None:
    said = told(SHUNTED)
    boom = [s for s in said if "boom must" in s]
    assert len(boom) == 2
    assert all("all plugged" in s for s in boom)
    back = said.index("C1 is plugged again.")
    assert all(said.index(s) > back for s in boom)
    # Only the try at start has it off.
    assert [s for s in said if "unplugged:" in s] == [
        "key start, seat seated, lever drive and C1 unplugged: relay K2 must NOT click, no volts from C1-1 "
        "machine side to battery-"
    ]
    assert "key on, seat seated, lever neutral and all plugged: starter must NOT work" in said


def test_a_plug_that_changes_what_else_runs_at_start_stays_on() -> None:
    # With the seat empty the boom is let go at start by the plug alone: the tries at start may have it so.
    guard = "guard: lever is neutral and key is start"
    text = SHUNTED_AT_START.replace(guard, "guard: lever is neutral and seat is empty")
    text = text.replace("key start switch, lever switch", "key start switch, lever switch, empty switch")
    text = text.replace("  seat switch:", "  empty switch: {closed: {seat: empty}}\n  seat switch:")
    engine = bp.Engine(bp.parse_sheet(text))
    assert kept_still(engine, guard_tries(engine)) is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            GLOW,
            "C1 unplugged: pump must NOT work, volts from C1-1 machine side to battery- are no fault here",
        ),
        (GLOW_BARE, "pump must NOT work, the engine may crank here"),
    ],
)
def test_where_the_engine_cranks_all_the_same_it_is_not_said_to_be_held(text: str, words: str) -> None:
    said = next(s for s in told(text) if "seat empty" in s)
    assert said.endswith(words)
    german = texts("de").said(words.rpartition(", ")[2])
    assert "kein Fehler" in german or german == "der Motor kann hier drehen"


def test_where_no_name_tells_what_cranks_the_engine_is_held_only_with_all_that_may_be_it() -> None:
    # At lever drive the pump still runs: by the sheet alone it may be what cranks.
    said = told(GLOW_UNNAMED)
    assert not any("must not crank" in s or "no volts" in s for s in said)
    assert any("motor must NOT work, relay K2 must NOT click, the engine may crank here" in s for s in said)
    assert any("pump must work" in s and "the engine must crank" in s for s in said)


def test_the_plug_of_something_else_is_not_the_starter_s() -> None:
    keys = [t.key for t in ticks_of(bp.Engine(bp.parse_sheet(PLUG_OF_THE_PUMP)))]
    assert PLUGGED in keys
    assert STARTER_PLUG not in keys


def test_a_relay_that_is_dead_at_start_feeds_no_starter() -> None:
    assert not any("small wire" in s for s in told(DIRECT))
    assert any("starter must NOT work, the engine must not crank" in s for s in told(DIRECT))


def test_a_relay_at_start_is_the_starter_s_only_where_nothing_else_may_be_what_cranks() -> None:
    alone = DIRECT.replace("{key: on}", "{key: start}")
    assert not any("small wire" in s for s in told(alone.replace("starter:", "motor:")))


def test_what_cranks_with_its_guards_open_as_drawn_must_not_all_the_same() -> None:
    chain = "key start switch, lever switch, relay"
    text = GLOW.replace(chain, "key start switch, splice S1, lever switch, low switch, splice S2, relay")
    text = text.replace("  glow: [", "  round: [splice S1, drive switch, high switch, splice S2]\n  glow: [")
    text = text.replace(
        "parts:\n", "parts:\n  low switch: {closed: {bar: low}}\n  high switch: {closed: {bar: high}}\n"
    )
    text = text.replace("parts:\n", "parts:\n  drive switch: {closed: {lever: drive}}\n")
    text = text.replace("guard: lever is neutral", "guard: lever is neutral and bar is low")
    text = text.replace("controls: {", "controls: {bar: [low, high], ")
    both = next(s for s in told(text) if "lever drive and bar high at once" in s)
    assert "the engine must not crank" in both


def said_before(text: str, dead: str) -> list[str]:
    with Store.open(":memory:") as store:
        job = Job.new(store, bp.parse_sheet(text), title="dead")
        job.read(dead)
        job.repaired("lever switch: replaced")
        return before_trying(job, job.readings()[0].setup)


def test_the_small_wire_is_spoken_of_only_where_its_relay_was_dead() -> None:
    state = "dead, key start, seat seated, lever neutral, all plugged"
    assert len(said_before(DIRECT, f"starter {state}")) == 1
    # The pump runs at start too; the starter is a relay whose contact is not drawn.
    text = DIRECT.replace("{key: on}", "{key: [on, start]}").replace(
        "coil M1 1.3 ohm", "relay coil K5 92 ohm"
    )
    text = text.replace("loads: coil M1", "loads: relay K5")
    said = said_before(text, f"starter {state}")
    assert said[1].startswith("The small wire stays off the starter for now: relay K5 works when it clicks.")
    assert len(said_before(text, f"pump {state}")) == 1


def test_only_what_holds_the_starter_is_said_to_take_the_volts_away() -> None:
    for text in (SHUNTED, GLOW):
        said = said_before(text, "starter dead, key start, seat seated, lever neutral, all plugged")
        assert said[1].startswith("Leave C1 off at first: with each guard open in turn (lever drive) there")


def test_volts_at_the_starter_s_plug_are_as_the_list_says() -> None:
    for sheet in every_sheet():
        engine = bp.Engine(sheet)
        for tick in ticks_of(engine):
            if tick.still is None or not tick.still.plug or not tick.tries:
                continue
            setup = tick.tries[0].setup
            assert setup is not None
            (point,) = bp.predict(engine, setup, points=[tick.still.point])
            held = any("no volts" in m for m in tick_musts(tick, sheet))
            assert (point.volts < WORKS) == held

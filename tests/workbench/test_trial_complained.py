"""What a trial says of the job at hand: would it help here, is the part asked yet, what is measured."""

from __future__ import annotations

from functools import cache

import pytest

import backprobe as bp
from backprobe.demo.story import demo_sheets
from backprobe.report.hearsay_words import answer_text, hearsay_text
from backprobe.report.trial_words import trial_text
from backprobe.workbench import verdict as v
from backprobe.workbench.trial import Trials
from backprobe.workbench.trial_values import Meaning

CHAIN = "battery+ > fuse F1 15 A > key start switch > brake switch > seat switch > relay coil K1 > frame"
SEATED = "key start, seat seated, brake set"
READ = f"""
relay K1 dead, {SEATED}, all plugged
before brake switch to frame: 12.4 V, {SEATED}
after brake switch to frame: 0.02 V, {SEATED}
"""
"""A brake switch that does not close: 12.4 V before it and nothing behind it."""


@cache
def trials(readings: str = READ) -> Trials:
    return Trials(bp.sketch(CHAIN), readings)


def one(claim: str, readings: str = READ) -> Meaning:
    (meaning,) = trials(readings).read(claim).meanings
    return meaning


def test_a_bridge_over_a_good_switch_would_not_even_crank() -> None:
    """The seat switch is good: with it bridged the volts still end at the brake switch."""
    meaning = one("bridge the seat switch")
    assert meaning.verdict == v.DEFEATS
    assert meaning.works_chance == pytest.approx(0.0, abs=0.05)
    last = meaning.reasons[-1]
    assert last.startswith("today the engine would not even crank with it: the volts are lost at")
    assert "brake switch" in last
    assert "seat switch" not in last


def test_what_would_run_is_not_said_to_be_no_help_and_is_refused_all_the_same() -> None:
    meaning = one("bridge the brake switch")
    assert meaning.verdict == v.DEFEATS
    assert meaning.works_chance is not None
    assert meaning.works_chance > 0.5
    assert not any("would not even" in r for r in meaning.reasons)
    assert meaning.cautions[0].startswith("Refused as a repair")


def test_without_a_complaint_nothing_is_said_of_it() -> None:
    meaning = one("bridge the seat switch", "")
    assert meaning.works_chance is None
    assert not any("would not even" in r for r in meaning.reasons)


@pytest.mark.parametrize("claim", ["bridge the seat switch for a moment", "join two of C7 for a moment"])
def test_a_guard_bridged_for_a_moment_is_refused_first_and_gets_no_steps(claim: str) -> None:
    machine = Trials(demo_sheets()["dumper"])
    for meaning in machine.read(claim).meanings:
        assert meaning.verdict == v.DEFEATS
        assert meaning.cautions[0].startswith("Refused as a repair")
        assert meaning.cautions[1] == v.ONLY_TO_SEE
        said = " ".join(meaning.cautions)
        assert "Put back" not in said
        assert "Safe set-up" not in said
        assert "measure volts" in meaning.instead
    text = " ".join(trial_text(machine.read(claim)).split())
    assert text.index("Refused as a repair") < text.index("Better not to touch the guard.")
    assert "take the jumper off" not in text


def test_what_is_measured_instead_of_a_sensor_that_is_made_up() -> None:
    (meaning,) = Trials(demo_sheets()["sprayer"]).read("tie the gate down").meanings
    assert "measure volts from the signal of gate sensor to battery-" in meaning.instead
    (other,) = Trials(demo_sheets()["sprayer"]).read("clean C5").meanings
    assert other.instead == ""


def test_a_part_behind_a_relay_that_does_not_click_is_not_asked_yet() -> None:
    read = "relay K2 does not click, key start, seat seated, lever neutral, brake set, all plugged"
    machine = Trials(demo_sheets()["dumper"], read)
    (meaning,) = machine.read("new starter").meanings
    assert meaning.cure.words == "coil M1 swapped for a new one of its type"
    assert meaning.verdict == v.NO_EFFECT
    assert "relay K2 does not click, so coil M1 is not asked yet" in meaning.reasons
    assert not any("not fitted" in r for r in meaning.reasons)


def test_what_nobody_drew_behind_a_relay_is_judged_by_the_relay() -> None:
    meaning = one("new starter")
    assert meaning.verdict == v.NO_EFFECT
    assert meaning.reasons == ("relay K1 does not click, so starter is not asked yet",)
    with pytest.raises(bp.BackprobeError, match="lies behind relay K1") as unheard:
        one("new starter", "")
    assert "See first whether relay K1 clicks" in str(unheard.value)
    with pytest.raises(bp.BackprobeError, match="draw the run of its contact"):
        one("new starter", f"relay K1 clicks, {SEATED}, all plugged")


def test_the_plug_of_a_part() -> None:
    machine = Trials(demo_sheets()["dumper"])
    assert {m.cure.words for m in machine.read("jumper the seat plug").meanings} == {
        "C7-1 joined to C7-2, C7 unplugged",
        "C7-1 joined to C7-2, C7 plugged",
    }
    assert machine.read("unplug the seat plug").meanings[0].cure.words == "C7 unplugged"
    for claim in ("jumper the seat plug", "unplug the seat plug"):
        with pytest.raises(bp.BackprobeError, match="seat switch has none drawn"):
            one(claim)


def test_states_in_which_nothing_changes_are_one_line() -> None:
    text = trial_text(trials().read("unplug fuse F1"))
    assert text.count("nothing changes") == 1
    assert "most loaded" not in text
    assert "sound test" not in text
    # Of what takes the guard away no state is told in which it works.
    assert "nothing changes" not in trial_text(trials().read("bridge the seat switch"))


def test_hearsay_says_allowed_and_with_what_chance() -> None:
    found = bp.hearsay(bp.sketch(CHAIN), "new brake switch\nspray it\nnew battery", READ)
    words = " ".join(hearsay_text(found).split())
    assert "1. new brake switch: ALLOWED, cures it with" in words
    assert "SOUND REPAIR" not in words
    assert "this is the worst" not in words
    answer = " ".join(answer_text(found).split())
    assert "This does not help: - new battery: the engine would not even crank" in answer
    assert "every function stops: relay K1 must NOT click and the engine must not crank." in answer

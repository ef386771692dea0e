"""Reports of trials as a mechanic reads them: the verdict first, 80 columns, no sentence that trips."""

from __future__ import annotations

import json
import re
from functools import cache

import pytest

import backprobe as bp
from backprobe.circuit.setup import Setup
from backprobe.demo.story import demo_sheets
from backprobe.report.hearsay_words import answer_text, hearsay_text
from backprobe.report.trial_data import trial_data
from backprobe.report.trial_words import ALLOWED, trial_text
from backprobe.workbench.acts import open_words
from backprobe.workbench.hearsay import hearsay
from backprobe.workbench.trial import Trials
from backprobe.workbench.verdict import DEFEATS, NO_EFFECT, RANK, refusal
from tests.cli.helpers import too_wide
from tests.workbench.trial_walk import sheet_of

SCREEN = 24
"""Lines of a small terminal."""
CLAIMS = (
    "bridge it",
    "clean the plug",
    "hold it shut with a strap",
    "bigger fuse",
    "cut the wire",
    "unplug it",
)
TRIPS = re.compile(r"is not so|is is|\bare is\b|\(\)|  +[;,.]|;;|: :|[^.]\.\.(?!\d)|\bNone\b|\bnan\b")
"""What nobody would say."""
OPEN = ("three-wire-sensor-low", "seat-switch-supervised")
SHEETS = (*demo_sheets(), "self-holding-relay", "operate-button", "bus-pair", *OPEN)


@cache
def trials(name: str) -> Trials:
    """The bench of a machine of the fleet, or of a sheet of the library."""
    known = demo_sheets()
    return Trials(known[name] if name in known else bp.parse_sheet(bp.template(name).text))


@pytest.mark.parametrize("name", SHEETS)
def test_the_verdict_is_on_the_first_screen_and_no_sentence_trips(name: str) -> None:
    for claim in CLAIMS:
        try:
            trial = trials(name).read(claim)
        except bp.BackprobeError:
            # A sheet without a guard or a fuse has nothing of the sort.
            continue
        text = trial_text(trial)
        first = "\n".join(text.splitlines()[:6])
        verdict = ALLOWED.get(trial.verdict, trial.verdict.upper())
        assert verdict in first.upper() or "NO CURE" in first, text
        assert not too_wide(text)
        assert not TRIPS.search(text), text
        # A single meaning fits two small screens: what happens in many states is said once.
        assert len(text.splitlines()) <= 2 * SCREEN or len(trial.meanings) > 1


def test_a_saying_of_many_meanings_is_a_short_list() -> None:
    """36 resistors come to a handful of results; what defeats the guard stands first."""
    trial = trials("sprayer").read("it wants a resistor")
    text = trial_text(trial)
    assert len(trial.meanings) == 36
    assert len(text.splitlines()) <= 2 * SCREEN
    rows = re.findall(r"^- ([A-Z ]+?)(?: \(|:)", text, re.M)
    order = [*(r.upper() for r in reversed(RANK)), "ALLOWED AS A TEST"]
    assert rows == sorted(rows, key=order.index)
    assert rows[0] == DEFEATS.upper()
    assert text.count("Refused as a repair") == 1


def test_a_repair_tells_no_states_in_which_nothing_happens() -> None:
    assert "State by state" not in trial_text(trials("sprayer").read("clean C2"))
    assert "State by state" in trial_text(trials("sprayer").read("unplug C5"))


@pytest.mark.parametrize("claim", ["bridge the gate switch", "bridge the gate switch for a moment"])
def test_what_defeats_a_guard_is_not_told_state_by_state(claim: str) -> None:
    trial = trials("platform").read(claim)
    (meaning,) = trial.meanings
    assert meaning.refused
    # The states were acted out, and one of them lets the lift run.
    assert any("lift" in e.released for e in meaning.effects)
    text = " ".join(trial_text(trial).split())
    assert "State by state" not in text
    assert "can run" not in text
    assert "The guard is lost with key on, gate open, outriggers down, lever raise." in text
    told = json.loads(json.dumps(trial_data(trial)))["meanings"][0]
    kept = {k: told[k] for k in ("refused", "states", "suspects", "works_chance")}
    assert kept == {"refused": True, "states": [], "suspects": [], "works_chance": None}


def test_nobody_is_asked_which_of_several_bridges_he_meant() -> None:
    for claim, asks in (("bridge it", False), ("replace the switch", True)):
        trial = trials("dumper").read(claim)
        assert len(trial.meanings) > 1
        assert all(m.refused for m in trial.meanings) != asks
        assert ("Say which one is meant" in trial_text(trial)) == asks


def test_what_only_stops_a_function_is_no_cure() -> None:
    trial = trials("platform").read("unplug C3")
    assert trial.verdict == NO_EFFECT
    assert "NO CURE: C3 unplugged" in trial_text(trial)


@pytest.mark.parametrize(
    ("guard", "state", "words"),
    [
        ("seat is seated", {"seat": "empty"}, "nobody on the seat"),
        ("seat is seated and bar is down", {"seat": "seated", "bar": "up"}, "bar up"),
        (
            "seat is seated and lever is neutral and brake is set",
            {"seat": "empty", "lever": "drive", "brake": "released"},
            "nobody on the seat, lever in drive and brake released",
        ),
        (
            "(seat is seated or PTO is off) and not gate is open",
            {"seat": "empty", "PTO": "on", "gate": "open"},
            "the guard open (it needs (seat seated or PTO off) and not gate open)",
        ),
    ],
)
def test_an_open_guard_as_it_is_spoken(guard: str, state: dict[str, str], words: str) -> None:
    assert open_words(guard, Setup(tuple(sorted(state.items())))) == words


def test_functions_of_one_guard_are_told_in_one_sentence() -> None:
    """Starter and relay of the dumper hang on the same three switches."""
    (meaning,) = trials("dumper").read("bridge the seat switch").meanings
    assert meaning.reasons == (
        "the guard is lost: relay K2 clicks and the engine cranks with nobody on the seat",
    )


def test_a_refusal_names_a_controller_only_where_one_is_told() -> None:
    assert "tells the controller" in refusal(("C2-1",), ("boom",), told=True)
    assert "tell the controller" in refusal(("C2-1", "C2-2"), ("boom",), told=True)
    direct = refusal(("seat switch",), ("starter",), told=False)
    assert "seat switch is part of the guard itself, no controller watches over it" in direct
    for name, told in (("dumper", False), ("platform", True), ("operate-button", True)):
        assert trials(name).guarded.told is told


def test_a_reply_is_short_enough_to_be_read() -> None:
    """Ten sayings of a dozen come to a page, each in its place and with no reason twice."""
    said = [*CLAIMS, "swap the seat switch", "door switch", "reset it with the battery off", "new controller"]
    found = hearsay(trials("sprayer").engine, "\n".join(said))
    answer = answer_text(found)
    assert not too_wide(hearsay_text(found))
    assert not TRIPS.search(answer), answer
    assert len(answer.splitlines()) <= 60
    assert "no function, lamp or code changes" not in answer
    assert answer.count("Not fitted on this build") == 1
    places = [
        answer.index(t) for t in ("Do not do this", "Refused as", "Allowed, and worth", "does not help")
    ]
    assert places == sorted(places)


def test_the_state_by_state_part_repeats_no_reason() -> None:
    text = trial_text(Trials(sheet_of("family_b")).read("join C2-2 C2-3, C2 unplugged"))
    assert text.count("the guard is lost") == 1

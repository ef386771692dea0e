"""How claims are read, what they mean, and what is said of those that are not understood."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import backprobe as bp
from backprobe.errors import BackprobeError
from backprobe.workbench.claim_words import read_claim
from backprobe.workbench.claims import ClaimError
from backprobe.workbench.trial import Trials, as_check
from backprobe.workbench.trial_limits import LEAD_AMPS
from backprobe.workbench.verdict import DAMAGES, DEFEATS, NO_EFFECT, SOUND_REPAIR, SOUND_TEST
from tests.cli.helpers import misfits, put, run, run_json, too_wide
from tests.workbench.trial_walk import HERE, sheet_of

SHEET = str(HERE / "family_a.yaml")


@pytest.fixture(scope="module")
def trials() -> Trials:
    return Trials(sheet_of("family_a"))


@pytest.mark.parametrize(
    ("claim", "meanings", "first"),
    [
        ("join C2-1 C2-3", 2, "C2-1 joined to C2-3, C2 unplugged"),
        ("join C2-1 C2-3, C2 plugged", 1, "C2-1 joined to C2-3"),
        ("just bridge C2-1 to frame", 1, "C2-1 joined to frame"),
        ("join two of them", 6, "C2-1 joined to C2-2, C2 unplugged"),
        ("bridge it", 8, "C2-1 joined to C2-3, C2 unplugged"),
        ("unplug it", 1, "C2 unplugged"),
        ("put a 1/2 W 220 ohm between C2-1 and C2-3", 2, "220 Ω between C2-1 and C2-3, C2 unplugged"),
        ("it wants a resistor", 3 * 2 * 6, "100 Ω between C2-1 and C2-2, C2 unplugged"),
        (
            "feed 6 V to C2-3 through 1k",
            2,
            "6.00 V fed to C2-3 through 1.00 kΩ against battery-, C2 unplugged",
        ),
        ("give it 12 V", 6, "12.0 V fed to C2-1 against battery-, C2 unplugged"),
        ("swap the sensor for another type", 3, "seat sensor: type for a higher supply fitted"),
        ("swap the sensor", 1, "seat sensor swapped for a new one of its type"),
        ("clean C2", 1, "C2 opened, dried and cleaned"),
        ("clean the grounds", 1, "grounds cleaned and tightened"),
        ("fit a 30 A fuse", 1, "fuse F1 30.0 A in place of 10.0 A"),
    ],
)
def test_meanings(trials: Trials, claim: str, meanings: int, first: str) -> None:
    found = read_claim(claim, trials.guarded)
    assert len(found) == meanings
    assert found[0].words == first


def test_for_how_long(trials: Trials) -> None:
    def lasting(claim: str) -> set[bool]:
        return {c.lasting for c in read_claim(claim, trials.guarded)}

    assert lasting("join C2-1 C2-3") == {True}
    assert lasting("join C2-1 C2-3 for a moment") == {False}
    assert lasting("hold the target in place") == {False}
    assert lasting("hold the target in place for good") == {True}
    assert {c.lasting for c in read_claim("unplug C2", trials.guarded, lasting=False)} == {False}


@pytest.mark.parametrize(
    ("claim", "value", "remedy"),
    [
        ("wave a wand", "wave a wand", "join C2-1 C2-3"),
        ("brigde C2-1 C2-3", "brigde C2-1 C2-3", "join C2-1 C2-3"),
        ("join C2-1 C2-9", "C2-9", "C2-"),
        ("join all pins of C9", "C9", "C1"),
        ("swap the seat sensr", "seat sensr", "seat sensor"),
        ("join C2-1 C2-3, seat sitting", "seat sitting", "seat seated"),
        ("join C2-1", "C2-1", "to frame"),
        ("", "", "Write one cure"),
        ("x" * 400, "x" * 400, "Write one cure"),
        ("feed 6 A to C2-3", "feed 6 A to C2-3", "feed 6 V"),
    ],
)
def test_bad_claims_name_line_words_and_form(trials: Trials, claim: str, value: str, remedy: str) -> None:
    with pytest.raises(BackprobeError) as caught:
        read_claim(claim, trials.guarded, file="said.txt", line=7)
    problem = caught.value.problems[0]
    assert (problem.file, problem.line) == ("said.txt", 7)
    assert problem.value == value[:80]
    assert remedy in problem.remedy


def test_a_resistor_burns_by_its_watts(trials: Trials) -> None:
    """10 V across 330 ohm is 0.30 W: too much for a quarter watt, nothing for half a watt."""
    (small,) = trials.read("put 330 ohm between C2-1 and C2-2, C2 unplugged").meanings
    (large,) = trials.read("put a 1/2 W 330 ohm resistor between C2-1 and C2-2, C2 unplugged").meanings
    assert (small.verdict, large.verdict) == (DAMAGES, NO_EFFECT)
    bearing = next(b for e in small.effects for b in e.bearings if b.what == "resistor" and b.share > 1)
    assert bearing.watts == pytest.approx(10.0**2 / 330, rel=0.02)


def test_battery_to_frame_opens_or_burns(trials: Trials) -> None:
    """A lead from behind the fuse to the frame: the fuse opens; from before it the lead itself burns."""
    (behind,) = trials.read("join C1-1 to frame, key on").meanings
    assert behind.verdict == DAMAGES
    assert any(e.fuses == ("fuse F1",) for e in behind.effects)
    (before,) = trials.read("join battery+ to frame").meanings
    assert before.verdict == DAMAGES
    hot = next(b for b in before.effects[0].bearings if b.what == "lead")
    assert hot.value > LEAD_AMPS


def test_driver_output_fed_from_the_battery_defeats_the_guard(trials: Trials) -> None:
    assert trials.read("feed battery to C3-1").verdict == DEFEATS


def test_a_fuse_that_no_longer_guards_its_wire(trials: Trials) -> None:
    """30 A before a wire of 1 mm2, which carries 13 A (common practice, no source)."""
    (meaning,) = trials.read("fit a 30 A fuse").meanings
    assert meaning.verdict == DAMAGES
    assert "13.0 A" in meaning.reasons[-1]


def test_what_runs_unasked_is_no_milder(trials: Trials) -> None:
    """Battery volts on the valve with the key off: for good refused, for a moment a test."""
    claim = "feed battery to C3-1, C3 plugged, key off, seat seated"
    (lasting,) = trials.read(claim).meanings
    assert lasting.verdict == DEFEATS
    assert "runs cutter unasked" in lasting.reasons[0]
    assert trials.read(f"{claim} for a moment").meanings[0].verdict == SOUND_TEST


def test_what_fails_behind_the_driver_is_mended_there(trials: Trials) -> None:
    """An open coil leaves its driver on: the rule lets go, and nothing moves. A new coil is the cure."""
    (meaning,) = trials.read("swap coil Y1").meanings
    assert meaning.verdict == SOUND_REPAIR
    assert [s.name for s in meaning.suspects if s.cures and s.name.startswith("coil Y1")]
    (other,) = trials.read("swap the sensor").meanings
    assert not [s.name for s in other.suspects if s.cures and s.name.startswith("coil Y1")]


def test_a_load_unplugged_stands_still(trials: Trials) -> None:
    (meaning,) = trials.read("unplug C3").meanings
    assert meaning.reasons == ("stops cutter",)
    assert all("cutter" in e.held for e in meaning.effects)


def test_bridge_it_where_nothing_has_a_plug() -> None:
    sheet = bp.sketch("battery+ > fuse F1 5 A > key > seat switch > relay coil K1 90 ohm > frame")
    trial = bp.trial(sheet, "bridge it")
    assert [m.cure.words for m in trial.meanings] == ["seat switch bridged"]
    assert trial.verdict == DEFEATS


def test_a_stand_in_goes_on_the_record_with_its_put_back_step(trials: Trials) -> None:
    claim = "for a moment feed 6 V to C2-3 through 1k, key on, seat seated, C2 unplugged"
    (meaning,) = trials.read(claim).meanings
    assert meaning.verdict == SOUND_TEST
    check = as_check(meaning, "cutter works")
    assert check.safe_set_up.startswith("Safe set-up first: engine off")
    assert "take the source off" in check.put_back
    assert "plug C2 again" in check.put_back
    for refused in (
        "feed 6 V to C2-3 through 1k, C2 unplugged",
        "for a moment feed 6 V to C2-3 through 1k, C2 unplugged",
    ):
        with pytest.raises(ClaimError, match="goes on no record"):
            as_check(trials.read(refused).meanings[0], "cutter works")


def test_no_output_offers_a_defeat_as_a_repair(trials: Trials) -> None:
    readings = "cutter dead, key on, seat seated, cutter switch pressed, all plugged"
    judged = Trials(trials.engine, readings)
    for claim in ("feed 6 V to C2-3 through 1k", "tape the magnet to the sensor", "it wants a resistor"):
        for meaning in judged.read(claim).meanings:
            assert meaning.verdict != SOUND_REPAIR
            assert all(s.verdict != SOUND_REPAIR for s in meaning.suspects)
            if meaning.verdict == DEFEATS:
                assert meaning.cautions[0].startswith("Refused as a repair")


def test_command(tmp_path: Path) -> None:
    shown = run("trial", SHEET, "join", "C2-1", "C2-3")
    assert shown.exit_code == 0
    assert "RAISES A CODE" in shown.stdout
    assert "Refused as a repair" in " ".join(shown.stdout.split())
    assert not too_wide(shown.stdout)
    worse = run("trial", SHEET, "feed 6 V to C2-3 through 1k, C2 unplugged")
    assert worse.exit_code == 1
    assert "DEFEATS THE GUARD" in worse.stdout
    assert run("trial", SHEET).exit_code == 2
    readings = put(
        tmp_path, "r.txt", "state: key on, seat seated, cutter switch pressed, all plugged\ncutter dead\n"
    )
    text = run("trial", SHEET, "swap the sensor", "--readings", readings).stdout
    assert "cures it if" in text
    document = run_json("trial", SHEET, "unplug C2")
    schema = json.loads(run("schema", "trial").stdout)
    assert misfits(document, schema) == []
    assert document["verdict"] == NO_EFFECT


def test_a_momentary_trial_on_the_record_of_a_job(tmp_path: Path) -> None:
    store = str(tmp_path / "jobs.db")
    job = run_json("job", "new", SHEET, "--store", store)["job"]["id"]
    claim = "unplug C2 for a moment, key on"
    seen = run("trial", "--job", job, "--store", store, "--saw", "cutter stays dead", claim)
    assert seen.exit_code == 0, seen.stderr
    assert "Put back: plug C2 again" in " ".join(seen.stdout.split())
    entries = run_json("job", "show", job, "--store", store)["job"]["entries"]
    assert entries[-1]["kind"] == "trial"


def test_public_api() -> None:
    found = bp.trial(sheet_of("family_a"), "unplug C2")
    assert isinstance(found, bp.Trial)
    assert found.verdict == NO_EFFECT

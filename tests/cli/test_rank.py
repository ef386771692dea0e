"""rank, next and predict: what a mechanic reads, and the same as JSON."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import backprobe as bp
from backprobe.diagnosis.stop import Stop
from backprobe.report.check_words import stop_words
from backprobe.report.schemas import SCHEMAS
from tests.cli.helpers import ALL, READINGS, SHEET, SKETCH, misfits, put, run, run_json, too_wide

DEAD = "relay K3 dead, key on, bar down, all plugged"
CAUTION = "Local rules, the maker's instructions and licensed trades come first."


def flat(text: str) -> str:
    """Text without its line breaks."""
    return " ".join(text.split())


@pytest.fixture
def sheet(tmp_path: Path) -> str:
    return put(tmp_path, "mast.yaml", SHEET)


@pytest.fixture
def readings(tmp_path: Path) -> str:
    return put(tmp_path, "readings.txt", READINGS)


def test_rank_names_the_open_path_between_the_last_good_and_the_first_bad_point(
    sheet: str, readings: str
) -> None:
    # 4.98 V before the switch and 0.01 V after it: only what lies between C2-1 and C2-2 can be open.
    result = run("rank", sheet, readings)
    assert result.exit_code == 0
    text = flat(result.stdout)
    assert "gate switch: does not close" in text.split("fits")[0]
    assert "C2-2 to battery-: 0.01 V; with this fault" in text
    assert "none of these: the sheet or a reading is wrong" in text
    assert not too_wide(result.stdout)
    assert text.count(CAUTION) == 1


def test_rank_agrees_with_the_library(sheet: str, readings: str) -> None:
    answer = bp.rank(bp.load_sheet(sheet), READINGS)
    data = run_json("rank", sheet, readings)
    assert not misfits(data, SCHEMAS["rank"])
    assert [g["probability"] for g in data["groups"]] == pytest.approx([g.probability for g in answer.groups])
    assert data["groups"][0]["suspects"][0]["name"] == answer.groups[0].suspects[0].name
    assert [r["text"] for r in data["readings"]] == [r.text for r in answer.readings.all]


def test_readings_from_a_file_from_standard_input_and_typed_are_one(sheet: str, readings: str) -> None:
    typed = [line.split("#")[0].strip() for line in READINGS.splitlines()[1:]]
    options = [o for line in typed for o in ("--reading", line)]
    out = {run("rank", sheet, readings).stdout}
    out.add(run("rank", sheet, "-", stdin=READINGS).stdout)
    out.add(run("rank", "-", readings, stdin=SHEET).stdout)
    out.add(run("rank", sheet, "--state", ALL, *options).stdout)
    out.add(run("rank", sheet, "--reading", f"state: {ALL}", *options).stdout)
    assert len(out) == 1


def test_a_typed_circuit_stands_for_a_sheet() -> None:
    result = run("rank", SKETCH, "--reading", DEAD)
    assert result.exit_code == 0
    assert "fuse F2: blown" in result.stdout
    assert "1 reading, all with key on, bar down, all plugged" in flat(result.stdout)


def test_without_readings_it_says_that_nothing_was_read(sheet: str) -> None:
    result = run("rank", sheet)
    assert result.exit_code == 0
    assert "Nothing read yet" in result.stdout
    assert not misfits(run_json("rank", sheet), SCHEMAS["rank"])


def test_circumstances_shift_and_are_shown(sheet: str, readings: str) -> None:
    assert "contact faults x3" in flat(run("rank", sheet, readings, "--circumstance", "wet").stdout)
    wet = run_json("rank", sheet, "--circumstance", "wet")
    assert wet["factors"]["contact"] == 3.0
    assert run("rank", sheet, "--circumstance", "snow").exit_code == 2


def test_readings_that_no_fault_explains_exit_with_1(sheet: str) -> None:
    # A 12 V machine cannot show 31 V anywhere: the sheet (or the meter) is wrong, whatever is broken.
    impossible = [f"C2-{k} to battery-: {v} V, {ALL}" for k, v in ((1, 31.0), (2, 27.0))]
    impossible += [f"C3-1 to battery-: 44 V, {ALL}", f"C1-1 to battery-: 38 V, {ALL}"]
    result = run("rank", sheet, *(o for line in impossible for o in ("--reading", line)))
    assert result.exit_code == 1
    assert "None of these faults explains the readings" in result.stdout


def test_drops_that_do_not_sum_are_said(sheet: str) -> None:
    # 12.5 V across the battery cannot be 4.0 V and 4.0 V in series (Kirchhoff's voltage law).
    lines = ["battery+ to battery-: 12.5 V", "battery+ to C1-1: 4.0 V", "C1-1 to battery-: 4.0 V"]
    result = run("rank", sheet, "--state", ALL, *(o for line in lines for o in ("--reading", line)))
    assert "these drops do not add up" in flat(result.stdout).lower()


def test_a_controller_is_never_the_last_word(sheet: str) -> None:
    lines = ("lift dead", "C2-2 to C1-2: 4.95 V", "C3-1 to battery-: 0.00 V", "C1-1 to C1-2: 12.3 V")
    options = [o for line in (*lines, "gate input shows shut") for o in ("--reading", line)]
    data = run_json("rank", sheet, "--state", ALL, *options)
    assert data["controller_needs_proof"]
    assert "controller: lift output dead" in {s["name"] for s in data["groups"][0]["suspects"]}
    text = flat(run("rank", sheet, "--state", ALL, *options).stdout)
    assert "prove its feed and its ground under load, its inputs true with the plug on" in text
    assert "its output read with the plug on" in text


def test_what_cannot_be_told_apart_comes_with_the_check_that_can(sheet: str) -> None:
    options = ["--state", ALL, "--reading", "lift dead", "--reading", "C3-1 to battery-: 0.00 V"]
    data = run_json("rank", sheet, *options)
    assert len(data["groups"][0]["suspects"]) > 1
    assert data["tells_apart"]["separated"] > 0
    assert "These readings cannot tell" in flat(run("rank", sheet, *options).stdout)


def test_next_gives_leads_setup_cautions_and_meanings(sheet: str, readings: str) -> None:
    result = run("next", sheet, readings, "--count", "4")
    assert result.exit_code == 0
    assert "1. " in result.stdout
    assert "CAUTION  Mast down on its rest before the gate circuit is worked on." in flat(
        result.stdout
    ).replace("CAUTION Mast", "CAUTION  Mast")
    assert "takes" in result.stdout and "shows" in result.stdout
    assert not too_wide(result.stdout)
    assert flat(result.stdout).count(CAUTION) == 1
    data = run_json("next", sheet, readings, "--count", "4")
    assert not misfits(data, SCHEMAS["next"])
    assert len(data["checks"]) == 4
    assert all(0.99 < sum(o["probability"] for o in c["outcomes"]) < 1.01 for c in data["checks"])


def test_next_count_is_checked(sheet: str) -> None:
    assert run("next", sheet, "--count", "0").exit_code == 2
    assert run("next", sheet, "--count", "many").exit_code == 2


def test_nothing_offers_to_defeat_a_guard(sheet: str, readings: str) -> None:
    for args in (
        ("rank", sheet, readings),
        ("next", sheet, readings, "-n", "40"),
        ("rank", SKETCH, "--reading", DEAD),
    ):
        said = run(*args).stdout.lower()
        assert not [w for w in ("bypass", "jumper", "bridge the", "defeat", "remove the guard") if w in said]


def test_predict_divides_volts_between_two_equal_resistors() -> None:
    # Ohm's law: 12.6 V across 1 kohm + 1 kohm leaves half at the middle.
    circuit = "battery+ > resistor R1 1000 ohm > C1-1 > resistor R2 1000 ohm > frame"
    data = run_json("predict", circuit, "--at", "C1-1", "--at", "battery+")
    assert not misfits(data, SCHEMAS["predict"])
    middle, top = data["points"]
    assert middle["volts"] == pytest.approx(top["volts"] / 2, abs=0.02)
    assert middle["low"] < middle["volts"] < middle["high"]


def test_predict_finds_the_state_in_which_the_function_works(sheet: str) -> None:
    data = run_json("predict", sheet)
    assert data["setup"]["state"] == {"key": "on", "gate": "shut", "lever": "raise"}
    assert data["works"] == ["lift"]
    text = run("predict", sheet).stdout
    assert "then works: lift" in text
    assert not too_wide(text)


def test_predict_acts_out_a_fault_and_a_plug_that_is_off(sheet: str) -> None:
    blown = run_json("predict", sheet, "--fault", "fuse F1: blown", "--at", "C1-1")
    assert blown["works"] == []
    assert abs(blown["points"][0]["volts"]) < 0.5
    off = run_json(
        "predict", sheet, "--unplugged", "C2", "--at", "C2-1 machine side", "--at", "C2-2 part side"
    )
    assert off["setup"]["unplugged"] == ["C2"]
    # The feed stays at its 5.0 V with the plug off; the part side is cut off from it.
    assert off["points"][0]["volts"] == pytest.approx(5.0, abs=0.1)
    assert abs(off["points"][1]["volts"]) < 0.1
    rest = run_json("predict", sheet, "--state", "key off", "--black", "frame", "--at", "C2-1")
    assert rest["setup"]["state"] == {"key": "off", "gate": "open", "lever": "rest"}
    assert rest["points"][0]["black"] == "frame"


@pytest.mark.parametrize(
    ("args", "word"),
    [
        (("--fault", "fuse F1: blow"), "'fuse F1: blown'"),
        (("--at", "C2-9"), "C2-1"),
        (("--black", "nowhere"), "not a point"),
        (("--state", "key sideways"), "no position of key. Write `key off` or `key on`"),
        (("--state", "sideways"), "neither an operator state nor a plug"),
        (("--unplugged", "C8"), "nothing that unplugs"),
    ],
)
def test_predict_answers_a_wrong_name_with_the_right_ones(
    sheet: str, args: tuple[str, str], word: str
) -> None:
    result = run("predict", sheet, *args)
    assert result.exit_code == 2
    assert word in result.stderr


def test_repair_is_advised_when_it_costs_less_than_another_check() -> None:
    # 12 V on one side of the only coil and its frame end at 0 V, and it carries no current: the coil is open.
    circuit = "battery+ > fuse F2 7.5 A > key > C4-1 > coil Y4 8 ohm > C4-2 > frame"
    state = ("--state", "key on, all plugged")
    lines = ("coil Y4 dead", "before coil Y4 to frame: 12.5 V", "after coil Y4 to frame: 0.00 V")
    options = [o for line in (*lines, "battery+ to battery-: 12.5 V") for o in ("--reading", line)]
    data = run_json("rank", circuit, *state, *options)
    assert data["groups"][0]["suspects"][0]["name"].startswith("coil Y4:")
    text = flat(run("rank", circuit, *state, *options).stdout)
    assert (data["repair_now"] is not None) == ("Repair: coil Y4" in text)
    assert "Repair: coil Y4" in text


def test_the_stop_rule_is_told_with_what_it_weighs() -> None:
    # 0.1 x 30 min of work in vain against a check of 6 min (arithmetic): repairing is the cheaper way.
    answer = bp.rank(bp.sketch(SKETCH), DEAD)
    suspect = replace(answer.groups[0].suspects[0], minutes=30.0, repair="replace fuse F2")
    text = flat(stop_words(Stop(suspect, 0.1 * 30, 6.0)))
    assert text.startswith("Repair: fuse F2. Replace fuse F2 (30 min).")
    text = flat(stop_words(Stop(suspect, 0.1 * 30, 6.0, chance=0.86, may=True)))
    assert text.startswith("You may repair: fuse F2.")
    assert "If it is something else, you lose 30 min; chance 14 %." in text
    assert "try every guard" in text

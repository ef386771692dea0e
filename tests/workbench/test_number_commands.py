"""budget, wire, temperature and sanity as commands; and rank in the frost."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from backprobe.report.schemas import SCHEMAS
from tests.cli.helpers import SHEET, misfits, put, run, run_json, too_wide

COMMANDS = ("budget", "wire", "temperature", "sanity")
CALLS = [
    "wire 6 m 1.5 mm2 8 A",
    "wire 6 m AWG 14 8 A --there-and-back --at -10C --convention table",
    "wire 6 m 8 A",
    "wire 0.7 V 8 A",
    "wire 60 m 300 A",
    "wire 1 m 16 mm2 9 A",
    "wire 1.4 V 9 A",
    "temperature 19.4 ohm at -15 C to 20 C",
    'temperature 19.4 ohm at -15 C --leads "0.3 ohm" --window "20..25 ohm"',
    "temperature 20..25 ohm at 20 C to -15 C --convention textbook",
    "temperature 9 ohm at 5 F to 20 C",
    "temperature -15 C",
    "temperature 27 C",
    "budget lift.yaml",
    'budget lift.yaml --state "key on, gate shut, lever raise" --at -15C --capacity 90',
    'budget "battery+ > lamp H1 21 W > frame"',
    "sanity lift.yaml",
    'sanity "50 F is 10 C" "bands 0..1 V, 2..3 V"',
]


@pytest.mark.parametrize("call", CALLS)
def test_text_fits_and_json_has_its_schema(
    call: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    put(tmp_path, "lift.yaml", SHEET)
    words = shlex.split(call)
    result = run(*words)
    assert result.exit_code == 0, result.stderr
    assert result.stdout.strip()
    assert not too_wide(result.stdout)
    assert not misfits(run_json(*words), SCHEMAS[words[0]])


@pytest.mark.parametrize(
    ("call", "says"),
    [
        ("wire", "is missing"),
        ("wire 6 m", "what to reckon"),
        ("wire six metres", "no number"),
        ("wire 6 m 7 V 2 A", "what to reckon"),
        ("wire 6 m 2 m 3 A", "two amounts"),
        ("wire 6 m 3 A 4 W", "no place here"),
        ("wire 6 m 3 A --frobnicate", "not an option"),
        ("wire 6 m 1 mm2 0 A", "out of range"),
        ("wire 6 m 1 mm2 3 A --table nylon", "not a table"),
        ("wire 6 m 1 mm2 3 A --convention nylon", "not a convention"),
        ("temperature 18 ohm", "one or two temperatures"),
        ("temperature 18 ohm at 900 C", "-60 C to 200 C"),
        ('temperature 18 ohm at 9 C --leads "20 ohm"', "leaves nothing"),
        ("sanity", "is missing"),
        ("sanity nofile.txt", "cannot be read"),
        ('sanity "no amounts"', "no number"),
        ("budget nofile.yaml", "cannot be read"),
        ('budget "battery+ > fuse F1 5 A > key > coil Y1 4 ohm > frame" --state "key up"', "key"),
        ('budget "battery+ > fuse F1 5 A > key > coil Y1 4 ohm > frame" --at cold', "Celsius"),
    ],
)
def test_wrong_use_is_one_message_and_exit_code_2(call: str, says: str) -> None:
    result = run(*shlex.split(call))
    assert result.exit_code == 2
    assert says in result.stderr
    assert "Traceback" not in result.stderr


def test_problems_found_exit_with_1(tmp_path: Path) -> None:
    assert run("sanity", "68 F is 30 C").exit_code == 1
    assert run("sanity", "-", stdin="68 F is 30 C\n").exit_code == 1
    hot = "battery+ > fuse F1 5 A > key > coil Y1 0.8 ohm > frame"
    assert run("budget", hot, "--state", "key on").exit_code == 1
    outside = run("temperature", "9", "ohm", "at", "0 C", "--window", "20..25 ohm")
    assert outside.exit_code == 1
    assert "Too low" in outside.stdout


def test_a_sheet_that_the_reader_refuses_is_a_finding_with_its_line(tmp_path: Path) -> None:
    bad = put(tmp_path, "bad.yaml", SHEET.replace("range: 4.9..5.1 V", "range: 5.1..4.9 V"))
    result = run("sanity", bad)
    assert result.exit_code == 1
    assert "low to high" in result.stdout
    data = run_json("sanity", bad)
    assert not misfits(data, SCHEMAS["sanity"])
    assert data["findings"][0]["line"] == 13


def test_examples_of_the_help_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    put(tmp_path, "sprayer.yaml", SHEET)
    for name in COMMANDS:
        assert "Example: backprobe" in _epilog(name)
        for example in re.findall(r"Example: backprobe (.*)", _epilog(name)):
            result = run(*shlex.split(example))
            assert result.exit_code == 0, f"{example}: {result.stderr}"


def _epilog(name: str) -> str:
    from backprobe.cli.main import app
    from scripts.commands import commands

    return dict(commands(app))[name].epilog or ""


def test_a_coil_read_in_the_frost_is_sound_at_minus_15_and_not_at_20(tmp_path: Path) -> None:
    # 9.1 ohm x (234.5 - 15)/254.5 = 7.85 ohm; the sheet's own tolerance of 10 % ends at 8.2 ohm.
    sheet = put(tmp_path, "lift.yaml", SHEET)
    line = "C3-1 part side to C3-2 part side: 7.85 ohm, key off, gate open, lever rest, C3 unplugged"
    cold = run_json("rank", sheet, "--reading", line, "--at", "-15C")
    mild = run_json("rank", sheet, "--reading", line)
    assert cold["as_built"] > mild["as_built"]

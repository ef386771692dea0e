"""stand-in and pin-out as commands: text that fits, JSON with its schema, one message for wrong use."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from backprobe.report.schemas import SCHEMAS
from tests.cli.helpers import SHEET, misfits, put, run, run_json, too_wide

PINS = (
    'pin-out "A open 7.9 V" "B open 0.00 V" "C open 0.01 V" "A with 1k to ground 7.89 V" '
    '"B with 1k to A 7.64 V releases" "C with 1k to A 0.00 V"'
)
CALLS = [
    ("stand-in lift.yaml 'gate input' shut", 0),
    ("stand-in lift.yaml gate shut --series E96 --tolerance 1% --count 3", 0),
    ("stand-in lift.yaml gate shut --drawer tin.txt", 0),
    ("stand-in --feed 8.6 --band 4.8..6.6 --pull-down 40k", 0),
    ("stand-in --feed 8.6 --band ..2.7 --drawer 1k,2.2k,4.7k,10k --codes 0.4..7.4", 0),
    ("stand-in --feed 8.6 --band 4.8..6.6 --pull-up 4.7k --pull-up-volts 5 --source-ohms 2.2k", 0),
    ("stand-in --feed 8.6 --band 4.8..5.0 --series E12", 1),
    ("stand-in --feed 8.6 --band 4.8..6.6 --made 1.8k,3.9k", 0),
    ("stand-in --feed 8.6 --band 4.8..6.6 --made 1k,-", 1),
    ("stand-in --two-wire 1k,10k", 0),
    ("stand-in --two-wire 360,5.6k", 0),
    ("stand-in --two-wire any --series E12", 0),
    (PINS, 0),
    ("pin-out", 0),
    ("pin-out 'A open 7.9 V'", 1),
    ("pin-out 'A open 25.3 V' --system 24V", 1),
    ("pin-out --part", 0),
    ("pin-out --part 'B+ A- 2.4 V' 'A+ C- 0.61 V'", 0),
    ("pin-out --part 'B+ A- 2.4 V' --bench '5 V' --limit 2.2k", 1),
]


@pytest.mark.parametrize(("call", "code"), CALLS)
def test_text_fits_and_json_has_its_schema(
    call: str, code: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    put(tmp_path, "lift.yaml", SHEET)
    put(tmp_path, "tin.txt", "470 ohm, 1k\n2.2k  # two of these\n10k\n")
    words = shlex.split(call)
    result = run(*words)
    assert result.exit_code == code, result.stderr
    text = result.stdout.partition("The sheet that this makes")[0]
    assert not too_wide(text)
    assert not misfits(run_json(*words), SCHEMAS[words[0]])


@pytest.mark.parametrize("call", [c for c, _ in CALLS if c.startswith("stand-in")])
def test_it_is_always_for_testing_and_says_how_to_take_it_out(
    call: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    put(tmp_path, "lift.yaml", SHEET)
    put(tmp_path, "tin.txt", "470 ohm, 1k\n2.2k\n10k\n")
    words = shlex.split(call)
    text = run(*words).stdout
    assert text.startswith("FOR TESTING ONLY")
    assert "REMOVE" in text
    data = run_json(*words)
    assert data["testing_only"] is True
    assert "sensor in" in data["removal"]


def test_what_it_releases_and_its_guard_are_named(tmp_path: Path) -> None:
    sheet = put(tmp_path, "lift.yaml", SHEET)
    text = " ".join(run("stand-in", sheet, "gate input", "shut").stdout.split())
    assert "Would release: lift; its guard (gate is shut) must be truly shut." in text
    assert "DEFEATS THE GUARD: lift would work with gate open" in text
    assert "Mast down on its rest" in text
    data = run_json("stand-in", sheet, "gate input", "shut")
    assert data["releases"][0]["defeats_guard"] is True
    assert data["stand_ins"][0]["checked"] == pytest.approx(data["stand_ins"][0]["volts"], abs=0.01)


def test_two_wire_pairs_are_accepted_or_marginal() -> None:
    # 1 k and 10 k stand clear of all limits; 360 ohm closed draws 6.03 mA against 6 mA, published resistor
    # limits of a monitored switch on IEC 60947-5-6 [seen].
    assert run_json("stand-in", "--two-wire", "1k,10k")["pairs"][0]["verdict"] == "fits"
    assert run_json("stand-in", "--two-wire", "360,5.6k")["pairs"][0]["verdict"] == "marginal"
    assert "marginal" in run("stand-in", "--two-wire", "360,5.6k").stdout


@pytest.mark.parametrize(
    ("call", "says"),
    [
        ("stand-in", "is not enough"),
        ("stand-in --feed 8.6", "is not enough"),
        ("stand-in --feed 8.6 --band 12..14", "cannot be reached"),
        ("stand-in --feed 8.6 --band 5", "not a band"),
        ("stand-in --feed 8.6 --band 4..6 --series nylon", "no series"),
        ("stand-in --feed 8.6 --band 4..6 --series E13", "not a series"),
        ("stand-in --feed 8.6 --band 4..6 --drawer 1k,4V", "drawer"),
        ("stand-in --feed 8.6 --band 4..6 --made 1k", "two resistors"),
        ("stand-in --feed 8.6 --band 4..6 --pull-up-volts 5", "needs --pull-up"),
        ("stand-in --feed 0 --band 4..6", "above zero"),
        ("stand-in nofile.yaml gate shut", "cannot be read"),
        ("stand-in lift.yaml", "gate input"),
        ("stand-in lift.yaml gate", "meaning"),
        ("stand-in lift.yaml gate ajar", "open, shut"),
        ("stand-in lift.yaml gate shut --feed 5", "already says"),
        ("pin-out 'A is 8 V'", "not a reading"),
        ("pin-out nofile.txt", "cannot be read"),
        ("pin-out --part --sheet", "no place"),
        ("pin-out --part 'A+ A- 3 V'", "twice"),
        ("pin-out --part --limit 100", "too much"),
        ("pin-out --system 400V", "out of scope"),
    ],
)
def test_wrong_use_is_one_message_and_exit_code_2(
    call: str, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    put(tmp_path, "lift.yaml", SHEET)
    result = run(*shlex.split(call))
    assert result.exit_code == 2, result.stdout
    assert says in result.stderr
    assert "Traceback" not in result.stderr


def test_the_sheet_of_a_pin_out_passes_the_check(tmp_path: Path) -> None:
    made = run(*shlex.split(PINS), "--sheet")
    assert made.exit_code == 0
    assert run("sheet", "check", put(tmp_path, "made.yaml", made.stdout)).exit_code == 0


def test_readings_come_from_a_file_or_standard_input(tmp_path: Path) -> None:
    text = "A open 7.9 V\nB open 0.00 V   # remark\n"
    file = put(tmp_path, "pins.txt", text)
    assert run("pin-out", file).stdout == run("pin-out", "-", stdin=text).stdout
    drawer = run("stand-in", "--feed", "8.6", "--band", "4.8..6.6", "--drawer", "-", stdin="1k\n2.2k\n")
    assert drawer.exit_code == 0
    assert "from drawer" in drawer.stdout


def test_examples_of_the_help_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from backprobe.cli.main import app
    from scripts.commands import commands

    monkeypatch.chdir(tmp_path)
    put(tmp_path, "sprayer.yaml", SHEET)
    for name in ("stand-in", "pin-out"):
        examples = re.findall(r"Example: backprobe (.*)", dict(commands(app))[name].epilog or "")
        assert examples
        for example in examples:
            assert run(*shlex.split(example)).exit_code in {0, 1}, example

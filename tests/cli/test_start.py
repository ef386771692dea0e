"""From a typed circuit to the first answer: guards, names, what was assumed, and lines that remember."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import backprobe as bp
from backprobe.report.assumed import assumed_words, origin_words

from .helpers import SHEET, put, run, too_wide

START = "battery+ > fuse F2 15 A > key start > brake switch > seat switch > relay coil K1 > frame"
DEAD = "relay K1 dead, key start, brake set, seat seated"


def flat(text: str) -> str:
    return " ".join(text.split())


def test_a_written_sketch_says_what_matters_and_keeps_the_rest_in_its_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    file = Path("vine_mower.yaml")
    result = run("sketch", START, "--write", str(file))
    assert result.exit_code == 0
    said = flat(result.stdout)
    assert f"vine mower: written to {file}" in said
    assert "relay K1 should work with key start, brake set, seat seated" in said
    assert "Guards of relay K1: brake set, seat seated" in said
    assert f'backprobe job read "{DEAD}"' in said
    assert "mΩ" not in said
    assert len(result.stdout.splitlines()) < 25
    assert not too_wide(result.stdout)
    kept = file.read_text(encoding="utf-8")
    assert "mΩ" in kept
    assert "# Guards of relay K1: brake set, seat seated" in kept
    assert bp.load_sheet(file).name == "vine mower"
    checked = flat(run("sheet", "check", str(file)).stdout)
    assert "Guards of relay K1: brake set, seat seated" in checked


def test_a_circuit_without_a_guard_is_told_so(tmp_path: Path) -> None:
    bare = "battery+ > fuse F2 15 A > boom switch > coil Y1 9 ohm > frame"
    said = flat(run("sketch", bare, "--write", str(tmp_path / "boom.yaml")).stdout)
    no_guard = "coil Y1: no guard found: no switch of a seat, gate, door, bar or brake is named on its way"
    assert no_guard in said
    assert (
        "boom switch: taken as closed with boom pressed, and no guard. When is it closed, does it guard?"
        in said
    )
    assert no_guard in flat(run("sketch", bare).stdout.replace("#", ""))
    file = put(tmp_path, "lift.yaml", SHEET.replace(", guard: gate is shut", ""))
    assert "lift: no guard found" in flat(run("sheet", "check", file).stdout)
    assert "no guard found" in flat(run("sheet", "show", file).stdout)


@pytest.mark.parametrize("typed", [START.replace("brake", "barke"), START.replace("15 A", "15 amsp")])
def test_a_misspelled_guard_or_unit_writes_no_file(typed: str, tmp_path: Path) -> None:
    result = run("sketch", typed, "--write", str(tmp_path / "mower.yaml"))
    assert result.exit_code == 2
    assert "Did you mean" in result.stderr
    assert not list(tmp_path.iterdir())


def test_the_start_position_is_used_by_what_follows(tmp_path: Path) -> None:
    file = str(tmp_path / "mower.yaml")
    run("sketch", START, "--write", file)
    assert "key start, brake set, seat seated" in flat(run("predict", file).stdout)
    assert "key start" in flat(run("plan", file, "--depth", "1").stdout)


def test_lines_of_a_file_remember_the_state_as_a_job_does(tmp_path: Path) -> None:
    sheet = bp.sketch(START)
    lines = f"{DEAD}\nafter fuse F2 to battery-: 12.4 V\n# a remark\n"
    lines += "after brake switch to battery-: 0 V, seat empty\n"
    readings = bp.parse_readings(lines + "after key start switch to battery-: 12.3 V\n", sheet)
    job = {"brake": "set", "key": "start"}
    assert [dict(r.setup.state) for r in readings] == [
        {**job, "seat": "seated"},
        {**job, "seat": "seated"},
        {**job, "seat": "empty"},
        {**job, "seat": "empty"},
    ]
    file, read = put(tmp_path, "m.yaml", sheet.text), put(tmp_path, "readings.txt", lines)
    assert run("rank", file, read).exit_code in {0, 1}
    typed = run("rank", file, "--reading", DEAD, "--reading", "after fuse F2 to battery-: 12.4 V", "--json")
    assert json.loads(typed.stdout)


def test_what_a_state_line_settles_holds_whatever_one_line_says() -> None:
    sheet = bp.sketch(START)
    lines = "state: key start, brake set, seat seated\nrelay K1 dead, seat empty\nfuse F2: 0 V\n"
    readings = bp.parse_readings(lines.replace("fuse F2: 0 V", "after fuse F2 to battery-: 12 V"), sheet)
    assert dict(readings[1].setup.state)["seat"] == "seated"


def test_a_value_that_was_typed_is_no_default() -> None:
    sheet = bp.sketch("battery+ > fuse F2 15 A > key > coil Y1 9 ohm > frame")
    assert origin_words(sheet).startswith("2 typed, ")
    typed = sum(
        v.origin.note.startswith("as written") for p in sheet.parts.values() for v in p.values.values()
    )
    assert typed == 2
    words = assumed_words(sheet)
    assert " values it leans on: 2 typed; " in words
    assert "0 of" not in words
    assert "1 measured" in origin_words(bp.parse_sheet(SHEET))


@pytest.mark.parametrize(
    ("circuit", "name", "card"),
    [
        (START, "Circuit of relay K1", "circuit-of-relay-k1-pocket.html"),
        ("sheet: Sketch\nruns: {a: [battery+, coil Y1, frame]}\n", "Sketch", "mower-pocket.html"),
        (
            "sheet: Vine mower\nruns: {a: [battery+, coil Y1, frame]}\n",
            "Vine mower",
            "vine-mower-pocket.html",
        ),
    ],
)
def test_a_circuit_is_called_after_what_it_is(
    circuit: str, name: str, card: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    source = circuit if ">" in circuit else put(tmp_path, "mower.yaml", circuit)
    sheet = bp.sketch(circuit) if ">" in circuit else bp.load_sheet(source)
    assert sheet.name == name
    assert run("pocket", source).exit_code == 0
    assert (tmp_path / card).exists()
    assert bp.sketch(START, name="Mine").name == "Mine"

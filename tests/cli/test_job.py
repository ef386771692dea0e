"""The job commands: a log that only grows, and what it says so far."""

from __future__ import annotations

import json
import os
import re
import time
from datetime import timedelta
from pathlib import Path

import pytest

from backprobe.cli import ask
from backprobe.jobs.log import parse_time
from backprobe.report.schemas import SCHEMAS
from tests.cli.helpers import ALL, SHEET, misfits, put, run, run_json, too_wide


@pytest.fixture(autouse=True)
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A store of its own for each test."""
    path = tmp_path / "jobs.sqlite"
    monkeypatch.setenv("BACKPROBE_STORE", str(path))
    return path


@pytest.fixture
def sheet(tmp_path: Path) -> str:
    return put(tmp_path, "mast.yaml", SHEET)


def new(sheet: str, *args: str) -> str:
    """Open a job and return its id."""
    data = run_json("job", "new", sheet, *args)
    assert not misfits(data, SCHEMAS["job new"])
    name: str = data["job"]["id"]
    return name


def test_a_job_from_complaint_to_answer(sheet: str) -> None:
    opened = run(
        "job", "new", sheet, "--title", "lift dead", "--machine", "mast lift 2", "--circumstance", "wet"
    )
    assert "lift dead, mast lift 2" in opened.stdout
    assert f'"lift dead, {ALL}"' in opened.stdout
    first = run("job", "read", f"lift dead, {ALL}")
    assert first.exit_code == 0, first.stderr
    assert first.stdout.startswith(
        "Entry 2: lift dead\n   with key on, gate shut, lever raise, all plugged\n"
    )
    # State and plugs carry over; two lines at once, and words without quotes.
    second = run("job", "read", "C2-1 to battery-: 4.98 V", "C2-2 to battery-: 0.01 V")
    assert "Entry 3:" in second.stdout and "Entry 4:" in second.stdout
    third = run("job", "read", "battery+", "to", "battery-:", "12.5", "V")
    assert "Entry 5: battery+ to battery-: 12.5 V" in third.stdout
    assert "gate switch: does not close" in third.stdout
    assert "Next" in third.stdout
    shown = run("job", "show")
    assert "  2  20" in shown.stdout
    assert "gate switch: does not close" in shown.stdout
    for result in (opened, first, second, third, shown):
        assert not too_wide(result.stdout)


def test_undo_marks_and_stays(sheet: str) -> None:
    name = new(sheet)
    run("job", "read", f"lift works, {ALL}")
    run("job", "read", f"lift dead, {ALL}")
    data = run_json("job", "undo")
    assert not misfits(data, SCHEMAS["job undo"])
    assert (data["entry"]["number"], data["undone"]) == (4, 3)
    shown = run("job", "show", name[:3])
    assert "x 3  " in shown.stdout and "(undone)" in shown.stdout
    assert run("job", "undo", "2").exit_code == 0
    assert run("job", "undo", name, "4").exit_code == 0
    data = run_json("job", "show")
    assert not misfits(data, SCHEMAS["job show"])
    assert [e["stands"] for e in data["job"]["entries"]] == [True, False, True, False, True, True]
    assert [r["text"] for r in data["answer"]["readings"]] == [f"lift dead, {ALL}"]


def test_undo_refuses_what_it_cannot_take_back(sheet: str) -> None:
    new(sheet)
    assert "no reading of this job stands" in run("job", "undo").stderr
    for words in (("1",), ("99",), ("no", "such", "thing"), ("abcde", "x")):
        result = run("job", "undo", *words)
        assert result.exit_code == 2
        assert result.stderr.strip()


def test_readings_from_standard_input_with_state_lines(sheet: str) -> None:
    new(sheet)
    text = (
        f"# at the machine\nstate: {ALL}\nlift dead\n\nC2-1 to battery-: 4.98 V  # feed\n"
        "state: lever rest\nC3-1 to frame: 0.0 V\n"
    )
    data = run_json("job", "read", "-", stdin=text)
    assert not misfits(data, SCHEMAS["job read"])
    assert [e["number"] for e in data["entries"]] == [2, 3, 4]
    levers = [r["setup"]["state"]["lever"] for r in data["answer"]["readings"]]
    assert levers == ["raise", "raise", "rest"]


def test_several_lines_are_stored_all_or_none(sheet: str) -> None:
    new(sheet)
    result = run("job", "read", f"lift dead, {ALL}", "C9-9 to battery-: 1 V")
    assert result.exit_code == 2
    assert "LINE:2" in result.stderr
    assert len(run_json("job", "show")["job"]["entries"]) == 1


def test_what_is_missing_is_named_where_nobody_can_be_asked(sheet: str) -> None:
    new(sheet)
    result = run("job", "read", "lift dead, key on")
    assert result.exit_code == 2
    for word in ("`gate open` or `gate shut`", "`lever rest` or `lever raise`", "`all plugged`"):
        assert word in result.stderr
    assert run("job", "read").exit_code == 2
    assert run("job", "read", "dead").exit_code == 2


def test_what_is_missing_is_asked_on_a_terminal(sheet: str, monkeypatch: pytest.MonkeyPatch) -> None:
    new(sheet)
    monkeypatch.setattr(ask, "is_terminal", lambda: True)
    result = run("job", "read", "lift dead, key on", stdin="shut\nraise\nnone\n")
    assert result.exit_code == 0, result.stderr
    assert "with key on, gate shut, lever raise, all plugged" in result.stdout
    # The black lead goes before the number, wherever the question came up.
    again = run("job", "read", stdin="C2-1: 4.98 V\n\n")
    assert "Entry 3: C2-1 to battery-: 4.98 V" in again.stdout
    stopped = run("job", "read", stdin="")
    assert stopped.exit_code == 130


def test_an_answer_that_is_no_position_is_asked_again(sheet: str, monkeypatch: pytest.MonkeyPatch) -> None:
    new(sheet)
    monkeypatch.setattr(ask, "is_terminal", lambda: True)
    result = run("job", "read", "lift dead, key on, all plugged", stdin="ajar\nshut\nraise\n")
    assert result.exit_code == 0
    assert "with key on, gate shut, lever raise" in result.stdout


def test_list_names_newest_first_and_which_are_open(sheet: str) -> None:
    assert "No jobs yet" in run("job", "list").stdout
    first, second = new(sheet, "--title", "one"), new(sheet, "--title", "two")
    data = run_json("job", "list")
    assert not misfits(data, SCHEMAS["job list"])
    assert {j["id"] for j in data["jobs"]} == {first, second}
    assert "open" in run("job", "list").stdout
    result = run("job", "show")
    assert result.exit_code == 2
    assert first in result.stderr and second in result.stderr


def test_export_and_import_make_the_same_job(sheet: str, tmp_path: Path) -> None:
    name = new(sheet)
    run("job", "read", f"lift dead, {ALL}")
    file = str(tmp_path / "job.json")
    data = run_json("job", "export", "-o", file)
    assert not misfits(data, SCHEMAS["job export"])
    assert run("job", "export", "-o", file).exit_code == 2
    printed = run("job", "export", name)
    assert json.loads(printed.stdout) == json.loads(Path(file).read_text(encoding="utf-8"))
    other = str(tmp_path / "other.sqlite")
    taken = run_json("job", "import", file, "--store", other)
    assert not misfits(taken, SCHEMAS["job import"])
    assert taken["job"]["id"] == name
    assert run("job", "import", "-", "--store", other, stdin=printed.stdout).exit_code == 0
    assert len(run_json("job", "list", "--store", other)["jobs"]) == 2


@pytest.mark.parametrize("text", ["", "{", "[]", "{}", '{"format": 1}', "[" * 3000])
def test_import_refuses_what_is_no_job(text: str) -> None:
    result = run("job", "import", "-", stdin=text)
    assert result.exit_code == 2
    assert result.stderr.strip()


def test_the_store_can_be_named(sheet: str, tmp_path: Path, store: Path) -> None:
    other = tmp_path / "workshop.sqlite"
    run("job", "new", sheet, "--store", str(other))
    assert other.exists() and not store.exists()
    result = run("job", "list", "--store", str(tmp_path))
    assert result.exit_code == 2
    assert "is a folder" in result.stderr
    assert run("job", "show", "zzzzz", "--store", str(other)).exit_code == 2
    assert run("job", "list", "--store", "mysql://x/y").exit_code == 2


def test_a_repair_is_said_tried_and_closed(sheet: str) -> None:
    name = new(sheet)
    run("job", "read", f"lift dead, {ALL}")
    data = run_json("job", "repaired", "gate switch: replaced")
    assert not misfits(data, SCHEMAS["job repaired"])
    assert data["entry"]["words"] == "repaired gate switch: replaced"
    shown = " ".join(run("job", "show").stdout.split())
    assert "no longer count" in shown
    assert f"backprobe job read {name}" in shown
    assert run("job", "close").exit_code == 2
    data = run_json("job", "close", name, "handed on")
    assert not misfits(data, SCHEMAS["job close"])
    assert "handed on" in " ".join(run("job", "list").stdout.split())
    refused = run("job", "read", name, "lift works")
    assert refused.exit_code == 2
    # A repair stands, and nobody has tried the guards: the record says so.
    assert "is closed (handed on, closed without trying the guards)" in refused.stderr
    assert run("job", "undo", name).exit_code == 0
    assert "open" in run("job", "list").stdout


def test_closed_as_tried_only_with_the_number_of_everything_on_the_list(sheet: str) -> None:
    name = new(sheet)
    run("job", "read", f"lift dead, {ALL}")
    run("job", "repaired", "gate switch: replaced")
    run("job", "read", "lift works")
    shown = run("job", "show").stdout
    last = max(int(n) for n in re.findall(r"^ +(\d+) \[ \]", shown, re.M))
    assert f'"repaired and tried" --tried 1-{last}' in " ".join(shown.split())
    for some in ((), ("--tried", f"1-{last - 1}"), ("--tried", "0"), ("--tried", "all")):
        refused = run("job", "close", name, "repaired and tried", *some)
        assert refused.exit_code == 2
        assert refused.stderr.count("\n") == 1
    assert "not ticked" in run("job", "close", name, "repaired and tried").stderr
    closed = " ".join(run("job", "close", name, "repaired and tried", "--tried", f"1-{last}").stdout.split())
    assert "must NOT work" in closed
    assert "No jumper, stand-in or resistor is left in the machine." in closed


def test_a_repair_of_what_the_sheet_has_not_is_refused(sheet: str) -> None:
    new(sheet)
    refused = run("job", "repaired", "gate swich: replaced")
    assert refused.exit_code == 2
    assert "Did you mean 'gate switch'" in refused.stderr


def test_the_log_shows_the_clock_on_the_wall_with_its_zone(sheet: str) -> None:
    name = new(sheet)
    at = parse_time(run_json("job", "show", name)["job"]["entries"][0]["at"])
    before = os.environ.get("TZ")
    try:
        os.environ["TZ"] = "EET-2"
        time.tzset()
        shown = run("job", "show", name).stdout
    finally:
        os.environ.pop("TZ")
        os.environ.update({"TZ": before} if before else {})
        time.tzset()
    assert f"{at + timedelta(hours=2):%Y-%m-%d %H:%M} EET" in shown
    assert f"{at:%H:%M}" not in shown

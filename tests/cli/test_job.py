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
from backprobe.errors import SheetError
from backprobe.jobs.log import parse_time
from backprobe.report.schemas import SCHEMAS
from backprobe.sheet.reader import parse_sheet
from backprobe.sheet.sketch import sketch
from backprobe.sheet.unworkable import refuse_unworkable
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
    assert "No jobs yet in " in run("job", "list").stdout
    assert run("job", "list", "--store", "nowhere/x.sqlite").stdout.startswith(
        "No jobs yet in nowhere/x.sqlite"
    )
    assert not Path("nowhere").exists()
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
    found = run_json("job", "show")["answer"]["headline"]
    data = run_json("job", "repaired", "gate switch: replaced")
    assert not misfits(data, SCHEMAS["job repaired"])
    assert data["entry"]["words"] == "repaired gate switch: replaced"
    shown = " ".join(run("job", "show").stdout.split())
    assert "What is read from now on is of the repaired machine." in shown
    assert f"Found before the repair: {found}" in shown
    assert "Works since: not tried since the repair" in shown
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


def test_once_it_works_what_is_ranked_is_what_the_repair_was_made_by(sheet: str) -> None:
    new(sheet)
    run("job", "read", f"lift dead, {ALL}", "C2-1 to battery-: 4.98 V", "C2-2 to battery-: 0.01 V")
    before = run_json("job", "show")
    assert before["repair"] is None
    found = before["answer"]["groups"]
    run("job", "repaired", "gate switch: replaced")
    entries = [run_json("job", "read", line) for line in ("lift works", "C2-2 to battery-: 4.97 V")]
    shown = run_json("job", "show")
    assert not misfits(entries[-1], SCHEMAS["job read"]) and not misfits(shown, SCHEMAS["job show"])
    for data in (entries[-1], shown):
        assert data["answer"]["groups"] == found
        assert data["answer"]["checks"] == []
        assert data["repair"] | {"guards_to_try": 0} == {
            "repaired": [{"entry": 5, "part": "gate switch", "what": "replaced"}],
            "ranked_from_before": True,
            "works_since": 6,
            "read_since": [6, 7],
            "guards_tried": 0,
            "guards_to_try": 0,
        }
    text = run("job", "show").stdout
    told = " ".join(text.split())
    assert f"Found before the repair: {before['answer']['headline']}" in told
    assert "Repaired: gate switch: replaced (entry 5) Works since: lift with key on" in told
    assert "no suspect rests on it: 6 lift works 7 C2-2 to battery-: 4.97 V" in told
    assert "as the circuit was built" not in told
    assert not too_wide(text)
    # Dead again, the readings of now are ranked.
    run("job", "read", "lift dead")
    again = run_json("job", "show")
    assert again["repair"]["ranked_from_before"] is False
    assert again["answer"]["groups"] != found
    assert "Found before the repair" not in run("job", "show").stdout


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "battery+ > fuse F1 10 A > key > seat switch > coil Y1",
            ["'coil Y1' ends the run, and nothing comes behind it. Where does it go to ground?"],
        ),
        (
            "sheet: Mower\nsystem: 24 V\nruns:\n  main: [battery 12 V, fuse F1 10 A, coil Y1, frame]\n",
            ["parts.battery.volts: '12 V' does not fit a system of 24 V."],
        ),
        (
            "sheet: Mower\nsystem: 24 V\nruns:\n  main: [battery 12 V, fuse F1 10 A, coil Y1]\n",
            ["'coil Y1' ends the run", "'12 V' does not fit a system of 24 V."],
        ),
    ],
)
@pytest.mark.parametrize("more", [(), ("--json",)])
def test_no_job_is_opened_on_a_circuit_that_cannot_be_so(
    text: str, said: list[str], more: tuple[str, ...], store: Path, tmp_path: Path
) -> None:
    given = text if ">" in text else put(tmp_path, "mower.yaml", text)
    refused = run("job", "new", given, "--title", "blades dead", *more)
    assert refused.exit_code == 2
    assert refused.stdout == ""
    lines = refused.stderr.splitlines()
    assert len(lines) == len(said)
    for line, words in zip(lines, said, strict=True):
        assert words in line
        # A typed circuit has no lines that anybody has seen.
        assert bool(re.search(r"mower\.yaml:\d: ", line)) == (">" not in text)
    assert not store.exists()
    # The page says the same of the same sheet.
    with pytest.raises(SheetError) as caught:
        refuse_unworkable(sketch(text) if ">" in text else parse_sheet(text, file=given))
    assert str(caught.value).splitlines() == lines


def test_a_trial_in_a_repaired_job_judges_by_what_the_repair_was_made_by(sheet: str) -> None:
    name = new(sheet)
    run("job", "read", f"lift dead, {ALL}", "C2-1 to battery-: 4.98 V", "C2-2 to battery-: 0.01 V")
    before = run_json("trial", "--job", name, "replace gate switch")
    run("job", "repaired", "gate switch: replaced")
    run("job", "read", "lift works")
    after = run_json("trial", "--job", name, "replace gate switch")
    assert before["meanings"][0]["cure_chance"] > 0.5
    assert after["meanings"] == before["meanings"]


def test_with_only_closed_jobs_they_are_named(sheet: str) -> None:
    name = new(sheet, "--title", "dead")
    run("job", "close", "handed on")
    for verb in ("show", "undo", "export"):
        refused = run("job", verb)
        assert refused.exit_code == 2
        assert f"Name a closed one, {name} (dead); or open one: backprobe job new SHEET" in refused.stderr
    assert run("job", "undo", name).exit_code == 0


@pytest.mark.parametrize("number", ["0", "1", "9"])
def test_what_is_no_entry_is_not_taken_back_and_the_way_to_the_numbers_is_said(
    sheet: str, number: str
) -> None:
    name = new(sheet)
    refused = run("job", "undo", name, number)
    assert refused.exit_code == 2
    said = (
        f"N: '{number}' is no entry of this job that can be taken back. See the numbers: backprobe job show"
    )
    assert refused.stderr.strip() == f"{said} {name}"
    assert len(run_json("job", "show")["job"]["entries"]) == 1


def test_a_closed_job_that_nobody_tried_asks_for_nothing(sheet: str) -> None:
    name = new(sheet)
    run("job", "read", f"lift dead, {ALL}")
    run("job", "repaired", "gate switch: replaced")
    run("job", "close", "handed on")
    told = " ".join(run("job", "show", name).stdout.split())
    assert "It was not tried after the repair. The guards were not tried." in told
    assert "Now try it again" not in told


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
    assert not too_wide(run("job", "show", name).stdout)
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

"""Whatever goes wrong leaves as one message and an exit code, never as a traceback."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import time
from pathlib import Path

import click
import pytest

from backprobe.cli import output
from backprobe.cli.main import guarded
from backprobe.errors import Problem, SheetError
from tests.cli.helpers import READINGS, SHEET, put, run

START = "from backprobe.cli.main import main; main()"


@pytest.mark.parametrize(
    "args",
    [
        ("rank",),
        ("next",),
        ("predict",),
        ("sketch",),
        ("sheet", "show"),
        ("sheet", "check"),
        ("job", "new"),
        ("rank", "missing.yaml"),
        ("rank", "."),
        ("rank", "a\0b"),
        ("rank", "--bogus"),
        ("rank", "-", "-"),
        ("sheet", "check", "missing.yaml"),
    ],
)
def test_wrong_use_exits_2_with_a_message(args: tuple[str, ...]) -> None:
    result = run(*args, stdin="")
    assert result.exit_code == 2
    assert result.stderr.strip()
    assert "Traceback" not in result.stderr
    assert not result.stdout


def test_a_bad_sheet_names_file_line_field_and_remedy(tmp_path: Path) -> None:
    file = put(tmp_path, "mast.yaml", SHEET.replace("fuse F1 10 A", "fuse F1 10 V"))
    result = run("rank", file)
    assert result.exit_code == 2
    assert f"{file}:5" in result.stderr


def test_a_bad_reading_names_its_line(tmp_path: Path) -> None:
    sheet, readings = (
        put(tmp_path, "s.yaml", SHEET),
        put(tmp_path, "r.txt", READINGS + "C9-1 to frame: 3 V\nmoo\n"),
    )
    result = run("rank", sheet, readings)
    assert result.exit_code == 2
    assert "r.txt:6" in result.stderr and "r.txt:7" in result.stderr
    typed = run("rank", sheet, "--reading", "moo", "--reading", "moo")
    assert "--reading:1" in typed.stderr and "--reading:2" in typed.stderr


def test_what_is_not_text_or_too_long_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes(b"\xff\xfe\x00")
    assert "not UTF-8" in run("sheet", "check", str(path)).stderr
    path.write_bytes(b"#" * 5_000_001)
    assert "longer than" in run("sheet", "check", str(path)).stderr


def test_our_errors_exit_2_and_defects_3(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(error: BaseException) -> int:
        def raises() -> None:
            raise error

        return guarded(raises)

    monkeypatch.delenv("BACKPROBE_DEBUG", raising=False)
    assert fail(SheetError(Problem("runs", "", "has no run", "Add one."))) == 2
    assert capsys.readouterr().err == "runs: has no run. Add one.\n"
    assert fail(click.UsageError("no")) == 2
    assert fail(KeyboardInterrupt()) == 130
    assert fail(click.Abort()) == 130
    capsys.readouterr()
    assert fail(ZeroDivisionError("division by zero")) == 3
    said = capsys.readouterr().err
    assert said.startswith("something went wrong inside backprobe: ZeroDivisionError: division by zero.")
    assert said.count("\n") == 1 and "report" in said
    monkeypatch.setenv("BACKPROBE_DEBUG", "1")
    assert fail(ValueError()) == 3
    assert "Traceback" in capsys.readouterr().err
    assert guarded(lambda: 1) == 1
    assert guarded(lambda: None) == 0


def test_a_reader_that_leaves_early_is_no_failure(tmp_path: Path) -> None:
    file = put(tmp_path, "mast.yaml", SHEET)
    command = [sys.executable, "-c", START, "sheet", "show", file, "--json"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert process.stdout is not None and process.stderr is not None
    process.stdout.close()
    said = process.stderr.read()
    process.stderr.close()
    assert process.wait() == 0
    assert said == b""


def test_a_terminal_without_ohm_signs_gets_words(tmp_path: Path) -> None:
    file = put(tmp_path, "mast.yaml", SHEET)
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    command = [sys.executable, "-c", START, "sheet", "show", file]
    done = subprocess.run(command, capture_output=True, env=environment, check=True)
    assert b"ohms 9.10 ohm" in done.stdout
    assert b"\\u" not in done.stdout


def test_text_that_no_encoding_holds_is_still_written() -> None:
    stream = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    assert output.fits("4.7 kΩ", stream) == "4.7 kohm"
    assert output.fits("grün", stream) == "gr\\xfcn"
    assert output.fits("4.7 kΩ", io.StringIO()) == "4.7 kΩ"


def test_long_work_says_that_it_goes_on(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(output, "PATIENCE", 0.01)
    with output.progress("ranking"):
        time.sleep(0.1)
    assert capsys.readouterr().err == "still ranking ...\n"
    with output.progress("ranking"):
        pass
    time.sleep(0.05)
    assert capsys.readouterr().err == ""

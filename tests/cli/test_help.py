"""Every command explains itself, stands in the docs, and its examples run; help needs no heavy library."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import click
import pytest

from backprobe import __version__
from backprobe.cli.main import app
from scripts.commands import commands, commands_page, help_text, json_page
from tests.cli.helpers import READINGS, SHEET, put, run, run_json, too_wide

DOCS = Path(__file__).parents[2] / "docs"
EVERY = dict(commands(app))
HEAVY = ("numpy", "scipy", "sqlalchemy", "yaml")


@pytest.mark.parametrize("name", EVERY)
def test_every_command_has_help_for_itself_and_for_each_option(name: str) -> None:
    result = run(*name.split(), "--help")
    assert result.exit_code == 0
    assert (EVERY[name].help or "").strip()
    for parameter in EVERY[name].params:
        if isinstance(parameter, click.Option):
            assert parameter.help, f"{name} {parameter.opts} has no help"


@pytest.mark.parametrize("name", EVERY)
def test_help_fits_a_terminal_of_80_columns(name: str) -> None:
    assert not [line for line in help_text(name, EVERY[name]).splitlines() if len(line) > 80]


@pytest.mark.parametrize("name", [n for n, c in EVERY.items() if not isinstance(c, click.Group)])
def test_every_command_takes_json_and_has_an_example(name: str) -> None:
    options = {o for p in EVERY[name].params for o in p.opts}
    assert "--json" in options
    assert "Example: backprobe" in (EVERY[name].epilog or "")


@pytest.mark.parametrize(("page", "text"), [("commands.md", commands_page), ("json.md", json_page)])
def test_docs_are_fresh(page: str, text: object) -> None:
    assert callable(text)
    assert (DOCS / page).read_text(encoding="utf-8") == text(), "run scripts/commands.py"


def test_every_example_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BACKPROBE_STORE", str(tmp_path / "jobs.sqlite"))
    sheet = SHEET.replace("fuse F1", "fuse F4").replace("lift:", "boom:").replace("lever", "boom button")
    sheet = sheet.replace("[rest, raise]", "[released, pressed]").replace("is raise", "is pressed")
    put(tmp_path, "sprayer.yaml", sheet)
    put(
        tmp_path,
        "readings.txt",
        READINGS.replace("lift", "boom").replace("lever raise", "boom button pressed"),
    )
    mine = ("sketch", "rank", "next", "predict", "sheet", "schema")
    order = [n for n in EVERY if n.split()[0] in mine and not isinstance(EVERY[n], click.Group)]
    order += [f"job {verb}" for verb in ("new", "read", "list", "show", "export", "undo", "import")]
    for name in order:
        if name == "job undo":
            assert run("job", "read", "battery+ to battery-: 12.4 V").exit_code == 0
        for example in re.findall(r"Example: (backprobe .*)", EVERY[name].epilog or ""):
            result = run(*shlex.split(example)[1:])
            assert result.exit_code == 0, f"{example}: {result.stderr}"
            assert result.stdout


def test_version_and_help_load_no_heavy_library() -> None:
    for argument in ("--version", "--help"):
        code = (
            "import sys\nfrom backprobe.cli.main import app\n"
            f"try:\n    app.main([{argument!r}])\nexcept SystemExit as end:\n    assert not end.code\n"
            f"print([m for m in {HEAVY!r} if m in sys.modules], file=sys.stderr)"
        )
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        assert done.stderr.strip() == "[]"
        assert done.stdout


def test_version_is_told_by_the_command_itself() -> None:
    # How long it takes is measured in bench/, and what must not be loaded for it is tested above.
    code = "from backprobe.cli.main import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", code, "--version"], capture_output=True, text=True, check=True
    )
    assert done.stdout == f"backprobe {__version__}\n"


def test_groups_without_a_command_show_their_help() -> None:
    for args in ((), ("job",), ("sheet",)):
        result = run(*args)
        assert result.exit_code == 0
        assert "Commands:" in result.stdout
        assert not too_wide(result.stdout)


def test_an_unknown_command_is_answered_with_the_nearest() -> None:
    result = run("skech")
    assert result.exit_code == 2
    assert "Did you mean sketch" in result.stderr


def test_schema_lists_and_prints() -> None:
    assert "job show" in run("schema").stdout
    assert run_json("schema", "job", "show")["title"] == "A job and its answer"
    assert run("schema", "nothing").exit_code == 2


def test_the_quick_start_of_the_readme_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BACKPROBE_STORE", str(tmp_path / "jobs.sqlite"))
    put(
        tmp_path,
        "readings.txt",
        "state: key on, seat seated, all plugged\nrelay K1 dead\nC1-2 to frame: 12.3 V\n",
    )
    readme = (DOCS.parent / "README.md").read_text(encoding="utf-8")
    typed = re.findall(r"^ {4}\.venv/bin/backprobe (.*)$", readme, re.MULTILINE)
    assert len(typed) >= 7
    for line in typed:
        result = run(*shlex.split(line, comments=True))
        assert result.exit_code == 0, f"{line}: {result.stderr}"
    assert "seat switch" in run("job", "show").stdout

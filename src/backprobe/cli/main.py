"""The command itself: commands by file, and every failure in one line."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from typing import Any, NoReturn

import click

from backprobe import __version__
from backprobe.cli.lazy import LazyGroup
from backprobe.cli.output import drop_output, warn
from backprobe.errors import BackprobeError

DONE, PROBLEM_FOUND, WRONG_USE, BROKEN, INTERRUPTED = 0, 1, 2, 3, 130
DEBUG = "BACKPROBE_DEBUG"


class Backprobe(LazyGroup):
    """The top command; turns whatever goes wrong into a message and an exit code."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; a reader that closed the pipe early is no failure."""
        try:
            result = super().invoke(ctx)
            sys.stdout.flush()
        except BrokenPipeError:
            drop_output()
            return DONE
        return result

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        windows_expand_args: bool = True,
        **extra: Any,
    ) -> NoReturn:
        """Run with these arguments and exit: 0 done, 1 problem found, 2 wrong use, 3 a defect of ours."""
        run = super().main
        sys.exit(
            guarded(
                lambda: run(
                    args,
                    prog_name or "backprobe",
                    complete_var,
                    standalone_mode=False,
                    windows_expand_args=windows_expand_args,
                    **extra,
                )
            )
        )


def guarded(run: Callable[[], object]) -> int:
    """Call `run` and return an exit code; no failure leaves as a traceback."""
    try:
        code = run()
    except BackprobeError as error:
        warn(str(error))
        return WRONG_USE
    except click.ClickException as error:
        error.show()
        return WRONG_USE
    except (click.Abort, KeyboardInterrupt):
        warn("stopped")
        return INTERRUPTED
    except Exception as error:
        return _report(error)
    return code if isinstance(code, int) else DONE


def _report(error: Exception) -> int:
    if os.environ.get(DEBUG):
        import traceback

        traceback.print_exc()
    first = (str(error).strip().splitlines() or [""])[0]
    cause = f"{type(error).__name__}: {first}" if first else type(error).__name__
    hint = "" if os.environ.get(DEBUG) else f" With {DEBUG}=1 it shows where."
    warn(f"something went wrong inside backprobe: {cause}. Please report it with what you typed.{hint}")
    return BROKEN


@click.group(
    cls=Backprobe,
    package="backprobe.cli.commands",
    epilog=(
        "Exit codes: 0 done, 1 a problem was found, 2 wrong use. Every command takes --json, and - for "
        "standard input. Local rules, the maker's instructions and licensed trades come first."
    ),
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
)
@click.version_option(__version__, "-V", "--version", message="%(prog)s %(version)s")
def app() -> None:
    """Find why a guard circuit holds a mobile machine dead, from a few readings.

    Begin with a typed circuit (`backprobe sketch`), or with a sheet file and what you read
    (`backprobe rank SHEET READINGS`); keep the readings of one machine in a job
    (`backprobe job new SHEET`).
    """


def main() -> NoReturn:
    """Entry point of the installed command."""
    app.main(prog_name="backprobe")
    raise AssertionError("main has exited")

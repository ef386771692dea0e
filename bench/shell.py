"""How long the command line takes to answer at all."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from bench.figures import Figures, print_table, seconds_of

TIMES = 7


def shell() -> Figures:
    """Best wall time of ``backprobe --version`` [ms], or "not built" where it cannot be run."""
    command = [str(Path(sys.executable).parent / "backprobe"), "--version"]
    try:
        works = subprocess.run(command, capture_output=True, check=False).returncode == 0
    except FileNotFoundError:
        works = False
    if not works:
        print_table("Command line", [("backprobe --version", "not built")])
        return {"version_ms": "not built"}
    best = min(
        seconds_of(lambda: subprocess.run(command, capture_output=True, check=True)) for _ in range(TIMES)
    )
    print_table("Command line", [("backprobe --version", f"{best * 1e3:.0f} ms, best of {TIMES}")])
    return {"version_ms": best * 1e3}

"""Prints the readings of the demo as the invented machines make them; with --write stores them."""

from __future__ import annotations

import re
import sys
from pathlib import Path

from backprobe.demo.story import demo_jobs

JOBS = Path(__file__).parents[1] / "src" / "backprobe" / "demo" / "jobs"


def main() -> None:
    """Act out every job."""
    for story in demo_jobs():
        lines = story.acted_lines()
        print(f"{story.name}: {story.acted.fault}")
        for line, step in zip(lines, story.steps, strict=True):
            mark = "" if line == step.line else f"    (stored: {step.line})"
            print(f"  {line}{'    (a slip)' if step.really else ''}{mark}")
        if "--write" in sys.argv[1:]:
            write(JOBS / f"{story.name}.yaml", lines)


def write(path: Path, lines: tuple[str, ...]) -> None:
    """Put the lines into a job file, in the order of its steps."""
    shown = iter(lines)
    text = path.read_text(encoding="utf-8")
    text = re.sub(r"(?m)^    line: .*$", lambda _: f'    line: "{next(shown)}"', text)
    path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

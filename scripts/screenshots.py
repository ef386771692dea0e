"""Pictures of the screens for the docs: ``python -m scripts.screenshots`` writes docs/screens/.

They are made from the jobs of the demo, at 360 and at 1280 pixels. The page that shows them, docs/screens.md,
is made by ``make docs`` with all others and needs no browser.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

FOLDER = Path(__file__).parents[1] / "docs" / "screens"
WIDTHS = (360, 1280)
"""Widths of a phone and of a laptop [px]."""
HEIGHT = {360: 1500, 1280: 1100}
"""Most of a screen that is shown [px]."""

SHOWN = {
    "jobs": ("Jobs", "what stands open and where it stopped; a new one below"),
    "complaint": ("Complaint", "the first reading: what is dead, in which operator state"),
    "next-number": ("Next check", "cautions, leads, state, and what each outcome would mean"),
    "next-read": ("After a reading", "where it fell, and what it says"),
    "suspects-dumper": ("Suspects", "why, what tells them apart, and the reading to take again"),
    "circuit-dumper": ("Circuit", "volts healthy and measured, suspects numbered"),
    "reading": ("Any other reading", "the four things that every reading has to know"),
    "sketch-row": ("Sketch", "a circuit without a drawing, part by part as the current meets them"),
    "trial-guard": ("Hearsay", "a proposed cure acted out, and refused where it defeats the guard"),
    "hearsay": ("Several cures at once", "everything that people propose, judged at once"),
    "plan-template": ("Check plan", "the checks ahead of time, as a tree and as a list"),
    "stand-in": ("Stand-in", "resistors in place of a sensor, for testing only"),
    "band": ("Bands of an input", "edges from a sweep, with their intervals"),
    "log": ("Recording", "dropouts, and what was done when they began"),
    "budget": ("Amperes", "fuses, drivers and what the wires lose"),
    "report": ("Report", "made to be printed and signed"),
}
"""Screens that the docs show: title, and what is to be seen."""


def screens_page() -> str:
    """The page that shows the pictures, docs/screens.md."""
    lines = [
        "# Screens",
        "",
        "What `backprobe demo` serves, on a phone (360 pixels) and on a laptop (1280 pixels); long pages are",
        "cut. `make screens` makes the pictures anew from the jobs of the invented fleet.",
    ]
    for name, (title, seen) in SHOWN.items():
        lines += ["", f"## {title}", "", f"{seen[0].upper()}{seen[1:]}.", ""]
        lines += [f"![{title}, {width} pixels wide](screens/{name}-{width}.png)" for width in WIDTHS]
    return "\n".join(lines) + "\n"


def main() -> int:
    """Make all pictures."""
    from tests.browser.chromium import chromium
    from tests.browser.screens import SCREENS
    from tests.browser.site import served

    FOLDER.mkdir(exist_ok=True)
    wanted = {s.name: s for s in SCREENS if s.name in SHOWN}
    with (
        tempfile.TemporaryDirectory() as place,
        served(Path(place), demo=True) as site,
        chromium() as browser,
    ):
        for name in SHOWN:
            page = browser.new_page(reduced_motion="reduce", locale="en-GB")
            page.set_viewport_size({"width": WIDTHS[0], "height": 740})
            wanted[name].open(page, site, unfolded=False)
            page.evaluate("document.activeElement.blur()")
            for width in WIDTHS:
                page.set_viewport_size({"width": width, "height": 740})
                page.evaluate("scrollTo(0, 0)")
                height = min(HEIGHT[width], page.evaluate("document.documentElement.scrollHeight"))
                page.screenshot(
                    path=FOLDER / f"{name}-{width}.png",
                    full_page=True,
                    clip={"x": 0, "y": 0, "width": width, "height": height},
                )
            page.close()
    total = sum(p.stat().st_size for p in FOLDER.glob("*.png"))
    print(f"{2 * len(SHOWN)} pictures in {FOLDER}, {total / 1e6:.1f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""The pictures of the screens: all that the docs show are there, as wide as they say, and small."""

from __future__ import annotations

import re
import struct
from pathlib import Path

from scripts.screenshots import FOLDER, SHOWN, WIDTHS

MOST = 4_000_000
"""All pictures together [byte]."""
DOCS = Path(__file__).parents[2] / "docs"


def width_of(path: Path) -> int:
    """Width of a picture from its header (PNG, ISO/IEC 15948, 11.2.2) [px]."""
    head = path.read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    return int(struct.unpack(">I", head[16:20])[0])


def test_every_picture_of_the_page_is_there_in_its_width() -> None:
    shown = re.findall(r"\]\((screens/[^)]+-(\d+)\.png)\)", (DOCS / "screens.md").read_text(encoding="utf-8"))
    assert len(shown) == len(SHOWN) * len(WIDTHS)
    for name, width in shown:
        assert width_of(DOCS / name) == int(width)


def test_no_picture_is_left_over_and_all_are_small() -> None:
    pictures = list(FOLDER.glob("*.png"))
    assert {p.stem for p in pictures} == {f"{name}-{width}" for name in SHOWN for width in WIDTHS}
    assert sum(p.stat().st_size for p in pictures) < MOST

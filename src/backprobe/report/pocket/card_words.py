"""What the command says of a pocket card: its file, its size, and what it leaves to the laptop."""

from __future__ import annotations

import re
from pathlib import PurePath

from backprobe.diagnosis.engine import Engine
from backprobe.readings.points import reachable_points
from backprobe.report.data import Object
from backprobe.report.layout import FIRST, count, joined, wrap
from backprobe.sheet.model import Sheet
from backprobe.sheet.sketch import UNNAMED

NAME_LENGTH = 60


def card_name(sheet: Sheet, source: str = "") -> str:
    """A file name after the sheet's own name, or after its file where it has none.

    Parameters
    ----------
    source
        What was given as the sheet: a path, ``-`` or a typed circuit.
    """
    is_file = PurePath(source).suffix.lower() in {".yaml", ".yml"}
    said = PurePath(source).stem if is_file and sheet.name == UNNAMED else sheet.name
    words = re.sub(r"[^a-z0-9]+", "-", said.lower()).strip("-")[:NAME_LENGTH].strip("-")
    return f"{words or 'sheet'}-pocket.html"


def pocket_text(engine: Engine, file: str, page: str) -> str:
    """The card in a few lines."""
    sheet = engine.sheet
    return joined(
        wrap(
            f"{file}: {len(page.encode()) / 1000:.0f} kB, {count(len(reachable_points(sheet)), 'point')}, "
            f"{count(len(engine.catalogue.modes), 'fault')}."
        ),
        wrap(
            "Mail it or copy it to the phone and open it there: it needs no network. It ranks single faults "
            "as this program does; where it says that more than one is at fault, go on with the laptop."
        ),
        wrap(FIRST),
    )


def pocket_data(engine: Engine, file: str, page: str) -> Object:
    """The card as plain JSON values."""
    return {
        "sheet": engine.sheet.name,
        "file": file,
        "bytes": len(page.encode()),
        "points": len(reachable_points(engine.sheet)),
        "faults": len(engine.catalogue.modes),
        "builds": len(engine.sheet.builds) or 1,
    }

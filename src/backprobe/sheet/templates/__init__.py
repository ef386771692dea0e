"""Templates: sheets of circuits that many machines share, wide where nobody knows, for when there is no book.

Each is a sheet file in this folder; its leading comment says what it is for, its notes what to fill in first.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from backprobe.errors import Problem, SheetError
from backprobe.sheet.findings import nearest
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet

ENDING = ".yaml"
TITLE = re.compile(r"^sheet:.*$", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Template:
    """A sheet to begin with.

    Parameters
    ----------
    name
        Trade words joined by hyphens, such as ``start-chain``.
    about
        What circuit it is for, in a sentence or two.
    text
        The sheet file.
    """

    name: str
    about: str
    text: str

    def named(self, title: str) -> Template:
        """The same under the name of a machine, its circuit and build."""
        # Quoted as JSON, which is YAML too: a name may hold a colon or a hash sign.
        line = f"sheet: {json.dumps(' '.join(title.split()), ensure_ascii=False)}"
        return Template(self.name, self.about, TITLE.sub(lambda _: line, self.text, count=1))

    def sheet(self, file: str = "") -> Sheet:
        """The sheet it makes; `file` is its name in messages."""
        return parse_sheet(self.text, file=file or f"template {self.name}")


@cache
def templates() -> tuple[Template, ...]:
    """All templates, by name."""
    found = sorted(p.name for p in files(__name__).iterdir() if p.name.endswith(ENDING))
    return tuple(_read(name) for name in found)


def template(name: str) -> Template:
    """The template of a name; blanks and underscores count as hyphens.

    Raises
    ------
    SheetError
        When there is none of that name.
    """
    known = {t.name: t for t in templates()}
    wanted = "-".join(re.split(r"[\s_-]+", name.strip().lower()))
    if wanted not in known:
        raise SheetError(Problem("template", name[:80], "is not a template", nearest(wanted, known)))
    return known[wanted]


def _read(file: str) -> Template:
    text = files(__name__).joinpath(file).read_text(encoding="utf-8")
    lead = re.match(r"(?:#.*\n)*", text)
    about = " ".join(line.lstrip("# ") for line in (lead.group() if lead else "").splitlines())
    return Template(file.removesuffix(ENDING), about, text)

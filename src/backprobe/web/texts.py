"""Texts in the reader's language: `.po` files read at the start, without a build step.

German is the second language. A catalogue is all ``.po`` files of one folder of ``web/locale``
together, so that each page brings its own.
"""

from __future__ import annotations

import ast
import gettext
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

from backprobe.web.engine_words import EngineWords

FOLDER = Path(__file__).parent / "locale"
SOURCE = "en"
ENGINE = "engine"
"""What the names of files begin with that translate what the engine says."""
LANGUAGES: Mapping[str, str] = {"en": "English", "de": "Deutsch"}
"""Code to its own name."""
COMMA = frozenset({"de"})
"""Languages that write 4,7 for 4.7."""


def N_(text: str) -> str:  # noqa: N802, the name that gettext's tools know
    """Mark a text for translation where it cannot be translated yet."""
    return text


class Texts(gettext.NullTranslations):
    """The texts of one language.

    Parameters
    ----------
    language
        One of `LANGUAGES`.
    entries
        Text of a page to its translation; with a plural, to one for each form.
    engine
        Sentence of the engine, with gaps in braces, to its translation.
    """

    def __init__(
        self, language: str, entries: Mapping[str, tuple[str, ...]], engine: Mapping[str, tuple[str, ...]]
    ) -> None:
        super().__init__()
        self.language = language
        self.entries = entries
        self.engine = engine
        self._words = EngineWords({k: v[0] for k, v in engine.items() if v}, comma=language in COMMA)

    @property
    def decimal_comma(self) -> bool:
        """Whether numbers are written with a comma."""
        return self.language in COMMA

    def gettext(self, message: str) -> str:
        """The text in this language; as it is where nobody translated it."""
        found = self.entries.get(message)
        return found[0] if found and found[0] else message

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        """The text for a number of things."""
        form = 0 if n == 1 else 1
        found = self.entries.get(msgid1)
        return found[form] if found and len(found) > form and found[form] else (msgid1, msgid2)[form]

    def said(self, text: str) -> str:
        """What the engine said, as far as its sentences are known here.

        A sentence with a name in it is known by its pattern, such as ``Key off before {name} is unplugged``;
        what fills a gap is looked up too, and so is each sentence of several.
        """
        return self._words.said(text)

    def listed(self, text: str) -> str:
        """Names that the engine has joined, such as ``starter and relay K2``."""
        return self._words.listed(text)

    def rule(self, text: str) -> str:
        """A rule of a sheet, such as ``seat is seated and lever is neutral``."""
        return self._words.rule(text)


@cache
def texts(language: str) -> Texts:
    """The texts of a language; the source's own where it is unknown."""
    if language not in LANGUAGES or language == SOURCE:
        return Texts(SOURCE, {}, {})
    entries: dict[str, tuple[str, ...]] = {}
    engine: dict[str, tuple[str, ...]] = {}
    for path in sorted((FOLDER / language).glob("*.po")):
        # What the engine says is kept apart: a page's own "{a} to {b}" is no pattern for the name of a wire.
        kept = engine if path.stem.startswith(ENGINE) else entries
        kept |= dict(read_po(path.read_text(encoding="utf-8")))
    return Texts(language, entries, engine)


def read_po(text: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Entries of a ``.po`` file, without its head and without those marked fuzzy."""
    for block in re.split(r"\n\s*\n", text):
        fields: dict[str, str] = {}
        name = ""
        for line in block.splitlines():
            if line.startswith("#"):
                if line.startswith("#,") and "fuzzy" in line:
                    fields = {}
                    break
                continue
            if word := re.match(r'(msgid_plural|msgid|msgstr(?:\[\d\])?)\s+(?=")', line):
                name = word[1]
                line = line[word.end() :]  # noqa: PLW2901
            if name and line.strip():
                fields[name] = fields.get(name, "") + str(ast.literal_eval(line.strip()))
        message = fields.get("msgid", "")
        if message:
            yield message, tuple(v for k, v in sorted(fields.items()) if k.startswith("msgstr"))


def pick_language(chosen: str, accepted: str) -> str:
    """The reader's language: what was chosen, else the best that the browser accepts.

    Parameters
    ----------
    chosen
        A code, or empty.
    accepted
        The browser's ``Accept-Language``.
    """
    if chosen in LANGUAGES:
        return chosen
    wanted: list[tuple[float, int, str]] = []
    for place, part in enumerate(accepted[:300].split(",")):
        code, _, weight = part.strip().partition(";q=")
        try:
            size = float(weight) if weight else 1.0
        except ValueError:
            continue
        wanted.append((-size, place, code.strip().lower().partition("-")[0]))
    return next((code for size, _, code in sorted(wanted) if code in LANGUAGES and size < 0), SOURCE)

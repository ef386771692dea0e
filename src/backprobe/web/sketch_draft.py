"""An unfinished sketch as one short text in the page's address: it survives a reload."""

from __future__ import annotations

import base64
import binascii
import json
import zlib
from dataclasses import dataclass, replace

from backprobe.errors import Problem, SheetError

MAX_TEXT = 20_000
"""Longest sheet that is sketched on the page [characters]; a longer one is a file."""
MAX_KEPT = 400_000
"""Most that an address may unfold to [bytes]."""
ADDRESS = 6_000
"""Length from which the oldest steps are forgotten [characters]; a browser takes far more."""
STEPS = 25
"""Steps that can be undone."""

EMPTY = "sheet: Sketch\nsystem: 12 V\nruns:\n  main: [battery+]\n"


@dataclass(frozen=True, slots=True)
class Draft:
    """A sketch at work.

    Parameters
    ----------
    text
        The sheet so far, as typed or as the buttons made it; it need not be right yet.
    run
        The run that grows.
    at
        Where in that run the next thing goes; -1 for its end.
    past
        Earlier texts, the latest first, for undo.
    title, machine, before
        What the job is about, its machine and what happened before, as far as it was said at its start.
    """

    text: str = EMPTY
    run: str = "main"
    at: int = -1
    past: tuple[str, ...] = ()
    title: str = ""
    machine: str = ""
    before: tuple[str, ...] = ()

    def then(self, text: str, *, run: str | None = None, at: int = -1) -> Draft:
        """The draft with a new text, the old one kept for undo."""
        past = self.past if text == self.text else (self.text, *self.past)[:STEPS]
        return replace(self, text=text, run=self.run if run is None else run, at=at, past=past)

    def undone(self) -> Draft:
        """The draft one step back."""
        return replace(self, text=self.past[0], at=-1, past=self.past[1:]) if self.past else self


def pack(draft: Draft) -> str:
    """A draft as text for an address; the oldest steps are left out where it grows too long."""
    while True:
        plain: dict[str, object] = {
            "text": draft.text,
            "run": draft.run,
            "at": draft.at,
            "past": list(draft.past),
        }
        about = {"title": draft.title, "machine": draft.machine, "before": list(draft.before)}
        plain |= {name: value for name, value in about.items() if value}
        raw = zlib.compress(json.dumps(plain, ensure_ascii=False, separators=(",", ":")).encode(), 9)
        packed = base64.urlsafe_b64encode(raw).decode().rstrip("=")
        if len(packed) <= ADDRESS or not draft.past:
            return packed
        draft = replace(draft, past=draft.past[: len(draft.past) // 2])


def unpack(packed: str) -> Draft:
    """The draft of an address; an empty one begins anew.

    Raises
    ------
    SheetError
        When the address was cut or changed.
    """
    if not packed:
        return Draft()
    try:
        raw = base64.b64decode(packed + "=" * (-len(packed) % 4), altchars=b"-_", validate=True)
        unfolding = zlib.decompressobj()
        plain = json.loads(unfolding.decompress(raw, MAX_KEPT).decode())
        draft = Draft(
            str(plain["text"]),
            str(plain["run"]),
            int(plain["at"]),
            tuple(str(text) for text in plain["past"]),
            str(plain.get("title", "")),
            str(plain.get("machine", "")),
            tuple(str(word) for word in plain.get("before", ())),
        )
    except (binascii.Error, zlib.error, ValueError, KeyError, TypeError, RecursionError):
        problem = Problem(
            "sketch", packed[:20], "is no sketch: the address was cut or changed", "Begin a new sketch."
        )
        raise SheetError(problem) from None
    return draft

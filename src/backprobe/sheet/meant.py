"""What a name that nobody knows was meant to be: over kinds, switches, posts and names together."""

from __future__ import annotations

from collections.abc import Iterable

from backprobe.errors import UnitError
from backprobe.sheet.kind import Registry
from backprobe.sheet.lexicon import ALIASES, SHORT_SWITCH_WORDS, SWITCH_WORDS
from backprobe.sheet.run_text import POSTS, read_item
from backprobe.sheet.spelling import nearly, respelt


def meant_by(name: str, names: Iterable[str], registry: Registry) -> str:
    """The item of a run that was most likely meant; empty where nothing is near.

    Parameters
    ----------
    name
        As written: ``fues F2``, ``gate swich``, ``controler.valve output``, ``brake``.
    names
        Parts and bodies of the sheet, as they may be called.
    """
    if name.lower() in {w.lower() for w in SWITCH_WORDS} | SHORT_SWITCH_WORDS:
        return f"{name} switch"
    parts = list(names)
    if whole := nearly(name, [*parts, *POSTS, *ALIASES]):
        return whole
    head, dot, tail = name.partition(".")
    known = {w for phrase in (*registry.by_word, *ALIASES, *parts, *POSTS) for w in phrase.split()}
    meant = respelt(head, known | SWITCH_WORDS)
    if not meant:
        return ""
    said = meant + dot + tail
    if dot:
        return said if meant in registry.by_name or meant in parts else ""
    try:
        item = read_item(said, registry)
    except UnitError:
        return ""
    return said if item.kind is not None or item.shape != "thing" or said in parts else ""

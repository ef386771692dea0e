"""Bands written as shares of the controller's feed, which may differ from build to build."""

from __future__ import annotations

from collections.abc import Callable

from backprobe.errors import UnitError
from backprobe.sheet.document import Mapping, Scalar
from backprobe.sheet.document import field as dotted
from backprobe.sheet.findings import Findings
from backprobe.units import parse_range, parse_toleranced


def bands_in_volts(document: Mapping, findings: Findings) -> Mapping:
    """The document with bands such as ``7..30 %`` turned into volts of the same controller's feed.

    Edges follow the feed's best value; its tolerance stays with the feed.
    """
    parts = document.get("parts")
    if not isinstance(parts, Mapping):
        return document
    told = _within(parts, lambda name, part: _part(part, name, findings))
    return _within(document, lambda name, entry: told if name == "parts" else entry)


def _within(node: Mapping, change: Callable[[str, Mapping], Mapping]) -> Mapping:
    """A mapping with every mapping in it changed."""
    entries = (
        (key, change(key.text, entry) if isinstance(entry, Mapping) else entry) for key, entry in node.entries
    )
    return Mapping(tuple(entries), node.line)


def _part(part: Mapping, name: str, findings: Findings) -> Mapping:
    feed = _feed_volts(part)

    def told(pin: str, bands: Mapping) -> Mapping:
        path = (name, pin, "bands")
        return Mapping(tuple((_edge(k, feed, path, findings), e) for k, e in bands.entries), bands.line)

    def in_pin(pin: str, entry: Mapping) -> Mapping:
        return _within(entry, lambda field, bands: told(pin, bands) if field == "bands" else bands)

    return _within(part, in_pin)


def _edge(key: Scalar, feed: float | None, path: tuple[str, ...], findings: Findings) -> Scalar:
    if "%" not in key.text:
        return key
    where = dotted("parts", *path, key.text)
    if feed is None:
        remedy = "Write the feed, such as feed: {volts: 5 V}, or the band in volts."
        findings.add(where, key.text, "is a share of a feed whose volts are not written", remedy, key.line)
        return key
    try:
        low, high = parse_range(key.text, unit="%")
    except UnitError as error:
        first = error.problems[0]
        findings.add(where, key.text, first.message, first.remedy, key.line)
        return key
    return Scalar(f"{low * feed / 100:.6g}..{high * feed / 100:.6g} V", key.line, key.quoted)


def _feed_volts(part: Mapping) -> float | None:
    """Best volts of the first feed of a controller [V]."""
    for key, entry in part.entries:
        if not key.text.endswith("feed") or not isinstance(entry, Mapping):
            continue
        node = entry.get("volts")
        if isinstance(node, Mapping):
            node = node.get("value") or node.get("range")
        if isinstance(node, Scalar):
            try:
                return parse_toleranced(node.text, unit="V").value
            except UnitError:
                return 1.0  # what is wrong with it is said where it is read
    return None

"""Colours of wires by their IEC 60757 letters; the letters are always written beside the wire."""

from __future__ import annotations

PAINT = {
    "BK": "#1a1a1a",
    "BN": "#8a4a1c",
    "RD": "#d8232a",
    "OG": "#f58220",
    "YE": "#f7d417",
    "GN": "#1e9e4a",
    "BU": "#1f6fd6",
    "VT": "#8a3fc0",
    "GY": "#8d9399",
    "WH": "#ffffff",
    "PK": "#f49ac1",
    "TQ": "#2bc4c4",
    "SR": "#c0c5ca",
    "GD": "#c9a227",
}
"""Letter code (IEC 60757) to the paint of the line; invented shades that keep apart in sunlight."""


def paints(colour: str) -> tuple[str, ...]:
    """One or two paints of a wire such as ``RD`` or ``RD/WH``; none when its colour is not known."""
    letters = colour.replace("/", "").upper()
    codes = (letters[:2], letters[2:4])
    return tuple(PAINT[c] for c in codes if c in PAINT)

"""Where the values of a whole file come from, for files of which the tests do not each say so."""

from __future__ import annotations

import pytest

from tests.reference.books import outside

BY_FILE: dict[str, pytest.MarkDecorator] = {
    "test_copper_wire": outside(
        "copper wire",
        "ASTM B258, IEC 60028, IEC 60228, ISO 6722 as others print them; a textbook (DC, ch. 12)",
        "seen + mem + calc",
    ),
    "test_supply_and_drop": outside(
        "supply ranges and voltage drop",
        "ISO 16750-2 and voltage-drop practice as others print them",
        "seen + calc",
        confidence="M",
    ),
}
"""A test's own mark, or one on its module, comes first."""

"""Where a value stands in a sheet's text, so that a finding can point at its line."""

from __future__ import annotations

from backprobe.errors import SheetError
from backprobe.sheet.document import Mapping, Scalar, read_document
from backprobe.sheet.model import Sheet


class Written:
    """The document of a sheet, asked for lines and texts; without a text it knows only those of the model."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        try:
            self._root: Mapping | None = read_document(sheet.text, file=sheet.file) if sheet.text else None
        except SheetError:
            self._root = None

    def line(self, part: str, *path: str) -> int:
        """Line of a part's field; of the part itself where the field is written inside a run."""
        own = self._sheet.parts[part].line
        node, line = self._root, own
        for depth, word in enumerate(("parts", part, *path)):
            key = next((k for k, _ in node.entries if k.text == word), None) if node else None
            if node is None or key is None:
                return line if depth > 1 else own
            inner = node.get(word)
            line, node = key.line, inner if isinstance(inner, Mapping) else None
        return line

    def section_line(self, name: str) -> int:
        """Line of a section, 0 where the sheet does not have it."""
        keys = self._root.entries if self._root else ()
        return next((k.line for k, _ in keys if k.text == name), 0)

    def section_text(self, name: str) -> str:
        """Plain text of a section, empty where there is none."""
        node = self._root.get(name) if self._root else None
        return node.text if isinstance(node, Scalar) else ""

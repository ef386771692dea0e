"""From a sheet's text to a `Sheet`, reporting everything that is wrong in one pass."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

from backprobe.errors import Problem, SheetError, UnitError
from backprobe.sheet.alternatives import read_builds
from backprobe.sheet.anatomy import Value
from backprobe.sheet.band_shares import bands_in_volts
from backprobe.sheet.battery_typed import system_of
from backprobe.sheet.bodies import read_bodies
from backprobe.sheet.document import Mapping, Node, Scalar, Sequence, read_document, scalars
from backprobe.sheet.document import field as dotted
from backprobe.sheet.driven_lamps import with_driven_lamps
from backprobe.sheet.findings import Findings, nearest
from backprobe.sheet.functions import read_functions, read_lamps
from backprobe.sheet.kinds import registry
from backprobe.sheet.latches import with_latches
from backprobe.sheet.loose_ends import report_loose_ends
from backprobe.sheet.meant import meant_by
from backprobe.sheet.model import Connector, Control, Sheet
from backprobe.sheet.parting import listed_things
from backprobe.sheet.parts import Draft, habitual_closed, read_fields, read_minutes
from backprobe.sheet.pins import finish_pin
from backprobe.sheet.plugs import settle_connectors
from backprobe.sheet.run_text import read_item, value_problem
from backprobe.sheet.runs import Wiring
from backprobe.sheet.warmth import read_temperature, warmed
from backprobe.units import parse_quantity

SECTIONS = (
    *("sheet", "system", "temperature", "controls", "bodies", "runs", "connectors", "parts"),
    *("latches", "functions", "lamps", "cautions", "notes"),
)
A_RUN = "Write [battery+, fuse F1 10 A, ..., frame]."
MAX_ITEMS = 400
"""Most items in all runs together; a guard circuit has tens."""


def load_sheet(source: str | Path) -> Sheet:
    """Read a sheet from a file.

    Parameters
    ----------
    source
        Path of a sheet file.

    Returns
    -------
    Sheet
        The sheet, with every default filled in and marked as such.

    Raises
    ------
    SheetError
        With one problem for each thing that is wrong: file, line, field, value and remedy.
    """
    path = Path(source)
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise SheetError(
            Problem("", "", "is not UTF-8 text", "Save the file as UTF-8.", str(source))
        ) from error
    except OSError as error:
        reason = error.strerror or "cannot be read"
        raise SheetError(
            Problem("", str(source), f"cannot be read: {reason.lower()}", "Check the path.", "")
        ) from error
    return parse_sheet(text, file=str(source))


def parse_sheet(text: str, *, file: str = "-", temperature: Value | None = None) -> Sheet:
    """Read a sheet from text; `file` is for messages, `temperature` [degC] replaces the sheet's own.

    Raises
    ------
    SheetError
        As `load_sheet`.
    """
    return read_builds(
        read_document(text, file=file), file, lambda build: _read(build, file, text, temperature)
    )


def _read(document: Mapping, file: str, text: str, temperature: Value | None) -> Sheet:
    findings = Findings(file)
    gathered = _Gathered(bands_in_volts(document, findings), findings, temperature=temperature)
    gathered.sections()
    findings.raise_any()
    sheet = gathered.finish(file, text)
    findings.raise_any()
    return sheet


@dataclass(slots=True)
class _Gathered:
    document: Mapping
    findings: Findings
    name: str = ""
    volts: float = 12.0
    temperature: Value | None = None
    control_map: dict[str, Control] = field(default_factory=dict)
    drafts: dict[str, Draft] = field(default_factory=dict)
    plugs: dict[str, Connector] = field(default_factory=dict)
    wiring: Wiring | None = None

    def sections(self) -> None:
        for read in (self.head, self.controls, self.parts, self.connectors, self.runs):
            read()

    def head(self) -> None:
        for key, _ in self.document.entries:
            if key.text not in SECTIONS:
                self.findings.add(
                    key.text, key.text, "is not a section of a sheet", nearest(key.text, SECTIONS), key.line
                )
        title = self.document.get("sheet")
        if isinstance(title, Scalar) and title.text.strip():
            self.name = " ".join(title.text.split())
        else:
            line = title.line if title else self.document.line
            self.findings.add(
                "sheet", "", "has no name", "Start with `sheet: machine, circuit, build`.", line
            )
        system = self.document.get("system")
        if isinstance(system, Scalar):
            try:
                self.volts = parse_quantity(system.text, unit="V").value
            except UnitError as error:
                first = error.problems[0]
                self.findings.add("system", system.text, first.message, "Write 12 V or 24 V.", system.line)
            if not 4 <= self.volts <= 60:
                self.findings.add(
                    "system",
                    system.text,
                    "is no low-voltage machine: circuits above 60 V are out of scope",
                    "Write 12 V or 24 V; leave high-voltage circuits to licensed trades.",
                    system.line,
                )
        elif system is None:
            self.volts = system_of(_typed_items(self.document), self.volts)
        else:
            self.findings.add("system", "", "is not a voltage", "Write 12 V or 24 V.", system.line)

    def _section(self, name: str) -> Mapping | None:
        node = self.document.get(name)
        if node is None:
            return None
        if not isinstance(node, Mapping):
            self.findings.add(
                name,
                getattr(node, "text", ""),
                "is not a set of names",
                f"Write `{name}:` and indented names.",
                node.line,
            )
            return None
        return node

    def controls(self) -> None:
        node = self._section("controls")
        for key, entry in node.entries if node else ():
            name = " ".join(key.text.split())
            items = entry.items if isinstance(entry, Sequence) else ()
            positions = [i.text for i in items if isinstance(i, Scalar) and i.text.strip()]
            if len(positions) < 2 or len(set(positions)) != len(positions) or len(positions) != len(items):
                self.findings.add(
                    dotted("controls", name),
                    getattr(entry, "text", ", ".join(positions)),
                    "does not name two or more different positions",
                    "Write them in brackets, the one at rest first: [off, on].",
                    key.line,
                )
                self.findings.spoil(name)
                continue
            self.control_map[name] = Control(name, tuple(" ".join(p.split()) for p in positions), key.line)

    def parts(self) -> None:
        node = self._section("parts")
        kinds = registry()
        for key, entry in node.entries if node else ():
            name = " ".join(key.text.split())
            if "." in name or not name:
                self.findings.add(
                    dotted("parts", name), name, "is no name for a part", "Leave out dots.", key.line
                )
                continue
            if not isinstance(entry, Mapping):
                self.findings.add(
                    dotted("parts", name),
                    getattr(entry, "text", ""),
                    "is not a set of fields",
                    "Write {kind: ..., field: value}.",
                    entry.line,
                )
                continue
            draft = self._draft(name, entry, key.line)
            if draft is None:
                self.findings.spoil(name)
                continue
            if draft.name in self.drafts:
                self.findings.add(dotted("parts", name), name, "stands twice", "Keep one entry.", key.line)
                continue
            self.drafts[draft.name] = draft
            if draft.kind.operated and not (entry.get("closed") or entry.get("actuated")):
                habitual_closed(draft, self.control_map, self.findings)
            read_fields(draft, entry, self.control_map, self.findings)
        if "battery" not in self.drafts:
            self.drafts["battery"] = Draft("battery", kinds.by_name["battery"], 0, implied=True)

    def _draft(self, name: str, entry: Mapping, line: int) -> Draft | None:
        kinds = registry()
        stated = entry.get("kind")
        try:
            text = read_item(name, kinds)
        except UnitError as error:
            where = dotted("parts", name)
            self.findings.problems.append(value_problem(where, error, file=self.findings.file, line=line))
            return None
        if stated is None:
            kind = text.kind or kinds.by_name.get(name)
            if kind is None:
                known = ", ".join(k for k in sorted(kinds.by_name) if k not in {"contact", "connector"})
                meant = meant_by(name, (), kinds)
                remedy = f"Did you mean '{meant}'?" if meant else f"Add `kind:`, one of {known}."
                self.findings.add(dotted("parts", name), name, "has no kind", remedy, line)
                return None
            return Draft(text.name if text.kind else name, kind, line)
        word = stated.text.strip().lower() if isinstance(stated, Scalar) else ""
        kind = kinds.by_word.get(word)
        if kind is None or kind.name in {"contact", "connector"}:
            self.findings.add(
                dotted("parts", name, "kind"),
                word,
                "is not a kind of part",
                nearest(word, kinds.by_name),
                stated.line,
            )
            return None
        return Draft(name, kind, line)

    def connectors(self) -> None:
        node = self._section("connectors")
        for key, entry in node.entries if node else ():
            name = key.text.strip().upper()
            if not isinstance(entry, Mapping):
                self.findings.add(
                    dotted("connectors", name),
                    "",
                    "is not a set of fields",
                    "Write {part: ..., minutes: 3}.",
                    key.line,
                )
                continue
            part, minutes, caution = "", 1.0, ""
            for inner, value in entry.entries:
                if inner.text == "part" and isinstance(value, Scalar):
                    part = " ".join(value.text.split())
                elif inner.text == "minutes":
                    minutes = read_minutes(value, ("connectors", name, "minutes"), self.findings) or 1.0
                elif inner.text == "caution" and isinstance(value, Scalar):
                    caution = value.text
                else:
                    remedy = nearest(inner.text, ("part", "minutes", "caution"))
                    self.findings.add(
                        dotted("connectors", name, inner.text),
                        inner.text,
                        "is not known here",
                        remedy,
                        inner.line,
                    )
            self.plugs[name] = Connector(name, (), part, minutes, caution, key.line)

    def runs(self) -> None:
        wiring = Wiring(registry(), self.findings, self.drafts, self.control_map, self.plugs, self.volts)
        wiring.declared = frozenset(self.drafts)
        wiring.bodies = list(read_bodies(self.document, registry(), self.findings))
        for name in self.drafts:
            wiring.learn(name)
        node = self._section("runs")
        if node is None or not node.entries:
            if self.document.get("runs") is None or node is not None:
                self.findings.add(
                    "runs",
                    "",
                    "has no run",
                    "Add `runs:` with at least one list from source to return.",
                    self.document.line,
                )
            return
        total = 0
        for key, entry in node.entries:
            items = listed_things(entry)
            if items is None or len(items) < 2:
                written = str(getattr(entry, "text", ""))
                message, remedy = "is not a list of what the current meets", A_RUN
                if written.endswith("]") and "[" not in written:
                    message, remedy = (
                        "has a ']' without its opening bracket",
                        "Put '[' where the list begins.",
                    )
                self.findings.add(dotted("runs", key.text), written, message, remedy, entry.line)
                continue
            total += len(items)
            wiring.add_run(" ".join(key.text.split()), items)
        if total > MAX_ITEMS:
            self.findings.add(
                "runs", str(total), f"has more than {MAX_ITEMS} items", "Split the sheet.", node.line
            )
            return
        wiring.resolve()
        settle_connectors(wiring)
        wiring.mark_branches()
        self.wiring = wiring

    def finish(self, file: str, text: str) -> Sheet:
        assert self.wiring is not None
        runs = self.wiring.finished_runs()
        report_loose_ends(runs, self.drafts, self.wiring.bodies, self.findings)
        self.findings.raise_any()
        unknown: list[str] = []
        for draft in self.drafts.values():
            pins = dict(draft.pins)
            draft.pins = {n: finish_pin(p, pins, self.volts) for n, p in pins.items()}
        temperature = self.temperature or read_temperature(self.document.get("temperature"), self.findings)
        finished = {n: d.finish(self.volts, unknown) for n, d in self.drafts.items()}
        parts = warmed(finished, temperature, self.volts)
        sheet = Sheet(
            self.name,
            self.volts,
            self.control_map,
            parts,
            runs,
            self.plugs,
            {},
            cautions=self._lines("cautions"),
            notes=self._lines("notes"),
            unknown=tuple(unknown),
            file=file,
            text=text,
            temperature=temperature,
            bodies=tuple(self.wiring.bodies),
        )
        sheet = with_latches(self.document, sheet, self.findings)
        sheet = replace(sheet, functions=read_functions(self.document, sheet, self.findings))
        return with_driven_lamps(replace(sheet, lamps=read_lamps(self.document, sheet, self.findings)))

    def _lines(self, section: str) -> tuple[str, ...]:
        node: Node | None = self.document.get(section)
        if node is None:
            return ()
        items = scalars(node)
        if items is None:
            self.findings.add(
                section, "", "is not a list of lines", "Write one line each, with a dash.", node.line
            )
            return ()
        return tuple(i.text for i in items)


def _typed_items(document: Mapping) -> list[str]:
    """What stands in the runs, as far as it is a list or a line of things."""
    runs = document.get("runs")
    lists = [listed_things(entry) for _, entry in runs.entries] if isinstance(runs, Mapping) else []
    return [item.text for items in lists for item in items or ()]

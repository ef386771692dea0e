"""The generated parts of the sheet reference: kinds with their fields, pins, colours and messages."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from backprobe.errors import SheetError
from backprobe.sheet.anatomy import Value
from backprobe.sheet.kind import CLOSED, LEVELS, TEXT, FieldSpec, Kind
from backprobe.sheet.kinds import registry
from backprobe.sheet.kinds.controller import PIN_FIELDS
from backprobe.sheet.lexicon import COLOURS
from backprobe.sheet.reader import parse_sheet
from backprobe.sheet.values import DEFAULT_TOLERANCE
from backprobe.units import format_quantity

MADE_BY_CAVITIES = frozenset({"contact", "connector"})
"""Kinds that nobody writes: naming a cavity makes them."""

SOUND = """sheet: Short
controls: {seat: [empty, seated]}
runs:
  main: [battery+, fuse F1 5 A, seat switch, coil Y1 10 ohm, frame]
"""
MISTAKES: tuple[tuple[str, str], ...] = (
    ("sheet: Short\n", ""),
    ("controls: {seat: [empty, seated]}", "controls: {seat: empty}"),
    ("controls: {seat", "kontrols: {seat"),
    ("fuse F1 5 A", "fuse F1 5 V"),
    ("coil Y1 10 ohm", "coil Y1 10 m"),
    ("coil Y1", "Y1"),
    ("  main: [battery+, fuse F1 5 A, seat switch, coil Y1 10 ohm, frame]", "  main: battery+"),
    ("frame]\n", "frame]\nparts:\n  seat switch: {close: {seat: seated}}\n"),
    ("frame]\n", "frame]\nparts:\n  seat switch: {closed: {seat: sitting}}\n"),
    ("frame]\n", "frame]\nparts:\n  coil Y2: {ohms: 12 ohm}\n"),
    ("frame]\n", "frame]\nparts:\n  coil Y1: {ohms: {value: 10 ohm, origin: guessed}}\n"),
    ("frame]\n", "frame]\nparts:\n  coil Y1: {ohms: {value: 10 ohm, range: 11..12 ohm}}\n"),
    ("frame]\n", "frame]\nparts:\n  gadget: {volts: 5 V}\n"),
    ("frame]\n", "frame]\n  box:  [fuse F1, box.gate input]\nparts:\n  box: {kind: controller}\n"),
    ("frame]\n", "frame]\nfunctions:\n  boom: {loads: coil Y1, guard: seat seated}\n"),
    ("frame]\n", "frame]\nfunctions:\n  boom: {drives: boom output}\n"),
    ("controls: {", "system: 400 V\ncontrols: {"),
)
"""What to replace in the sound sheet, and by what, so that one thing is wrong."""


@contextmanager
def maker() -> Iterator[Callable[[str], str]]:
    """Give a function that makes one part of the page."""
    parts = {
        "kinds": kinds,
        "pins": pins,
        "colours": colours,
        "tolerances": tolerances,
        "messages": messages,
        "cavities": cavities,
    }
    yield lambda words: parts[words]()


def kinds() -> str:
    """Every kind that is written in a sheet."""
    found = registry().by_name
    return "\n\n".join(kind_text(found[name]) for name in sorted(found) if name not in MADE_BY_CAVITIES)


def cavities() -> str:
    """The kinds that naming a cavity makes."""
    found = registry().by_name
    return "\n\n".join(kind_text(found[name]) for name in sorted(MADE_BY_CAVITIES))


def kind_text(kind: Kind) -> str:
    """One kind: what it is, how a run names and passes it, and its fields."""
    lines = [f"### {kind.name}", "", kind.about]
    words = [w for w in kind.words if w != kind.name]
    if words:
        lines += ["", "Also written: " + ", ".join(f"`{w}`" for w in words) + "."]
    if kind.terminals:
        lines += ["", "Terminals: " + ", ".join(f"`{t}`" for t in kind.terminals) + ". " + passing(kind)]
    fields = [f for f in kind.fields if f.name not in {"cavities", "connector"}]
    if fields:
        lines += ["", field_table(fields)]
    return "\n".join(line.rstrip() for line in lines)


def passing(kind: Kind) -> str:
    """How a run goes through a part of this kind."""
    if not kind.passes:
        return "A run names its terminals one by one."
    ways = [
        f"`{way}` from {enter} to {leave}" if way else f"plain from {enter} to {leave}"
        for way, (enter, leave) in kind.passes.items()
    ]
    return f"A run passes it {', '.join(ways)}."


def field_table(fields: list[FieldSpec]) -> str:
    """Field, unit, default with its interval, and why that is honest."""
    lines = ["| field | takes | default | why |", "|---|---|---|---|"]
    for spec in fields:
        default = spec.default_value(12.0)
        told = default_words(default, spec) if default else "none"
        lines.append(f"| `{spec.name}` | {takes(spec)} | {told} | {spec.why or ' '} |")
    return "\n".join(lines)


def takes(spec: FieldSpec) -> str:
    """What a field is written as."""
    if spec.shape == CLOSED:
        return "control: positions"
    if spec.shape == LEVELS:
        return f"state: value [{spec.unit}]"
    if spec.shape == TEXT:
        return " or ".join(spec.choices) if spec.choices else "text"
    return f"value [{spec.unit}]"


def default_words(value: Value, spec: FieldSpec) -> str:
    """``12 ohm (4 to 40)``, and whether it follows the volts of the system."""
    number = format_quantity(value.nominal, value.unit)
    ends = f"{format_quantity(value.low, value.unit)} to {format_quantity(value.high, value.unit)}"
    grows = {
        "volts": "; in proportion to the system's volts",
        "ohms": "; by the square of the system's volts",
    }
    return f"{number} ({ends}{grows.get(spec.scales, '')})"


def pins() -> str:
    """The roles of a controller's terminals."""
    extra = {
        "input": "`bands` gives ranges of volts and what each is taken to mean.",
        "output": "`side` is high or low. `bands` gives what its volts are taken to mean while it is off.",
    }
    out: list[str] = []
    for role, fields in PIN_FIELDS.items():
        out += [f"### ... {role}", field_table(list(fields)) if fields else "No fields."]
        out += [extra[role]] if role in extra else []
    return "\n\n".join(out)


def colours() -> str:
    """The colour codes that are known."""
    return ", ".join(f"`{c}`" for c in sorted(COLOURS)) + "."


def tolerances() -> str:
    """What a value without a tolerance may be off by."""
    rows = [f"| {unit} | {100 * share:g} % |" for unit, share in DEFAULT_TOLERANCE.items()]
    return "\n".join(["| unit | taken as |", "|---|---|", *rows])


def messages() -> str:
    """What is said of common mistakes: the real messages."""
    lines = ["| written | said |", "|---|---|"]
    for old, new in MISTAKES:
        text = SOUND.replace(old, new)
        try:
            parse_sheet(text, file="short.yaml")
        except SheetError as error:
            shown = (
                " ".join((new or "no sheet:").split()).removeprefix("frame] ").removesuffix(" controls: {")
            )
            said = str(error.problems[0]).replace("|", "\\|")
            lines.append(f"| `{shown}` | {said} |")
        else:
            raise RuntimeError(f"{new!r} is no mistake")
    return "\n".join(lines)

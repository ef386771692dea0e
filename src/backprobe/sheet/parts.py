"""The parts section: a kind's declared fields, read and filled with honest defaults."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from backprobe.errors import UnitError
from backprobe.sheet.anatomy import Origin, Value
from backprobe.sheet.document import Mapping, Node, Scalar, Sequence
from backprobe.sheet.document import field as dotted
from backprobe.sheet.feeds import closed_by_load, named_words, taken_words
from backprobe.sheet.findings import Findings, nearest
from backprobe.sheet.kind import CLOSED, LEVELS, TEXT, FieldSpec, Kind
from backprobe.sheet.lexicon import HEAVY_CONTACT, SWITCH_WORDS, SwitchHabit, place_of, switch_habit
from backprobe.sheet.model import Control, Part, Pin, State
from backprobe.sheet.pins import read_pin
from backprobe.sheet.spelling import respelt
from backprobe.sheet.values import read_value, with_default_tolerance
from backprobe.sheet.warmth import read_temperature
from backprobe.units import Toleranced, parse_quantity

if TYPE_CHECKING:
    from collections.abc import Iterable
    from collections.abc import Mapping as MappingOf

COMMON_KEYS = ("kind", "minutes", "caution", "temperature")
GUARD = "guard"
"""Field of a switch that says whether it keeps people safe, whatever its name."""


@dataclass(slots=True)
class Draft:
    """A part while it is gathered from the parts section and from the runs."""

    name: str
    kind: Kind
    line: int
    values: dict[str, Value] = field(default_factory=dict)
    closed: dict[str, frozenset[str]] = field(default_factory=dict)
    levels: dict[State, Value] = field(default_factory=dict)
    texts: dict[str, str] = field(default_factory=dict)
    pins: dict[str, Pin] = field(default_factory=dict)
    minutes: float | None = None
    caution: str = ""
    implied: bool = False
    temperature: Value | None = None
    guessed: str = ""
    """The control that a switch was given although its name says none."""
    taken: str = ""
    """When a switch is taken as closed, and after what it feeds, where its name alone does not settle it."""

    def take_inline(self, found: Toleranced, findings: Findings, line: int) -> None:
        """A value written inside a run, given to the first field that has its unit."""
        unit = found.unit or "ohm"
        spec = self.kind.field_for_unit(unit)
        if spec is None:
            units = dict.fromkeys(f.unit for f in self.kind.fields if f.unit and f.shape == "value")
            takes = ", ".join(units) or "no value"
            findings.add(
                f"parts.{self.name}",
                f"{found.value:g} {unit}",
                f"does not fit a {self.kind.name}",
                f"Inside a run a {self.kind.name} takes {takes}.",
                line,
            )
            return
        self.values[spec.name] = with_default_tolerance(found, Origin("assumed", "as written in the run"))

    def finish(self, system_volts: float, unknown: list[str]) -> Part:
        """The part with defaults filled in; what matters and is only assumed goes to `unknown`."""
        given = set(self.values)
        for spec in self.kind.fields:
            default = spec.default_value(system_volts)
            if spec.name in given or default is None:
                continue
            self.values[spec.name] = default
            if spec.matters and not self.implied:
                unknown.append(f"{self.name}: {spec.matters}")
        if self.guessed and GUARD not in self.texts:
            unknown.append(guess_words(self.name, self.guessed))
        if self.taken:
            unknown.append(f"{self.name}: {self.taken}")
        if self.kind.refine is not None:
            self.kind.refine(self.values, system_volts, given)
        return Part(
            self.name,
            self.kind.name,
            self.values,
            self.closed,
            self.levels,
            self.texts,
            self.pins,
            self.minutes,
            self.caution,
            self.line,
            self.implied,
            self.temperature,
        )


def read_fields(draft: Draft, node: Mapping, controls: MappingOf[str, Control], findings: Findings) -> None:
    """Read one entry of the parts section into `draft`."""
    path = ("parts", draft.name)
    for key, entry in node.entries:
        name = key.text
        spec = draft.kind.field(name)
        if name in COMMON_KEYS:
            _read_common(draft, name, entry, findings)
        elif draft.kind.name == "controller" and spec is None:
            pin = read_pin(name, entry, (*path, name), key.line, findings)
            if pin:
                draft.pins[name] = pin
        elif spec is None:
            known = [f.name for f in draft.kind.fields] + list(COMMON_KEYS)
            findings.add(
                dotted(*path, name),
                name,
                f"is not a field of a {draft.kind.name}",
                nearest(name, known),
                key.line,
            )
        elif spec.shape == CLOSED:
            draft.closed.update(_read_closed(entry, (*path, name), controls, findings))
        elif spec.shape == LEVELS:
            draft.levels.update(_read_levels(entry, spec, (*path, name), controls, findings))
        elif spec.shape == TEXT:
            _read_text(draft, spec, entry, (*path, name), findings)
        else:
            value = read_value(entry, spec.unit, (*path, name), findings, copper=spec.copper)
            if value:
                draft.values[name] = value


def _read_common(draft: Draft, name: str, node: Node, findings: Findings) -> None:
    """What every kind of part may say, its kind aside, which is known by now."""
    path = ("parts", draft.name, name)
    if name == "minutes":
        draft.minutes = read_minutes(node, path, findings)
    elif name == "caution":
        draft.caution = node.text if isinstance(node, Scalar) else ""
    elif name == "temperature":
        draft.temperature = _read_warmth(draft, node, path, findings)


def _read_warmth(draft: Draft, node: Node, path: tuple[str, ...], findings: Findings) -> Value | None:
    """A part's own temperature [degC], where it has copper to be warm."""
    if any(f.copper for f in draft.kind.fields):
        return read_temperature(node, findings, path)
    message = f"changes nothing in a {draft.kind.name}: only copper is reckoned warm or cold"
    findings.add(dotted(*path), getattr(node, "text", ""), message, "Leave it out.", node.line)
    return None


def read_minutes(node: Node, path: tuple[str, ...], findings: Findings) -> float | None:
    """Minutes to reach something [min]."""
    if isinstance(node, Scalar):
        try:
            return parse_quantity(node.text, unit="min").value
        except UnitError as error:
            first = error.problems[0]
            findings.add(dotted(*path), node.text, first.message, "Write minutes, such as 5.", node.line)
            return None
    findings.add(dotted(*path), "", "is not a number of minutes", "Write minutes, such as 5.", node.line)
    return None


def _read_text(draft: Draft, spec: FieldSpec, node: Node, path: tuple[str, ...], findings: Findings) -> None:
    if not isinstance(node, Scalar):
        findings.add(dotted(*path), "", "is not a plain text", "Write one word.", node.line)
    elif spec.choices and node.text not in spec.choices:
        findings.add(
            dotted(*path), node.text, "is not one of the choices", nearest(node.text, spec.choices), node.line
        )
    else:
        draft.texts[spec.name] = node.text


def _read_closed(
    node: Node, path: tuple[str, ...], controls: MappingOf[str, Control], findings: Findings
) -> dict[str, frozenset[str]]:
    """``{key: [on, start]}`` or ``{gate: shut}``: control to the positions in which it is closed."""
    if not isinstance(node, Mapping):
        remedy = "Write the control and its positions, such as {gate: shut} or {key: [on, start]}."
        findings.add(
            dotted(*path),
            getattr(node, "text", ""),
            "does not name a control and positions",
            remedy,
            node.line,
        )
        return {}
    found: dict[str, frozenset[str]] = {}
    for key, entry in node.entries:
        control = controls.get(key.text)
        if control is None:
            remedy = nearest(key.text, controls) or "Declare it under `controls`."
            findings.add(dotted(*path, key.text), key.text, "is not a control", remedy, key.line)
            continue
        items = entry.items if isinstance(entry, Sequence) else (entry,)
        positions: list[str] = []
        for item in items:
            text = item.text if isinstance(item, Scalar) else ""
            if text not in control.positions:
                findings.add(
                    dotted(*path, key.text),
                    text,
                    f"is not a position of {control.name}",
                    nearest(text, control.positions),
                    item.line,
                )
            positions.append(text)
        found[key.text] = frozenset(positions)
    return found


def find_state(text: str, controls: MappingOf[str, Control]) -> State | None:
    """``gate shut`` as a state of a known control; None when it is none."""
    folded = " ".join(text.split())
    for name, control in controls.items():
        if folded.lower().startswith(name.lower() + " "):
            rest = folded[len(name) + 1 :]
            for position in control.positions:
                if position.lower() == rest.lower():
                    return State(name, position)
    return None


def _read_levels(
    node: Node,
    spec: FieldSpec,
    path: tuple[str, ...],
    controls: MappingOf[str, Control],
    findings: Findings,
) -> dict[State, Value]:
    if not isinstance(node, Mapping):
        remedy = "Write operator state and level, such as {gate shut: 63 %, gate open: 22 %}."
        findings.add(dotted(*path), getattr(node, "text", ""), "has no states", remedy, node.line)
        return {}
    found: dict[State, Value] = {}
    for key, entry in node.entries:
        state = find_state(key.text, controls)
        if state is None:
            known = [f"{c.name} {p}" for c in controls.values() for p in c.positions]
            findings.add(
                dotted(*path, key.text),
                key.text,
                "is not an operator state",
                nearest(key.text, known) or "Declare its control under `controls`.",
                key.line,
            )
            continue
        value = read_value(entry, spec.unit, (*path, key.text), findings)
        if value is None:
            continue
        if spec.unit != "%":
            if value.nominal <= 0:
                shown = f"{value.nominal:g} {spec.unit}"
                remedy = f"Write what it gives, with unit {spec.unit}."
                findings.add(dotted(*path, key.text), shown, "is not above zero", remedy, key.line)
                continue
            found[state] = value
            continue
        if not 0 <= value.nominal <= 100:
            findings.add(
                dotted(*path, key.text),
                f"{value.nominal:g} %",
                "is no share",
                "Write 0 % to 100 %.",
                key.line,
            )
            continue
        found[state] = Value(value.nominal / 100, value.low / 100, value.high / 100, "", value.origin)
    return found


def habitual_closed(
    draft: Draft, controls: dict[str, Control], findings: Findings, loads: Iterable[str] = ()
) -> None:
    """Give a switch without `closed` its usual control, declaring the control when needed.

    A name that is nearly a guard's is asked about: misspelled, it would be no guard without a word.

    Parameters
    ----------
    loads
        What the switch feeds, as it is called: a PTO switch is closed with PTO off before a starter, and with
        PTO on before the blades' clutch.
    """
    habit = switch_habit(draft.name)
    if habit.heavy:
        why = Origin("default", "heavy contact of a battery isolator; common practice, no source")
        draft.values.setdefault("contact", Value(*HEAVY_CONTACT, "ohm", why))
    if draft.closed:
        return
    # A control that the sheet calls as the switch is called goes before the usual one.
    known = controls.get(draft.name) or controls.get(habit.control) or controls.get(habit.also)
    if known is None:
        if not habit.known:
            _ask_about_name(draft, findings)
            # A button says itself that it is pressed.
            is_plain = draft.kind.name == "switch" and "button" not in draft.name.lower()
            draft.guessed = habit.control if is_plain else ""
        known = Control(habit.control, habit.positions, draft.line)
        controls[habit.control] = known
    if habit.moved and known.name == habit.control:
        _close_where_named(draft, habit, known, controls)
        return
    by_load = closed_by_load(draft.name, habit.control, loads)
    wanted = by_load.closed if by_load else habit.closed
    closed = [p for p in wanted if p in known.positions] or list(known.positions[1:])
    draft.closed[known.name] = frozenset(closed)
    if by_load is not None:
        draft.taken = taken_words(known.name, closed, by_load.load)
    elif habit.unsure:
        draft.taken = named_words(known.name, closed, guards=True)


def _close_where_named(
    draft: Draft, habit: SwitchHabit, known: Control, controls: dict[str, Control]
) -> None:
    """A lever's contact closes where its name says; a position that the control lacks is a further one."""
    closed = [place_of(word, known.positions) or word for word in habit.closed]
    new = tuple(p for p in dict.fromkeys(closed) if p not in known.positions)
    if new:
        controls[known.name] = Control(known.name, (*known.positions, *new), known.line)
    draft.closed[known.name] = frozenset(closed)
    if habit.unsure:
        draft.taken = named_words(known.name, dict.fromkeys(closed), guards=False)


def _ask_about_name(draft: Draft, findings: Findings) -> None:
    kind_words = {w for phrase in (draft.kind.name, *draft.kind.words) for w in phrase.split()}
    meant = respelt(draft.name, SWITCH_WORDS | kind_words)
    if meant:
        remedy = f"Did you mean '{meant}'? If not, say under `parts` when it is closed."
        findings.add(f"parts.{draft.name}", draft.name, "is no switch that is known", remedy, draft.line)


def guess_words(name: str, control: str) -> str:
    """What a switch of an unknown name is taken for, as a question."""
    return f"{name}: taken as closed with {control} pressed, and no guard. When is it closed, does it guard?"

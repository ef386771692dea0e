"""Runs: from the words in a list to parts entered and left, with what is implied between them.

Between two things that are not conductors themselves there is a wire, whether it was
drawn or not; where a part meets the frame there is a lug; and a battery whose return is
not drawn has a strap. Most faults are in exactly these, so they are made explicit.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from itertools import count

from backprobe.errors import UnitError
from backprobe.sheet.battery_typed import post_of, take_volts
from backprobe.sheet.bodies import FRAME, find_bodies
from backprobe.sheet.document import Scalar
from backprobe.sheet.feeds import fed_by
from backprobe.sheet.findings import Findings, nearest
from backprobe.sheet.implied import Implied
from backprobe.sheet.kind import Registry
from backprobe.sheet.kinds.alternator import stand_alone
from backprobe.sheet.lexicon import DESIGNATION
from backprobe.sheet.meant import meant_by
from backprobe.sheet.model import Connector, Control, Item, Run
from backprobe.sheet.parts import Draft, habitual_closed
from backprobe.sheet.pins import default_pin, role_of_pin
from backprobe.sheet.posts import BATTERY
from backprobe.sheet.run_text import POSTS, ItemText, read_item, value_problem

OFTEN_ALONE = frozenset({"controller", "alternator"})
NAME_ITS_KIND = "Say what it is, such as fuse F2, coil Y1 or gate switch, or declare it under `parts`."
VALUE_ALONE = "Write it behind its part, with a decimal point: a comma begins the next thing."


@dataclass(slots=True)
class Written:
    """One item of one run as written, and what it turned out to be."""

    run: str
    text: ItemText
    line: int
    part: str = ""
    terminal: str = ""
    first: bool = False
    last: bool = False
    branch: bool = False


FAR = 1_000_000
"""More items than a run can have."""


@dataclass(slots=True)
class Wiring:
    """Everything gathered while the runs are read."""

    registry: Registry
    findings: Findings
    drafts: dict[str, Draft]
    controls: dict[str, Control]
    connectors: dict[str, Connector]
    system_volts: float
    aliases: dict[str, str] = field(default_factory=dict)
    declared: frozenset[str] = frozenset()
    """Parts that the parts section declares: a bare kind word in a run means that one."""
    runs: dict[str, list[Written]] = field(default_factory=dict)
    bodies: list[str] = field(default_factory=list)
    """Metal bodies beside the frame: declared, or brought along by a strap at the end of a run."""

    # --- names ----------------------------------------------------------------------

    def learn(self, name: str) -> None:
        """Remember the ways a part may be called."""
        self.aliases[name.lower()] = name
        last = name.rsplit(maxsplit=1)[-1]
        draft = self.drafts[name]
        between = draft.kind.name == "wire" and " to " in name
        if DESIGNATION.match(last) and not between and not draft.implied:
            self.aliases.setdefault(last.lower(), name)

    def known(self, name: str) -> str | None:
        """The full name of a part called `name`, if there is one."""
        return self.aliases.get(" ".join(name.split()).lower())

    # --- reading --------------------------------------------------------------------

    def add_run(self, name: str, items: list[Scalar]) -> None:
        """Read the words of one run; parts named with their kind are created."""
        written: list[Written] = []
        for position, item in enumerate(items):
            where = f"runs.{name}.item {position + 1}"
            try:
                text = read_item(item.text, self.registry)
            except UnitError as error:
                self.findings.problems.append(
                    value_problem(where, error, file=self.findings.file, line=item.line)
                )
                continue
            entry = Written(name, text, item.line, first=position == 0, last=position == len(items) - 1)
            written.append(entry)
        for i, entry in enumerate(written):
            if entry.text.shape == "thing" and entry.text.kind is not None and not self._is_way(entry.text):
                near = [written[k].text.name if 0 <= k < len(written) else "" for k in (i - 1, i + 1)]
                self._claim(entry, near)
                if entry.part == BATTERY:
                    entry.terminal = post_of(i, [other.text for other in written])
            elif entry.text.values and entry.text.shape == "post":
                take_volts(self.drafts[BATTERY], entry.text, self.system_volts, self.findings, entry.line)
        self.runs[name] = written

    def _is_way(self, text: ItemText) -> bool:
        """Whether ``PTO contact`` is no switch's, but of a relay that the parts section calls PTO."""
        owner = self.known(text.name.lower().removesuffix(" contact")) or ""
        return owner.lower() not in {"", text.name.lower()} and "contact" in self.drafts[owner].kind.passes

    def _claim(self, entry: Written, near: list[str]) -> None:
        text = entry.text
        assert text.kind is not None
        name = self.known(text.name) or text.name
        if text.kind.name == "wire" and not DESIGNATION.match(text.name.split()[-1]):
            # A wire without a designation is called by its ends, and is never shared.
            name = self._free(" to ".join(["wire " + near[0], near[1]]) if all(near) else text.name)
        elif text.name.lower() in self.registry.by_word and text.name not in self.declared:
            name = self._free(text.name)
        if name not in self.drafts:
            self.drafts[name] = Draft(name, text.kind, entry.line)
            self.learn(name)
        draft = self.drafts[name]
        take_volts(draft, text, self.system_volts, self.findings, entry.line)
        if text.colour and "colour" in {f.name for f in draft.kind.fields}:
            draft.texts["colour"] = text.colour
        entry.part = name

    def _free(self, name: str) -> str:
        names = (name if number == 1 else f"{name} {number}" for number in count(1))
        return next(free for free in names if free not in self.drafts)

    def resolve(self) -> None:
        """Look up what was named without a kind: bodies, declared parts, and terminals of parts."""
        find_bodies(self)
        for entries in self.runs.values():
            for entry in entries:
                text = entry.text
                if text.shape != "thing" or entry.part:
                    continue
                self._look_up(entry)
        for draft in self.drafts.values():
            if draft.kind.operated:
                habitual_closed(draft, self.controls, self.findings, fed_by(draft.name, self))

    def _look_up(self, entry: Written) -> None:
        name = entry.text.name
        whole = self.known(name)
        if whole:
            entry.part = whole
            for value in entry.text.values:
                self.drafts[whole].take_inline(value, self.findings, entry.line)
            return
        head, dot, tail = name.partition(".")
        owner = self.known(head)
        bare_kind = self.registry.by_name.get(head.strip().lower())
        if dot and owner is None and bare_kind is not None and bare_kind.name in OFTEN_ALONE:
            # One of its kind on the machine: its terminals may be named without declaring it.
            owner = bare_kind.name
            self.drafts[owner] = Draft(owner, bare_kind, entry.line)
            self.learn(owner)
        if dot and owner is None:
            owner = self._named_with_kind(head, entry)
        if dot and owner:
            self._terminal(entry, owner, " ".join(tail.split()))
            return
        for way in ("contact", "resting contact", "coil", "wiper", "to wiper", "reversed"):
            if name.lower().endswith(" " + way):
                owner = self.known(name[: -len(way)])
                if owner and way in self.drafts[owner].kind.passes:
                    entry.part = owner
                    entry.text = replace(entry.text, passing=way)
                    return
        self._refuse_name(name, head, entry)

    def _refuse_name(self, name: str, head: str, entry: Written) -> None:
        """Say that a name is unknown, and what was most likely meant by it."""
        where = f"runs.{entry.run}"
        if not name:
            self.findings.add(where, entry.text.text, "is a value without a part", VALUE_ALONE, entry.line)
            return
        parts = [*self.drafts, *(d.split()[-1] for d in self.drafts), *self.bodies]
        meant = meant_by(name, parts, self.registry)
        remedy = f"Did you mean '{meant}'?" if meant else NAME_ITS_KIND
        if not meant and (close := nearest(head.strip(), [*parts, *POSTS])).startswith("Did"):
            remedy = close
        self.findings.add(where, name, "is neither a point nor a known part", remedy, entry.line)

    def _named_with_kind(self, head: str, entry: Written) -> str | None:
        """``ratiometric sensor gate sensor.supply`` makes the part, called by what is left: gate sensor."""
        try:
            text = read_item(head, self.registry)
        except UnitError:
            return None
        if text.kind is None or text.kind.passes or text.name.lower() in self.registry.by_word:
            return None
        rest = text.name
        for word in sorted((text.kind.name, *text.kind.words), key=len, reverse=True):
            if rest.lower().startswith(word + " "):
                rest = rest[len(word) + 1 :]
                break
        self.drafts.setdefault(rest, Draft(rest, text.kind, entry.line))
        self.learn(rest)
        return rest

    def _terminal(self, entry: Written, owner: str, terminal: str) -> None:
        draft = self.drafts[owner]
        if draft.kind.name == "controller":
            if terminal not in draft.pins:
                if not role_of_pin(terminal):
                    self.findings.add(
                        f"runs.{entry.run}",
                        entry.text.name,
                        "is a controller terminal without a role",
                        "End its name in battery, ground, feed, input or output.",
                        entry.line,
                    )
                    return
                draft.pins[terminal] = default_pin(terminal, self.system_volts, entry.line)
        elif terminal not in draft.kind.terminals:
            self.findings.add(
                f"runs.{entry.run}",
                entry.text.name,
                f"is not a terminal of a {draft.kind.name}",
                nearest(terminal, draft.kind.terminals),
                entry.line,
            )
            return
        entry.part, entry.terminal = owner, terminal

    # --- connectors and branches ------------------------------------------------------

    def mark_branches(self) -> None:
        """A part that ends one run and is passed by another is a point there, not a second passage."""
        passed = Counter(
            e.part
            for entries in self.runs.values()
            for e in entries
            if e.part and not e.terminal and not (e.first or e.last)
        )
        for entries in self.runs.values():
            for entry in entries:
                ends = (entry.first or entry.last) and not (entry.terminal or entry.text.passing)
                if ends and passed[entry.part]:
                    entry.branch = True

    # --- items --------------------------------------------------------------------------

    def finished_runs(self) -> dict[str, Run]:
        """All runs as items, with implied wires, lugs and the battery's return made explicit."""
        self._forms = {
            name: [self._item(e, entries, i) for i, e in enumerate(entries)]
            for name, entries in self.runs.items()
        }
        orient = self._orientation()
        implied = Implied(self.registry, self.drafts, self.connectors, self._free, self.learn, self.bodies)
        done: dict[str, Run] = {}
        for name, entries in self.runs.items():
            items: list[Item] = []
            previous: Item | None = None
            for entry, maybe in zip(entries, self._forms[name], strict=True):
                if maybe is None:
                    continue
                item = orient.get(id(entry), maybe)
                through = self._through(previous, item, entry) if previous is not None else None
                if through is not None:
                    items[-1] = previous = through
                    continue
                if previous is not None:
                    items.extend(implied.between(previous, item, entry.line))
                items.append(item)
                previous = item
            done[name] = Run(name, tuple(items), entries[0].line if entries else 0)
        implied.returns(done)
        if BATTERY not in self.drafts:
            for draft in self.drafts.values():
                if draft.kind.name == "alternator":
                    stand_alone(draft.values, self.system_volts)
        return done

    def _through(self, one: Item, other: Item, entry: Written) -> Item | None:
        """Two terminals of one part side by side are a passage through it: `K1.30 > K1.87` is its contact."""
        if one.part != other.part or not {one.role, other.role} <= {"point"} or one.part not in self.drafts:
            return None
        kind = self.drafts[one.part].kind
        if kind.name in {"controller", "battery"} or one.enter == other.enter:
            return None
        ends = (one.leave.rpartition(".")[2], other.enter.rpartition(".")[2])
        if ends in kind.passes.values() or ends[::-1] in kind.passes.values():
            return Item(f"{one.text} > {other.text}", one.part, one.leave, other.enter, "part")
        ways = ", ".join(f"{a} to {b}" for a, b in kind.passes.values()) or "none: name each wire's run apart"
        self.findings.add(
            f"runs.{entry.run}",
            f"{one.text} > {other.text}",
            f"is no way through a {kind.name}",
            f"Ways through it: {ways}.",
            entry.line,
        )
        return other

    def _item(self, entry: Written, entries: list[Written], i: int) -> Item | None:
        text = entry.text
        if text.shape == "post":
            node = POSTS.get(text.name, text.name)
            return Item(text.text, node.partition(".")[0], node, node, "point")
        if text.shape == "cavity":
            return self._cavity(entry, entries, i)
        if not entry.part:
            return None
        draft = self.drafts[entry.part]
        if entry.terminal:
            node = f"{entry.part}.{entry.terminal}"
            return Item(text.text, entry.part, node, node, "point")
        ends = draft.kind.passes.get(text.passing) or draft.kind.passes.get("")
        if ends is None:
            named = (
                ", ".join(f"{entry.part}.{t}" for t in draft.kind.terminals[:3]) or f"{entry.part}.gate input"
            )
            self.findings.add(
                f"runs.{entry.run}",
                text.text,
                f"has more than two ends: a run cannot pass a {draft.kind.name}",
                f"Name the terminal: {named}.",
                entry.line,
            )
            return None
        enter, leave = (f"{entry.part}.{t}" for t in ends)
        metal = i > 0 and entries[i - 1].text.name in {FRAME, *self.bodies}
        if draft.kind.name == "ring" and not text.passing and metal:
            enter, leave = leave, enter
        if entry.branch:
            node = leave if entry.first else enter
            return Item(text.text, entry.part, node, node, "point")
        return Item(text.text, entry.part, enter, leave, "part")

    def _cavity(self, entry: Written, entries: list[Written], i: int) -> Item:
        cavity = entry.text.name
        plug = cavity.rpartition("-")[0]
        if cavity not in self.drafts:
            draft = Draft(cavity, self.registry.by_name["contact"], entry.line, implied=True)
            draft.texts["connector"] = plug
            self.drafts[cavity] = draft
        part = self.connectors[plug].part
        before = self._steps(part, plug, entries[i - 1 :: -1] if i else [])
        after = self._steps(part, plug, entries[i + 1 :])
        # A run that starts at a cavity goes on in the harness where another run has its part behind it.
        outward = before < after or (entry.first and after == FAR and self._sits_on(cavity, part))
        ends = ("part", "wire") if part and outward else ("wire", "part")
        enter, leave = (f"{cavity}.{t}" for t in ends)
        return Item(entry.text.text, cavity, enter, leave, "cavity")

    def _steps(self, part: str, plug: str, entries: list[Written]) -> int:
        """How many items along a run the plug's own part is met; `FAR` when the plug is met before it."""
        for k, entry in enumerate(entries):
            if part and entry.part == part:
                return k
            if entry.text.shape == "cavity" and entry.text.name.rpartition("-")[0] == plug:
                break
        return FAR

    def _sits_on(self, cavity: str, part: str) -> bool:
        """Whether some run has this cavity right beside the plug's own part."""
        return any(
            entry.text.shape == "cavity" and entry.text.name == cavity and part in {e.part for e in near}
            for entries in self.runs.values()
            for i, entry in enumerate(entries)
            for near in [entries[max(0, i - 1) : i] + entries[i + 1 : i + 2]]
        )

    def _orientation(self) -> dict[int, Item]:
        """Cavities named a second time, as points on the side where their other run has them."""
        main = {
            item.part: item
            for name, entries in self.runs.items()
            for entry, item in zip(entries, self._forms[name], strict=True)
            if item and item.role == "cavity" and not entry.branch
        }
        found: dict[int, Item] = {}
        for name, entries in self.runs.items():
            for i, (entry, item) in enumerate(zip(entries, self._forms[name], strict=True)):
                if not (item and item.role == "cavity" and entry.branch and item.part in main):
                    continue
                end = main[item.part].leave if entry.first else main[item.part].enter
                beside = entries[i + 1 if entry.first else i - 1].part
                if beside and beside == self.connectors[item.part.rpartition("-")[0]].part:
                    # The plug's own part sits behind the pin, whichever way its run is written.
                    end = f"{item.part}.part"
                found[id(entry)] = replace(item, enter=end, leave=end, role="point")
        return found

    _forms: dict[str, list[Item | None]] = field(default_factory=dict)

"""Trials in plain words: the verdict, why, what happens state by state, and what to mind."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.circuit.setup import Setup
from backprobe.report.layout import FIRST, count, joined, listed, percent, quantity, wrap
from backprobe.sheet.model import Sheet
from backprobe.workbench.all_joins import AllJoins, Join
from backprobe.workbench.trial_effects import Bearing
from backprobe.workbench.trial_values import AsCheck, Effect, Meaning, Trial
from backprobe.workbench.verdict import DEFEATS, RANK

SHOWN = 5
"""Things with the heaviest load that are listed for a state."""
WORTH = 1e-3
"""Share of its limit from which a thing is listed [1]."""
NAMED = 8


def trial_text(trial: Trial) -> str:
    """A whole trial for a terminal of 80 columns."""
    head = wrap(trial.sheet.name) + wrap(f"proposed: {trial.claim}")
    if len(trial.meanings) == 1:
        return joined(head, *_whole(trial.meanings[0], trial.sheet), wrap(FIRST))
    head += wrap(f"This may mean {count(len(trial.meanings), 'thing')}; at worst: {trial.verdict}.")
    rows = [line for m in trial.meanings for line in _row(m)]
    cautions = list(dict.fromkeys(c for m in trial.meanings for c in m.cautions))
    said = [line for c in cautions[:NAMED] for line in wrap(c, "! ")]
    return joined(head, rows, said, wrap("Say which one is meant to see it state by state."), wrap(FIRST))


def _row(meaning: Meaning) -> list[str]:
    lines = wrap(f"{meaning.verdict.upper()}: {meaning.cure.words}", "- ")
    return lines + wrap("; ".join(meaning.reasons[:2]), "    ") + _cures(meaning, "    ")


def _whole(meaning: Meaning, sheet: Sheet) -> list[list[str]]:
    head = wrap(f"{meaning.cure.words}: {meaning.verdict.upper()}")
    head += [line for r in meaning.reasons for line in wrap(r, "- ")]
    head += _cures(meaning, "")
    cautions = [line for c in meaning.cautions for line in wrap(c, "! ")]
    states = [line for group in alike(meaning.effects) for line in _state(group, sheet)]
    suspects = [
        line
        for s in meaning.suspects
        if s.verdict in RANK[1:] or s.cures
        for line in wrap(f"{s.name} ({percent(s.probability)}): {s.verdict}; {'; '.join(s.reasons)}", "- ")
    ]
    told = [["If this is what is wrong", *suspects[:40]]] if suspects else []
    return [head, cautions, ["State by state, nothing else being wrong", *states] if states else [], *told]


def _cures(meaning: Meaning, indent: str) -> list[str]:
    good = [s for s in meaning.suspects if s.cures and s.verdict != DEFEATS]
    if not good or meaning.verdict == DEFEATS:
        return []
    names = [f"{s.name}, {percent(s.probability)}" for s in good[:NAMED]]
    more = f" and {len(good) - NAMED} more" if len(good) > NAMED else ""
    verb = "cures it" if meaning.cure.mends else "makes it work"
    return wrap(f"{verb} if {listed(names, 'or')}{more}; together {percent(meaning.cure_chance)}", indent)


def alike(effects: Sequence[Effect]) -> list[list[Effect]]:
    """Effects that read alike, together."""
    groups: dict[tuple[object, ...], list[Effect]] = {}
    for e in effects:
        key = (e.verdict, e.reasons, e.lamps, e.codes, e.released, e.limiting, e.damaged, e.fuses, e.judged)
        groups.setdefault(key, []).append(e)
    return list(groups.values())


def _state(group: list[Effect], sheet: Sheet) -> list[str]:
    first = group[0]
    where = "; or ".join(merged_states([e.state for e in group], sheet))
    left = "" if first.judged else " (if left in place)"
    lines = wrap(f"{where}{left}: {first.verdict}", "- ")
    seen = [f"{listed(first.released)} released" if first.released else "nothing released"]
    seen += [f"{lamp} {shows}" for lamp, shows in first.lamps]
    seen += [f"code: {listed(first.codes)}" if first.codes else "no code"]
    lines += wrap("; ".join(seen), "    ")
    if first.reasons:
        lines += wrap("; ".join(first.reasons), "    ")
    heavy = max(group, key=lambda e: e.bearings[0].share if e.bearings else 0.0)
    carried = [_bearing(b) for b in heavy.bearings[:SHOWN] if b.share > WORTH]
    return lines + (wrap(f"most loaded: {'; '.join(carried)}", "    ") if carried else [])


def _bearing(b: Bearing) -> str:
    if b.amps is None:
        return f"{b.name} {quantity(b.value, b.unit)} of {quantity(b.limit, b.unit)}"
    watts = f", {quantity(b.watts, 'W')}" if b.watts is not None and b.unit != "W" else ""
    other = f", {quantity(b.amps, 'A')}" if b.unit == "W" else watts
    return f"{b.name} {quantity(b.value, b.unit)} of {quantity(b.limit, b.unit)}{other}"


def merged_states(states: Sequence[Setup], sheet: Sheet) -> list[str]:
    """States in as few words as they need: a control in all its positions is not named."""
    boxes = [{c: frozenset({p}) for c, p in s.state} for s in states]
    merging = True
    while merging:
        merging = False
        for i, one in enumerate(boxes):
            for other in boxes[i + 1 :]:
                apart = [c for c in one if one[c] != other[c]]
                if len(apart) == 1:
                    one[apart[0]] |= other[apart[0]]
                    boxes.remove(other)
                    merging = True
                    break
            if merging:
                break
    found = []
    for box in boxes:
        words = [
            f"{name} {listed([p for p in control.positions if p in box[name]], 'or')}"
            for name, control in sheet.controls.items()
            if name in box and box[name] != frozenset(control.positions)
        ]
        found.append(", ".join(words) or "in every operator state")
    return found


def all_joins_text(found: AllJoins) -> str:
    """Every join of a plug as a table."""
    on = "unplugged, in its machine side" if found.unplugged else "plugged"
    head = wrap(found.sheet.name) + wrap(
        f"{found.plug} {on}: {count(len(found.joins), 'way')} to join its cavities, tried on a sound machine "
        f"and under {count(found.faults, 'fault')} in {count(found.states, 'operator state')}: "
        f"{found.trials:,} circuits"
    )
    blocks = []
    for verdict in reversed(RANK):
        own = [j for j in found.joins if j.sound == verdict]
        if own:
            title = f"{verdict.upper()}, nothing else being wrong: {len(own)}"
            blocks.append([title, *(line for j in own for line in _join(j))])
    tail = wrap(
        "None of these is a repair: a lasting join of guard cavities is refused, whatever it does, since it "
        "takes from the controller what tells it where people are."
    )
    return joined(head, *blocks, tail, wrap(FIRST))


def _join(join: Join) -> list[str]:
    words = join.meaning.cure.words
    with_faults = [
        f"{v} with {count(n, 'fault')}" for v, n in join.faults if v in RANK[2:] and v != join.sound
    ]
    lines = wrap("; ".join([words, *join.meaning.reasons[:1], *with_faults]), "- ")
    if join.defeats_with:
        more = len(join.defeats_with) - 3
        rest = f" and {more} more" if more > 0 else ""
        lines += wrap(f"! {DEFEATS} with {listed(join.defeats_with[:3])}{rest}", "    ")
    current = [s for s in join.meaning.suspects if s.verdict in RANK[2:]]
    if current:
        told = [f"{s.name}, {percent(s.probability)}: {s.verdict}" for s in current[:3]]
        lines += wrap(f"under the suspects: {'; '.join(told)}", "    ")
    return lines


def check_text(check: AsCheck) -> str:
    """What was put on the record."""
    lines = wrap(f"On the record as a check: {check.claim}: {check.shown}")
    return "\n".join([*lines, *wrap(check.safe_set_up, "! "), *wrap(check.put_back, "! ")])

"""Trials in plain words: the verdict, why, what happens state by state, and what to mind."""

from __future__ import annotations

import re
from collections.abc import Sequence

from backprobe.circuit.setup import Setup
from backprobe.report.layout import FIRST, count, joined, listed, percent, quantity, wrap
from backprobe.sheet.model import Sheet
from backprobe.workbench.all_joins import AllJoins, Join
from backprobe.workbench.trial_builds import DEPENDS
from backprobe.workbench.trial_effects import Bearing
from backprobe.workbench.trial_values import AsCheck, Effect, Meaning, Trial
from backprobe.workbench.verdict import DAMAGES, DEFEATS, NO_EFFECT, RANK, SOUND_REPAIR, SOUND_TEST, VERDICTS

SHOWN = 3
"""Things with the heaviest load that are listed for a state."""
WORTH = 1e-3
"""Share of its limit from which a thing is listed [1]."""
HEAVY = 0.1
"""The same in the text for a terminal; of volts only what is too much is told [1]."""
NAMED = 8
EACH = 4
"""Meanings or suspects of one kind that are named."""
REFUSED = "Refused as a repair"
WHICH = "Say which one is meant to see it state by state."
INSTEAD = "Better not to touch the guard. "
"""What stands before the measurement that is made in place of a bridge."""
EVERYWHERE = "in every operator state"
LOST_WITH, LOST_EVERYWHERE = "The guard is lost with {chain}.", f"The guard is lost {EVERYWHERE}."
"""All that is told of what a refused cure does."""
REASONS = 5
ALLOWED = {SOUND_REPAIR: "ALLOWED", SOUND_TEST: "ALLOWED AS A TEST"}
_SEEN = re.compile(r"^sets |: burns$|may be damaged$")


def trial_text(trial: Trial) -> str:
    """A whole trial for a terminal of 80 columns: the verdict first."""
    head = wrap(trial.sheet.name) + wrap(f"proposed: {trial.claim}")
    if len(trial.meanings) == 1:
        return joined(head, *_whole(trial.meanings[0], trial.sheet), wrap(FIRST))
    worst = ALLOWED.get(trial.verdict, trial.verdict).lower()
    least = "at worst" if trial.verdict in RANK[1:] else "at least"
    head += wrap(f"This may mean {count(len(trial.meanings), 'thing')}; {least}: {worst}.")
    groups = grouped(trial.meanings)
    rows = [line for own in groups for line in _row(own, len(trial.meanings))]
    said = [line for c in together(trial.meanings)[:NAMED] for line in wrap(c, "! ")]
    instead = dict.fromkeys(m.instead for m in trial.meanings if m.instead and m.verdict == DEFEATS)
    said += wrap(f"{INSTEAD}{next(iter(instead))}") if instead else []
    whole = [] if all(m.refused for m in trial.meanings) else wrap(WHICH)
    return joined(head, rows, said, whole, wrap(FIRST))


def verdict_words(meaning: Meaning) -> str:
    """The verdict in capitals; what stops a function and does no more is no cure, yet not without effect.

    What is allowed is called so, and no more than that: whether it is the cure its chance says.
    """
    if meaning.verdict in ALLOWED:
        return ALLOWED[meaning.verdict]
    changes = meaning.verdict == NO_EFFECT and meaning.reasons[:1] and meaning.reasons[0].startswith("stops ")
    return "NO CURE" if changes else meaning.verdict.upper()


def together(meanings: Sequence[Meaning]) -> list[str]:
    """Cautions of several meanings, each once: what is refused for one reason is named together."""
    refused = [m for m in meanings if m.made_up and any(c.startswith(REFUSED) for c in m.cautions)]
    rest = [c for m in meanings for c in m.cautions if not (m.made_up and c.startswith(REFUSED))]
    if not refused:
        return list(dict.fromkeys(rest))
    first = next(c for c in refused[0].cautions if c.startswith(REFUSED))
    told = list(refused[0].made_up[:4])
    others = list(dict.fromkeys(p for m in refused for p in m.made_up[:4] if p not in told))
    same = [f"The same goes for {listed(others)}."] if others else []
    return [" ".join([first, *same]), *dict.fromkeys(rest)]


def grouped(meanings: Sequence[Meaning]) -> list[list[Meaning]]:
    """Meanings that come to the same, together, the worst first."""
    groups: dict[tuple[object, ...], list[Meaning]] = {}
    for m in meanings:
        cured = tuple(s.name for s in m.cures)
        groups.setdefault((m.verdict, m.reasons[:2], cured), []).append(m)
    return sorted(groups.values(), key=lambda own: VERDICTS.index(own[0].verdict))


def _row(own: list[Meaning], of: int) -> list[str]:
    words = [m.cure.words for m in own[:EACH]]
    more = [f"and {len(own) - EACH} more"] if len(own) > EACH else []
    share = f" (all {of})" if len(own) == of else f" ({len(own)} of {of})" if len(own) > 1 else ""
    lines = wrap(f"{verdict_words(own[0])}{share}: {'; '.join([*words, *more])}", "- ")
    return lines + wrap("; ".join(_told(own[0].reasons)), "    ") + _cures(own[0], "    ")


def _told(reasons: Sequence[str]) -> list[str]:
    """The first two reasons, and what hangs on the build."""
    return [*reasons[:2], *(r for r in reasons[2:] if r.startswith(DEPENDS))]


def _whole(meaning: Meaning, sheet: Sheet) -> list[list[str]]:
    head = wrap(f"{verdict_words(meaning)}: {meaning.cure.words}")
    told, rest = meaning.reasons[:REASONS], meaning.reasons[REASONS:]
    last = [r for r in rest if r.startswith(DEPENDS)]
    more = len(rest) - len(last)
    told = (*told, *([f"and {more} more"] if more else []), *last)
    head += [line for r in told for line in wrap(r, "- ")]
    head += _cures(meaning, "")
    cautions = [line for c in meaning.cautions for line in wrap(c, "! ")]
    cautions += wrap(f"{INSTEAD}{meaning.instead}") if meaning.instead else []
    if meaning.refused:
        # What it does state by state would read as a recipe under a ban.
        return [head, cautions, wrap(lost_words(meaning, sheet))]
    return [head, cautions, _states(meaning, sheet), _suspects(meaning)]


def lost_words(meaning: Meaning, sheet: Sheet) -> str:
    """In which operator states a cure takes the guard away; empty where it does in none."""
    states = [e.state for e in meaning.effects if e.verdict == DEFEATS and e.judged]
    states = states or [e.state for e in meaning.effects if e.verdict == DEFEATS]
    where = merged_states(states, sheet) if states else []
    if not where:
        return ""
    said = LOST_EVERYWHERE if where == [EVERYWHERE] else LOST_WITH.format(chain="; ".join(where))
    return f"On the build with {meaning.builds[0].build}: {said}" if meaning.builds else said


def _states(meaning: Meaning, sheet: Sheet) -> list[str]:
    """What happens state by state, the worst first and the many states in which nothing happens last."""
    if all(unchanged(e) for e in meaning.effects):
        return []
    changed, still = [e for e in meaning.effects if not unchanged(e)], any(map(unchanged, meaning.effects))
    groups = alike(changed)
    groups.sort(key=lambda g: (not g[0].judged, VERDICTS.index(g[0].verdict), not g[0].reasons, len(g)))
    on = f"on the build with {meaning.builds[0].build}, " if meaning.builds else ""
    known = frozenset(meaning.reasons)
    lines = []
    for g in groups:
        places = merged_states([e.state for e in g], sheet)
        rest = not still and g is groups[-1] and len(groups) > 1 and len(places) > 1
        lines += _state(g, "in every other operator state" if rest else "; or ".join(places), known)
    if still:
        lines.append("- in every other operator state: nothing changes" if groups else "- nothing changes")
    return [f"State by state, {on}nothing else being wrong", *lines]


def unchanged(effect: Effect) -> bool:
    """Whether nothing happens in an operator state that did not happen before."""
    return effect.verdict not in RANK[1:] and not effect.reasons


def _suspects(meaning: Meaning) -> list[str]:
    """Suspects under which it is worse than on a sound machine, those with the same reason together."""
    groups: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for s in meaning.suspects:
        if s.verdict in RANK[1:] and s.verdict != meaning.verdict:
            groups.setdefault((s.verdict, s.reasons), []).append(f"{s.name} ({percent(s.probability)})")
    lines = []
    for (verdict, reasons), names in groups.items():
        more = [f"{len(names) - EACH} more"] if len(names) > EACH else []
        told = listed([*names[:EACH], *more], "or")
        lines += wrap(f"{verdict} if it is {told}: {'; '.join(reasons)}", "- ")
    return ["Otherwise with some suspects", *lines] if lines else []


def _cures(meaning: Meaning, indent: str) -> list[str]:
    good = meaning.cures
    if not good:
        return []
    names = [f"{s.name} ({percent(s.probability)})" for s in good[:NAMED]]
    more = [f"{len(good) - NAMED} more"] if len(good) > NAMED else []
    verb = "cures it" if meaning.cure.mends else "makes it work"
    both = f"; together {percent(meaning.cure_chance)}" if len(good) > 1 else ""
    return wrap(f"{verb} if it is {listed([*names, *more], 'or')}{both}", indent)


def alike(effects: Sequence[Effect]) -> list[list[Effect]]:
    """Effects that read alike, together."""
    groups: dict[tuple[object, ...], list[Effect]] = {}
    for e in effects:
        key = (e.verdict, e.reasons, e.lamps, e.codes, e.released, e.limiting, e.damaged, e.fuses, e.judged)
        groups.setdefault(key, []).append(e)
    return list(groups.values())


def _state(group: list[Effect], where: str, known: frozenset[str]) -> list[str]:
    """What happens in some operator states; reasons that were `known` before are not told again."""
    first = group[0]
    left = "" if first.judged else " (if left in place)"
    mild = first.verdict not in RANK[1:] and first.reasons
    lines = wrap(f"{where}{left}: {'; '.join(first.reasons) if mild else first.verdict}", "- ")
    codes = [c for c in first.codes if not any(c.startswith(f"{lamp} ") for lamp, _ in first.lamps)]
    seen = [f"{listed(first.released)} can run" if first.released else "nothing can run"]
    seen += [f"{lamp} {shows}" for lamp, shows in first.lamps]
    seen += [listed(codes)] if codes else [] if first.codes else ["no code"]
    # What burns is in the line of loads, and codes are there already.
    new = [r for r in first.reasons if not (mild or r in known or _SEEN.search(r))]
    lines += wrap("; ".join([*seen, *new]), "    ")
    heavy = max(group, key=lambda e: e.bearings[0].share if e.bearings else 0.0)
    carried = [_bearing(b) for b in heavy.bearings if b.share > (1 if b.unit == "V" else HEAVY)][:SHOWN]
    told = carried if first.verdict == DAMAGES else []
    return lines + (wrap(f"most loaded: {'; '.join(told)}", "    ") if told else [])


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
        found.append(", ".join(words) or EVERYWHERE)
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
        "takes away what tells where people are."
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

"""Run the field cases through the public API: one line each, and a last line that counts them.

A case is one YAML file beside this one. It passes when the expected (or an accepted) suspect
leads, nothing listed as not proven has more than a tenth of the leader's probability, and a
best next check is among the first three. Where the honest answer is that nothing is faulty, *behaves
as built* must have more belief than any suspect. Each case writes its arithmetic out.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path

import backprobe as bp
from backprobe.diagnosis.answer import Answer
from backprobe.report.words import answer_text
from backprobe.sheet.document import Mapping, Scalar, Sequence, read_document

HERE = Path(__file__).parent
TENTH = 0.1
AS_BUILT = "behaves as built"
FIRST = 3


@dataclass(frozen=True, slots=True)
class Case:
    """One field case as data; every list holds patterns with `*`."""

    name: str
    title: str
    sheet: str
    readings: str
    circumstances: tuple[str, ...]
    expected: tuple[str, ...]
    accept: tuple[str, ...]
    not_proven: tuple[str, ...]
    best_next: tuple[str, ...]
    worn: tuple[str, ...]
    one_group: tuple[str, ...]
    again: tuple[str, ...]
    says: tuple[str, ...]


def load_case(path: Path) -> Case:
    """Read a case file."""
    node = read_document(path.read_text(encoding="utf-8"), file=path.name)
    return Case(
        _text(node, "case"),
        _text(node, "title"),
        _text(node, "sheet"),
        _text(node, "readings"),
        _list(node, "circumstances"),
        _list(node, "expected"),
        _list(node, "accept"),
        _list(node, "not proven"),
        _list(node, "best next"),
        _list(node, "worn"),
        _list(node, "one group"),
        _list(node, "take again"),
        _list(node, "says"),
    )


def _text(node: Mapping, key: str) -> str:
    found = node.get(key)
    return found.text if isinstance(found, Scalar) else ""


def _list(node: Mapping, key: str) -> tuple[str, ...]:
    found = node.get(key)
    items = found.items if isinstance(found, Sequence) else ()
    return tuple(i.text for i in items if isinstance(i, Scalar))


def _matches(name: str, patterns: tuple[str, ...]) -> bool:
    return any(fnmatchcase(name, p) for p in patterns)


def _any_like(names: Iterable[str], pattern: str) -> bool:
    return any(fnmatchcase(n, pattern) for n in names)


def _claimed(case: Case, answer: Answer, most: float) -> list[str]:
    """What is claimed although the case says that it is not proven."""
    return [
        f"'{s.name}' is claimed with {s.probability:.2f}"
        for s in answer.suspects
        if s.probability > TENTH * most and any(_matches(n, case.not_proven) for n in s.names)
    ]


def judge(case: Case, answer: Answer, checks: tuple[bp.Check, ...]) -> list[str]:
    """What is wrong with an answer; empty when the case passes."""
    doubted = {answer.readings.all[i].text for i, _ in answer.slips}
    wrong = [f"'{a}' is not to be taken again" for a in case.again if not _any_like(doubted, a)]
    if case.expected == (AS_BUILT,):
        most = max((s.probability for s in answer.suspects), default=0.0)
        wrong += _claimed(case, answer, most)
        if not answer.reads_as_built or answer.as_built <= answer.none_of_these:
            wrong.append(f"as built has {answer.as_built:.2f}, a suspect {most:.2f}")
        return wrong
    if not answer.groups:
        return [*wrong, "no suspect at all"]
    group = answer.groups[0]
    leader = group.suspects[0]
    if not _matches(leader.name, case.expected + case.accept):
        wrong.append(f"'{leader.name}' leads with {leader.probability:.2f}")
    if answer.none_of_these > leader.probability:
        wrong.append(f"none of these has {answer.none_of_these:.2f}")
    wrong += _claimed(case, answer, leader.probability)
    offered = [c.words() for c in checks[:FIRST]]
    if case.best_next and not any(_matches(w, case.best_next) for w in offered):
        wrong.append(f"best next check is not among: {' | '.join(offered)}")
    text = " ".join(answer_text(answer, checks).split())
    wrong += [f"the answer does not say '{p}'" for p in case.says if not fnmatchcase(text, f"*{p}*")]
    for pattern in case.worn:
        if not any(fnmatchcase(w.name, pattern) for w in answer.worn):
            wrong.append(f"'{pattern}' is not listed as worn")
    for pattern in case.one_group:
        if not any(fnmatchcase(s.name, pattern) for s in group.suspects):
            wrong.append(f"'{pattern}' is not in the leading group")
    return wrong


def run_case(case: Case) -> tuple[Answer, tuple[bp.Check, ...], list[str]]:
    """Rank a case through the public API and judge it."""
    sheet = bp.parse_sheet(case.sheet, file=f"{case.name} sheet")
    answer = bp.rank(sheet, case.readings, circumstances=case.circumstances)
    checks = bp.next_checks(answer)
    return answer, checks, judge(case, answer, checks)


def cases() -> list[Case]:
    """All cases, by file name."""
    return [load_case(p) for p in sorted(HERE.glob("*.yaml"))]


def main() -> int:
    """Run all cases (or those named on the command line); exit 1 when one fails."""
    wanted = set(sys.argv[1:])
    results: dict[str, object] = {}
    failed = 0
    chosen = [c for c in cases() if not wanted or c.name in wanted]
    for case in chosen:
        answer, checks, wrong = run_case(case)
        failed += bool(wrong)
        leader = answer.groups[0].suspects[0] if answer.groups else None
        shown = f"{leader.name} {leader.probability:.0%}" if leader else "nothing"
        if case.expected == (AS_BUILT,):
            shown = f"behaves as built {answer.as_built:.0%}"
        print(f"{'FAIL' if wrong else 'pass'}  {case.name:4} {case.title}: {shown}")
        for line in wrong:
            print(f"      {line}")
        if wanted:
            _details(answer, checks)
        results[case.name] = {"passed": not wrong, "leader": shown, "wrong": wrong}
    build = HERE.parents[1] / "build"
    build.mkdir(exist_ok=True)
    (build / "field.json").write_text(json.dumps(results, indent=1), encoding="utf-8")
    print(f"field_cases: {len(chosen)}")
    print(f"field_passed: {len(chosen) - failed}")
    print(f"field_failed: {failed}")
    print(f"{len(chosen) - failed} passed, {failed} failed")
    return 1 if failed or not chosen else 0


def _details(answer: Answer, checks: tuple[bp.Check, ...]) -> None:
    for group in answer.groups[:6]:
        print(f"      group {group.probability:.3f}")
        for s in group.suspects:
            print(f"        {s.probability:.3f} present {s.present:.3f} {s.name} {s.severity}")
    print(f"      as built {answer.as_built:.3f}, none {answer.none_of_these:.3f}, slips {answer.slips}")
    for w in answer.worn:
        print(f"      worn {w.present:.2f} {w.name} {w.severity}")
    for c in checks:
        print(f"      next {c.information:.2f} bit in {c.minutes:.1f} min: {c.words()}")


if __name__ == "__main__":
    sys.exit(main())

"""One cure judged on each build that a sheet leaves open, told as one, with what hangs on the build."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from backprobe.workbench import verdict as v
from backprobe.workbench.claim_joins import listed
from backprobe.workbench.trial_values import ForBuild, ForSuspect, Meaning

DEPENDS = "it depends on the build"
SEVERE = dict(zip(v.RANK, range(len(v.RANK)), strict=True))


def over_builds(judged: Sequence[tuple[str, float, Meaning]]) -> Meaning:
    """The meaning over all builds.

    The verdict is the worst where any build is harmed or defeated, for nobody knows which it is; else the
    best one, with the probability that it is the cure.

    Parameters
    ----------
    judged
        What the build is, such as ``feed volts 8 V``, its probability [1], and what the cure does on it.
    """
    ordered = sorted(judged, key=lambda j: -j[1])
    worst = max((m.verdict for _, _, m in ordered), key=lambda x: SEVERE.get(x, 0))
    verdict = worst if SEVERE.get(worst, 0) else max((m.verdict for _, _, m in ordered), key=v.VERDICTS.index)
    ordered.sort(key=lambda j: j[2].verdict != verdict)
    lead = ordered[0][2]
    builds = tuple(ForBuild(w, p, m.verdict, m.reasons, m.cure_chance) for w, p, m in ordered)
    differs = len({b.verdict for b in builds}) > 1
    said = (*lead.cautions, *(c for _, _, m in ordered[1:] for c in m.cautions))
    return replace(
        lead,
        reasons=(*lead.reasons, depends(builds)) if differs else lead.reasons,
        cautions=tuple(dict.fromkeys(said)),
        suspects=_suspects(ordered),
        cure_chance=sum(p * m.cure_chance for _, p, m in ordered),
        builds=builds,
        works_chance=None
        if lead.works_chance is None
        else sum(p * (m.works_chance or 0.0) for _, p, m in ordered),
    )


def depends(builds: Sequence[ForBuild]) -> str:
    """How the verdict hangs on the build, in one sentence."""
    told = []
    for verdict in dict.fromkeys(b.verdict for b in builds):
        own = [b for b in builds if b.verdict == verdict]
        told.append(
            f"{verdict} with {alike([b.build for b in own])} ({_percent(sum(b.probability for b in own))})"
        )
    return f"{DEPENDS}: {', '.join(told)}"


def alike(builds: Sequence[str]) -> str:
    """``feed volts 5 V or 8 V`` for builds that differ in one value; else all of them."""
    several = len(builds) == 1 or any(", " in b for b in builds)
    return listed(list(builds), "or") if several else _joined(builds)


def _joined(builds: Sequence[str]) -> str:
    """Builds of one open value, the value's name said once."""
    first = builds[0].split()
    same = 0
    while all(len(b.split()) > same + 1 and b.split()[same] == first[same] for b in builds):
        same += 1
        if same >= len(first) - 1:
            break
    head = " ".join(first[:same])
    return f"{head} {listed([' '.join(b.split()[same:]) for b in builds], 'or')}".strip()


def _percent(share: float) -> str:
    return "below 1 %" if share < 0.005 else f"{100 * share:.0f} %"


def _suspects(judged: Sequence[tuple[str, float, Meaning]]) -> tuple[ForSuspect, ...]:
    """Each suspect once; twice where its verdict hangs on the build, then with the build's name."""
    found: dict[str, list[tuple[str, float, ForSuspect]]] = {}
    for build, chance, meaning in judged:
        for s in meaning.suspects:
            found.setdefault(s.name, []).append((build, chance * s.probability, s))
    merged = []
    for name, cases in found.items():
        kinds = dict.fromkeys((s.verdict, s.cures) for _, _, s in cases)
        for kind in kinds:
            own = [c for c in cases if (c[2].verdict, c[2].cures) == kind]
            words = name if len(kinds) == 1 else f"{name}, with {alike([b for b, _, _ in own])}"
            merged.append(replace(own[0][2], name=words, probability=sum(p for _, p, _ in own)))
    return tuple(sorted(merged, key=lambda s: -s.probability))

"""Connector: what goes wrong between the cavities of one plug."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise

from backprobe.sheet.anatomy import OPEN
from backprobe.sheet.build import CELL_SPREAD, LEAKY, PartBuilder
from backprobe.sheet.kind import TEXT, FieldSpec, Kind

SWAP_ALL_UP_TO = 8
"""Every pair of cavities is tried as a swap up to this many; beyond it only near ones, as the number
of pairs grows by the square."""

NEAR = 2
"""Cavities at most this far apart, counted along the plug, are near."""

SWAPPED_WHY = "wires swapped, wrong part: 3 of 62 field accounts, shared among the pairs of a plug"


def build(p: PartBuilder) -> None:
    """Latent bridges between neighbours, and latent crossings from a wire into another's cavity."""
    cavities = [c for c in p.part.texts["cavities"].split(" ") if c]
    for one, other in pairwise(cavities):
        bridge = p.latent(f"bridge {one} {other}", f"{one}.machine", f"{other}.machine")
        p.fault(
            f"{one} and {other} bridged",
            {bridge: (0.1, *LEAKY)},
            rate=0.35,
            why="unwanted contact, wet plugs: 5 of 62 field accounts, shared among the plugs",
            spread=CELL_SPREAD,
            repair=f"open {p.part.name}, look for water, strands or a bent pin between {one} and {other}",
            minutes=15,
            cost=5,
            family="contact",
        )
    for one, other, rate in swaps(cavities):
        crossing = p.latent(f"crossing {one} {other}", f"{one}.wire", f"{other}.machine")
        back = p.latent(f"crossing {other} {one}", f"{other}.wire", f"{one}.machine")
        through = {f"{one}.crimp ohms": (OPEN,), f"{other}.crimp ohms": (OPEN,)}
        p.fault(
            f"{one} and {other} swapped",
            {crossing: (0.001,), back: (0.001,), **through},
            rate=rate,
            why=SWAPPED_WHY,
            repair=f"put the wires of {one} and {other} into their right cavities, then check the part",
            minutes=15,
            cost=1,
            family="wiring",
        )


def swaps(cavities: list[str]) -> Iterator[tuple[str, str, float]]:
    """Pairs of cavities whose wires may have changed places, with the rate of each [1].

    A wire is mostly put one cavity off; in a plug of three the ends are mirrored just as easily,
    by looking at it from the wrong side.
    """
    for i, j in combinations(range(len(cavities)), 2):
        far = j - i
        if len(cavities) > SWAP_ALL_UP_TO and far > NEAR:
            continue
        mirrored = i + j == len(cavities) - 1
        yield cavities[i], cavities[j], 0.25 if far == 1 or mirrored else 0.12


KIND = Kind(
    name="connector",
    terminals=(),
    passes={},
    fields=(FieldSpec("cavities", shape=TEXT),),
    build=build,
    about="Made by naming its cavities in the runs.",
)

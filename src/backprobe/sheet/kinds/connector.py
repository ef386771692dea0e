"""Connector: what goes wrong between the cavities of one plug."""

from __future__ import annotations

from itertools import combinations, pairwise

from backprobe.sheet.anatomy import OPEN
from backprobe.sheet.build import CELL_SPREAD, LEAKY, PartBuilder
from backprobe.sheet.kind import TEXT, FieldSpec, Kind

SWAP_ALL_UP_TO = 6
"""Every pair of cavities is tried as a swap up to this many; beyond it only neighbours are."""


def build(p: PartBuilder) -> None:
    """Latent bridges between neighbours, and latent crossings from a wire into another's cavity."""
    cavities = [c for c in p.part.texts["cavities"].split(" ") if c]
    neighbours = list(pairwise(cavities))
    for one, other in neighbours:
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
    pairs = list(combinations(cavities, 2)) if len(cavities) <= SWAP_ALL_UP_TO else neighbours
    for one, other in pairs:
        crossing = p.latent(f"crossing {one} {other}", f"{one}.wire", f"{other}.machine")
        back = p.latent(f"crossing {other} {one}", f"{other}.wire", f"{one}.machine")
        through = {f"{one}.crimp ohms": (OPEN,), f"{other}.crimp ohms": (OPEN,)}
        p.fault(
            f"{one} and {other} swapped",
            {crossing: (0.001,), back: (0.001,), **through},
            rate=0.25,
            why="wires swapped, wrong part: 3 of 62 field accounts, shared among the pairs of a plug",
            repair=f"put the wires of {one} and {other} into their right cavities, then check the part",
            minutes=15,
            cost=1,
            family="wiring",
        )


KIND = Kind(
    name="connector",
    terminals=(),
    passes={},
    fields=(FieldSpec("cavities", shape=TEXT),),
    build=build,
    about="Made by naming its cavities in the runs.",
)

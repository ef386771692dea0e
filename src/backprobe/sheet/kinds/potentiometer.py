"""Potentiometer: a track with a wiper moved by an operator control."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, AtPosition, Value
from backprobe.sheet.build import CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import LEVELS, FieldSpec, Kind


def build(p: PartBuilder) -> None:
    """Two track halves for each position, and a wiper contact."""
    track = p.value("track")
    upper: dict[str, float] = {}
    for state, level in p.part.levels.items():
        gate = AtPosition(state.control, frozenset({state.position}))
        for side, share in (("upper", 1 - level.nominal), ("lower", level.nominal)):
            ohms = max(share, 1e-3) * track.nominal
            value = Value(
                ohms, ohms * track.low / track.nominal, ohms * track.high / track.nominal, "ohm", track.origin
            )
            ends = ("1", "_wiper") if side == "upper" else ("_wiper", "3")
            upper[p.resistance(f"{side} track at {state}", *ends, value, gate)] = ohms
    wiper = p.resistance("wiper contact", "_wiper", "wiper", p.value("wiper contact"))
    p.fault(
        "track open",
        {k: (OPEN,) for k in upper if ".upper" in k},
        rate=0.6,
        why="sensor worn: 2 of 62 field accounts",
        repair=f"replace {p.part.name}",
        cost=40,
    )
    p.fault(
        "wiper lifts",
        {wiper: (*RESISTIVE[5:], OPEN)},
        rate=1.0,
        why="sensor worn: 2 of 62 field accounts",
        spread=CELL_SPREAD,
        repair=f"replace {p.part.name}",
        cost=40,
    )


KIND = Kind(
    name="potentiometer",
    terminals=("1", "wiper", "3"),
    passes={"": ("1", "3"), "wiper": ("wiper", "3"), "to wiper": ("1", "wiper")},
    fields=(
        FieldSpec("track", "ohm", (5e3, 4e3, 6e3), "not stated", matters="its end-to-end resistance?"),
        FieldSpec("wiper contact", "ohm", (20.0, 5.0, 80.0), "sound wiper; common practice, no source"),
        FieldSpec("levels", "%", shape=LEVELS),
    ),
    words=("pot",),
    build=build,
    about="`levels` give the wiper's share of the track, from terminal 3, in each operator state.",
)

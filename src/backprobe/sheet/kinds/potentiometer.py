"""Potentiometer: a track with a wiper moved by an operator control."""

from __future__ import annotations

from collections.abc import Callable

from backprobe.sheet.anatomy import OPEN, AtPosition, Gate, Value
from backprobe.sheet.build import CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import LEVELS, FieldSpec, Kind
from backprobe.sheet.kinds._sensor_faults import Changes, toward

WORN = "sensor worn: 2 of 62 field accounts"
WRONG_POT = "wrong part: 3 of 62 field accounts, shared with swapped wires"
ANGLES = (240.0, 270.0, 300.0, 340.0)
"""Electrical angles that pots are sold with [deg]; common practice, no source."""
SLIPS = (-0.2, -0.1, -0.05, 0.05, 0.1, 0.2)
"""How far a lever may have slipped on its shaft, as a share of the track [1]."""
LEAST_SHARE = 1e-3

Halves = tuple[tuple[str, str, float], ...]
"""Keys of the upper and the lower half of the track and the level [1], for each operator state."""


def build(p: PartBuilder) -> None:
    """Two track halves for each position, and a wiper contact."""
    halves = _track(p)
    wiper = p.resistance("wiper contact", "_wiper", "wiper", p.value("wiper contact"))
    _fault(p, "track open", {upper: (OPEN,) for upper, _, _ in halves}, 0.6)
    _fault(p, "track open beside terminal 3", {lower: (OPEN,) for _, lower, _ in halves}, 0.4)
    _fault(p, "wiper lifts", {wiper: (*RESISTIVE[5:], OPEN)}, 1.0, spread=CELL_SPREAD)
    track = p.value("track").nominal
    drifts = (0.6, 1.6, 3.0)
    aged = {key: _times(max(x, LEAST_SHARE) * track, drifts) for _, key, x in halves}
    aged |= {key: _times(max(1 - x, LEAST_SHARE) * track, drifts) for key, _, x in halves}
    _fault(p, "track drifted", aged, 0.3, spread=0.25)
    p.fault(
        "slipped on its shaft",
        _moved(track, halves, lambda x: tuple(x + d for d in SLIPS)),
        rate=0.6,
        why=WORN + "; the clamp or lever before it",
        repair=f"set {p.part.name} again and fasten its lever",
        spread=0.1,
        minutes=20,
    )
    _another_pot(p, track, halves)


def _track(p: PartBuilder) -> Halves:
    track = p.value("track")

    def half(label: str, share: float, gates: tuple[Gate, ...]) -> str:
        kept = max(share, LEAST_SHARE)
        value = Value(kept * track.nominal, kept * track.low, kept * track.high, "ohm", track.origin)
        ends = ("1", "_wiper") if label.startswith("upper") else ("_wiper", "3")
        return p.resistance(label, *ends, value, *gates)

    found: list[tuple[str, str, float]] = []
    for state, level in p.part.levels.items():
        gates: tuple[Gate, ...] = (AtPosition(state.control, frozenset({state.position})),)
        x = level.nominal
        upper = half(f"upper track at {state}", 1 - x, gates)
        found.append((upper, half(f"lower track at {state}", x, gates), x))
    if not found:
        # Where the wiper stands is not said: somewhere about the middle.
        wide = Value(track.nominal / 2, track.nominal / 8, 0.9 * track.nominal, "ohm", track.origin)
        upper = p.resistance("upper track", "1", "_wiper", wide)
        found.append((upper, p.resistance("lower track", "_wiper", "3", wide), 0.5))
    return tuple(found)


def _another_pot(p: PartBuilder, track: float, halves: Halves) -> None:
    """What was fitted instead, or added: wrong angle, wrong way round, a resistor end to end."""
    angle = p.value("angle").nominal
    swings = tuple(angle / other for other in ANGLES if abs(other / angle - 1) > 0.05)
    fit = f"fit a {p.part.name} of the machine's own angle"
    if any(abs(x - 0.5) > 0.03 for _, _, x in halves):
        # The shaft turns as before, so the wiper's way from the middle shrinks by old angle over new.
        swung = _moved(track, halves, lambda x: toward(x, 0.5, swings))
        _wrong(p, "another angle fitted", swung, 0.3, fit + ", or teach the controller again")
        turned = _moved(track, halves, lambda x: (1 - x,))
        _wrong(p, "works the other way round", turned, 0.2, f"change the outer wires of {p.part.name}")
    across = p.latent("resistor end to end", "1", "3")
    ends = _times(track, (0.5, 1.0, 2.0, 4.0))
    _wrong(p, "resistor put end to end across it", {across: ends}, 0.1, f"remove it from {p.part.name}")


def _moved(track: float, halves: Halves, move: Callable[[float], tuple[float, ...]]) -> Changes:
    found: dict[str, tuple[float, ...]] = {}
    for upper, lower, level in halves:
        kept = [min(max(x, LEAST_SHARE), 1 - LEAST_SHARE) for x in move(level)]
        found[upper] = tuple((1 - x) * track for x in kept)
        found[lower] = tuple(x * track for x in kept)
    return found


def _times(ohms: float, factors: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(ohms * k for k in factors)


def _fault(p: PartBuilder, mode: str, changes: Changes, rate: float, *, spread: float = 0.0) -> None:
    if changes:
        p.fault(mode, changes, rate=rate, why=WORN, spread=spread, repair=f"replace {p.part.name}", cost=40)


def _wrong(p: PartBuilder, mode: str, changes: Changes, rate: float, repair: str) -> None:
    p.fault(mode, changes, rate=rate, why=WRONG_POT, repair=repair, minutes=20, cost=40, family="wiring")


KIND = Kind(
    name="potentiometer",
    terminals=("1", "wiper", "3"),
    passes={"": ("1", "3"), "wiper": ("wiper", "3"), "to wiper": ("1", "wiper")},
    fields=(
        FieldSpec("track", "ohm", (5e3, 4e3, 6e3), "not stated", matters="its end-to-end resistance?"),
        FieldSpec("wiper contact", "ohm", (20.0, 5.0, 80.0), "sound wiper; common practice, no source"),
        FieldSpec("angle", "deg", (270.0, 240.0, 340.0), "a common electrical angle; common practice"),
        FieldSpec("levels", "%", shape=LEVELS),
    ),
    words=("pot",),
    build=build,
    about="`levels` give the wiper's share of the track, from terminal 3, in each operator state; `angle` is "
    "the electrical angle that the machine was built with.",
)

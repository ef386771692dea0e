"""Sender: a resistance that follows pressure, temperature or level; one wire, ground through its case."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, AtPosition, Value
from backprobe.sheet.build import CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import LEVELS, FieldSpec, Kind
from backprobe.sheet.kinds._sensor_faults import worn_out

WORN = "sensor worn: 2 of 62 field accounts"
THREAD = Value(0.01, 0.002, 0.05, "ohm")
DRIFTS = (0.3, 0.6, 1.6, 3.0)


def build(p: PartBuilder) -> None:
    """One resistance for each operator state (or a plain one), and the way through thread and case."""
    levels = p.part.levels
    body = {
        p.resistance(
            f"body at {state}", "1", "_body", ohms, AtPosition(state.control, frozenset({state.position}))
        ): ohms.nominal
        for state, ohms in levels.items()
    } or {p.resistance("body", "1", "_body", p.value("ohms")): p.value("ohms").nominal}
    thread = p.resistance("thread", "_body", "case", THREAD)
    worn_out(p, "open inside", dict.fromkeys(body, (OPEN,)), 0.8, why=WORN)
    short = p.latent("shorted", "1", "_body")
    worn_out(p, "shorted inside", {short: (0.1, 1.0, 5.0)}, 0.5, why=WORN, spread=CELL_SPREAD)
    drifted = {key: tuple(ohms * k for k in DRIFTS) for key, ohms in body.items()}
    worn_out(p, "drifted", drifted, 0.6, why=WORN, spread=0.3)
    if len(set(body.values())) > 1:
        worn_out(p, "stuck", dict.fromkeys(body, tuple(sorted(set(body.values())))), 0.6, why=WORN)
    p.fault(
        "case grounds badly",
        {thread: (*RESISTIVE[2:9], OPEN)},
        rate=0.8,
        why="high resistance in a ground: 12 of 62 field accounts; sealing tape or paint under the thread",
        spread=CELL_SPREAD,
        repair=f"clean the seat and thread of {p.part.name}: no tape, no paint",
        minutes=15,
        family="copper",
    )


KIND = Kind(
    name="sender",
    terminals=("1", "case"),
    passes={"": ("1", "case")},
    fields=(
        FieldSpec(
            "ohms",
            "ohm",
            (75.0, 8.0, 250.0),
            "senders run from about 10 ohm to 250 ohm; common practice, no source",
        ),
        FieldSpec("levels", "ohm", shape=LEVELS),
    ),
    words=("sender unit",),
    build=build,
    about="Grounded by its own case: let the run end at the metal it is screwed into. `levels` give its ohms "
    "in each operator state; without them `ohms` is its whole range.",
)

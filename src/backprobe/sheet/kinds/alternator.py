"""Alternator: a winding, its rectifier and its regulator as one source, its case as return."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, AtPosition, Gate, Origin, Value
from backprobe.sheet.build import CELL_SPREAD, PartBuilder
from backprobe.sheet.kind import CLOSED, FieldSpec, Kind

NO_DROP = Value(0.0, 0.0, 0.0, "V", Origin("default", "counted in the regulated volts"))
RECTIFIER = Value(0.002, 0.001, 0.004, "ohm", Origin("default", "slope of power diodes; from memory"))
WEAK_SHARE = "battery, charging or source too weak: 3 of 62 field accounts"

ALONE = (
    FieldSpec(
        "volts",
        "V",
        (14.2, 12.0, 20.0),
        "no battery holds it: unloaded it stands high; common practice, no source",
        scales="volts",
    ),
    FieldSpec(
        "resistance",
        "ohm",
        (0.3, 0.05, 1.0),
        "a small engine's winding as the only source; common practice, no source",
    ),
)
"""Defaults of the only source of a machine."""


def stand_alone(values: dict[str, Value], system_volts: float) -> None:
    """Give a source that no battery stands beside its own defaults, where nothing was said."""
    for spec in ALONE:
        default = spec.default_value(system_volts)
        if default is not None:
            values.setdefault(spec.name, default)


def build(p: PartBuilder) -> None:
    """One source from case to stud through a rectifier: a battery cannot turn it into a load."""
    runs: tuple[Gate, ...] = tuple(AtPosition(c, on) for c, on in p.part.closed.items())
    volts = p.parameter("volts", p.value("volts"))
    _, ohms = p.source("winding", "_rectifier", "case", volts, p.value("resistance"), *runs)
    p.junction("rectifier", "_rectifier", "stud", NO_DROP, RECTIFIER)
    diode = p.key("rectifier ohms")
    leak = p.latent("rectifier leak", "stud", "case")
    scale = p.system_volts / 12
    nominal, own = p.value("volts").nominal, p.value("resistance").nominal
    _fault(p, "charges low", {volts: tuple(scale * v for v in (13.3, 12.8, 12.4))}, 2.0)
    _fault(p, "gives nothing", {ohms: (OPEN,)}, 1.0)
    _fault(
        p,
        "regulator high",
        {volts: tuple(scale * v for v in (15.4, 16.5, 18.0))},
        0.4,
        "; too many volts the rarer way, seen as boiled batteries and short-lived lamps",
    )
    _fault(
        p,
        "rectifier diode open",
        # One of three phases is gone: two thirds of the pulses are left, the mean sags under load.
        {diode: (30 * RECTIFIER.nominal + 2 * own,), volts: (0.94 * nominal,)},
        0.5,
        "; one diode of the rectifier",
    )
    _fault(
        p,
        "winding weak",
        {ohms: tuple(r for r in (0.3, 1.0, 3.0, 10.0, 30.0) if r > 2 * own) or (4 * own,)},
        0.5,
        "; turns shorted, magnets weak or a joint of the winding burnt",
        CELL_SPREAD,
    )
    _fault(
        p,
        "rectifier diode leaks",
        {leak: (1.0, 10.0, 30.0, 100.0, 300.0)},
        0.3,
        "; it drains the battery while the engine stands",
        CELL_SPREAD,
    )


def _fault(
    p: PartBuilder,
    mode: str,
    changes: dict[str, tuple[float, ...]],
    rate: float,
    share: str = "",
    spread: float = 0.0,
) -> None:
    p.fault(
        mode,
        changes,
        rate=rate,
        why=WEAK_SHARE + share,
        spread=spread,
        repair=f"test {p.part.name} and its regulator on the machine, then on the bench",
        minutes=60,
        cost=180,
        family="source",
    )


KIND = Kind(
    name="alternator",
    terminals=("stud", "case"),
    passes={"": ("case", "stud")},
    fields=(
        FieldSpec(
            "volts",
            "V",
            (14.2, 13.7, 14.8),
            "charging, engine running; ISO 16750-2 puts the running supply at 14 V and 28 V",
            scales="volts",
        ),
        FieldSpec("resistance", "ohm", (0.01, 0.005, 0.03), "stud to case; common practice, no source"),
        FieldSpec("running", shape=CLOSED),
    ),
    words=("generator", "dynamo", "charging winding", "engine winding"),
    build=build,
    about=(
        "A source while the engine runs (always, or in the states under `running`); its case is its negative "
        "post and is bolted to the engine. It may be the only source: a run then starts at `alternator.stud`."
    ),
)

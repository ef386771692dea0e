"""Circuit breaker: a thermal contact that trips on overload and is reset by hand or by cooling."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, InMode, Melter
from backprobe.sheet.build import CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind

TRIPS_AT = 1.35
"""Share of its rating at which a thermal breaker trips within minutes; common practice, no source."""
HEAT_SHARE = (
    "fuse, holder or relay heat and overload: 5 of 62 field accounts; a breaker less often than a fuse"
)


def build(p: PartBuilder) -> None:
    """One contact; tripped it stays open, for a static circuit does not cool."""
    rating = p.value("rating").nominal
    trips = p.fixed("tripping amps", TRIPS_AT * rating, "A")
    untripped = InMode(p.key("contact"), inverted=True)
    contact = p.resistance("contact", "1", "2", p.value("ohms"), untripped)
    p.device(Melter(p.key("contact"), p.key("contact"), trips))
    p.fault(
        "tripped",
        {contact: (OPEN,)},
        rate=1.5,
        why=HEAT_SHARE + "; a tripped one has a cause",
        repair=f"find what tripped {p.part.name}, then reset it",
        minutes=5,
        family="copper",
    )
    p.fault(
        "contact burnt",
        {contact: (*RESISTIVE[1:], OPEN)},
        rate=0.8,
        why=HEAT_SHARE,
        spread=CELL_SPREAD,
        repair=f"replace {p.part.name}",
        minutes=15,
        cost=15,
        family="contact",
    )
    p.fault(
        "trips too early",
        {trips: (0.7 * rating, 0.4 * rating)},
        rate=0.3,
        why=HEAT_SHARE + "; worn by many trips",
        repair=f"measure the amps through {p.part.name}: below its rating it has to hold, else replace it",
        minutes=15,
        cost=15,
    )


KIND = Kind(
    name="circuit breaker",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(
        FieldSpec("rating", "A", (20.0, 8.0, 40.0), "not stated", matters="what is printed on the breaker?"),
        FieldSpec("ohms", "ohm", (0.008, 0.003, 0.02), "bimetal and contact; from memory"),
    ),
    words=("breaker", "thermal breaker"),
    build=build,
    about="Written inside a run: `circuit breaker Q1 15 A`.",
)

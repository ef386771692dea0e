"""Switch: a contact moved by an operator control, with resistor coding where fitted."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, AtPosition, Gate
from backprobe.sheet.build import BROKEN, BROKEN_SPREAD, CELL_SPREAD, LEAKY, RESISTIVE, PartBuilder
from backprobe.sheet.kind import CLOSED, FieldSpec, Kind

CONTACT_SHARE = "switch or key contact: 7 of 62 field accounts"


def build(p: PartBuilder) -> None:
    """A contact, a resistor across it and one in series with it where the switch is coded."""
    gates: tuple[Gate, ...] = tuple(AtPosition(c, on) for c, on in p.part.closed.items())
    coded = p.has("closed ohms")
    inner = "_contact" if coded else "2"
    contact = p.resistance("contact", "1", inner, p.value("contact"), *gates)
    apart = p.latent("contact apart", "1", inner)
    if coded:
        series = p.resistance("series resistor", inner, "2", p.value("closed ohms"))
        p.fault(
            "series resistor open",
            {series: (OPEN,)},
            rate=0.4,
            why="parts inside a supervised switch; common practice, no source",
            repair=f"replace {p.part.name}",
            minutes=20,
            cost=40,
        )
    if p.has("open ohms"):
        across = p.resistance("parallel resistor", "1", "2", p.value("open ohms"))
        p.fault(
            "parallel resistor open",
            {across: (OPEN,)},
            rate=0.4,
            why="parts inside a supervised switch; common practice, no source",
            repair=f"replace {p.part.name}",
            minutes=20,
            cost=40,
        )
    p.fault(
        "contact worn or dirty",
        {contact: RESISTIVE},
        rate=1.8,
        why=CONTACT_SHARE,
        spread=CELL_SPREAD,
        repair=f"clean, adjust or replace {p.part.name}",
        minutes=20,
        cost=30,
        family="contact",
    )
    p.fault(
        "does not close",
        {contact: BROKEN},
        spread=BROKEN_SPREAD,
        rate=1.5,
        why=CONTACT_SHARE + ", stuck or out of adjustment",
        repair=f"check that {p.part.name} is reached and adjusted, else replace it",
        minutes=20,
        cost=30,
    )
    p.fault(
        "does not open",
        {apart: (0.05,)},
        rate=0.4,
        why=CONTACT_SHARE + ", stuck closed the rarer way",
        repair=f"replace {p.part.name}: it no longer guards",
        minutes=20,
        cost=30,
    )
    p.fault(
        "wet inside",
        {apart: LEAKY[3:]},
        rate=0.3,
        why=CONTACT_SHARE + ", wet",
        spread=CELL_SPREAD,
        repair=f"dry and seal or replace {p.part.name}",
        minutes=20,
        cost=30,
    )


KIND = Kind(
    name="switch",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(
        FieldSpec("contact", "ohm", (0.02, 0.005, 0.08), "sound closed contact; common practice, no source"),
        FieldSpec("closed ohms", "ohm"),
        FieldSpec("open ohms", "ohm"),
        FieldSpec("closed", shape=CLOSED),
    ),
    words=("button", "contacts"),
    build=build,
    about="Closed in the operator states named under `closed`; coded ones give resistances.",
)

"""Switch: a contact moved by an operator control, with resistor coding where fitted."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, Value
from backprobe.sheet.build import BROKEN, BROKEN_SPREAD, CELL_SPREAD, LEAKY, RESISTIVE, PartBuilder
from backprobe.sheet.kind import CLOSED, TEXT, FieldSpec, Kind
from backprobe.sheet.kinds._contacts import CONTACT_SHARE, WRONG_SET, closed_gates, opposite_gates


def build(p: PartBuilder) -> None:
    """A contact, a resistor across it and one in series with it where the switch is coded."""
    coded = p.has("closed ohms")
    inner = "_contact" if coded else "2"
    contact = p.resistance("contact", "1", inner, p.value("contact"), *closed_gates(p.part.closed))
    apart = p.latent("contact apart", "1", inner)
    opposite = [
        p.latent(f"opposite contact {i + 1}", "1", inner, *gates)
        for i, gates in enumerate(opposite_gates(p.part.closed))
    ]
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
        across = p.resistance("parallel resistor", "1", inner, _across(p))
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
    if opposite:
        p.fault(
            "wrong contact set fitted (NO for NC)",
            {contact: (OPEN,), **dict.fromkeys(opposite, (p.value("contact").nominal,))},
            rate=0.05,
            why=WRONG_SET,
            repair=f"fit the contact set that {p.part.name} had, then prove the guard in every position",
            minutes=20,
            cost=30,
            family="wiring",
        )


def _across(p: PartBuilder) -> Value:
    """The resistor across the contact: with the series one it makes what the open switch reads."""
    whole = p.value("open ohms")
    share = 1 - p.value("closed ohms").nominal / whole.nominal if p.has("closed ohms") else 1.0
    if share <= 0:
        return whole
    return Value(share * whole.nominal, share * whole.low, share * whole.high, "ohm", whole.origin)


KIND = Kind(
    name="switch",
    terminals=("1", "2"),
    passes={"": ("1", "2")},
    fields=(
        FieldSpec("contact", "ohm", (0.02, 0.005, 0.08), "sound closed contact; common practice, no source"),
        FieldSpec("closed ohms", "ohm", why="what it reads when closed: its series resistor"),
        FieldSpec("open ohms", "ohm", why="what it reads when open: series and parallel resistor"),
        FieldSpec("closed", shape=CLOSED),
        FieldSpec(
            "guard",
            shape=TEXT,
            choices=("yes", "no"),
            why="whether it keeps people safe, where its name hides it",
        ),
    ),
    words=("button", "contacts"),
    operated=True,
    build=build,
    about="Closed in the operator states named under `closed`; coded ones give resistances.",
)

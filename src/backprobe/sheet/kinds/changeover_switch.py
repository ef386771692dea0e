"""Changeover switch: one common terminal, closed to NC at rest and to NO when actuated."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN
from backprobe.sheet.build import BROKEN, BROKEN_SPREAD, CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import CLOSED, FieldSpec, Kind
from backprobe.sheet.kinds._contacts import CONTACT_SHARE, WRONG_SET, closed_gates, opposite_gates

JOINED = 0.001
"""A terminal that is sound [ohm]."""


def build(p: PartBuilder) -> None:
    """Both contacts on one common blade; latent ones where a wrong contact set would close."""
    ohms = p.value("contact")
    common = p.resistance("common", "common", "_blade", p.value("common ohms"))
    made, rest = closed_gates(p.part.closed), opposite_gates(p.part.closed)
    no = p.resistance("NO contact", "_blade", "_no", ohms, *made)
    nc = [p.resistance(f"NC contact {i + 1}", "_blade", "_nc", ohms, *g) for i, g in enumerate(rest)]
    no_closed = p.latent("NO contact held", "_blade", "_no")
    nc_closed = p.latent("NC contact held", "_blade", "_nc")
    no_as_nc = [p.latent(f"NO side as NC {i + 1}", "_blade", "_no", *g) for i, g in enumerate(rest)]
    nc_as_no = p.latent("NC side as NO", "_blade", "_nc", *made)
    sound = (ohms.nominal,)
    _contacts(p, no, nc)
    stuck = f"free or replace {p.part.name}, then prove the guard in every position"
    nc_open = dict.fromkeys(nc, (OPEN,))
    for mode, changes, rate, why, repair in (
        ("stuck at rest", {no: (OPEN,), nc_closed: sound}, 0.8, "not reached or seized", stuck),
        ("stuck actuated", {**nc_open, no_closed: sound}, 0.4, "seized the rarer way", stuck),
        (
            "stops midway, both contacts open",
            {no: (OPEN,), **nc_open},
            0.4,
            "out of adjustment",
            f"adjust {p.part.name} so that it goes its whole way",
        ),
    ):
        p.fault(
            mode,
            changes,
            rate=rate,
            why=f"{CONTACT_SHARE}, {why}",
            repair=repair,
            minutes=20,
            cost=40,
        )
    p.fault(
        "common open inside",
        {common: BROKEN},
        rate=1.0,
        why=CONTACT_SHARE + ", the blade or its rivet",
        repair=f"replace {p.part.name}",
        spread=BROKEN_SPREAD,
        minutes=20,
        cost=40,
    )
    _wrong_sets(p, (no, nc), (no_as_nc, nc_as_no), sound)


def _contacts(p: PartBuilder, no: str, nc: list[str]) -> None:
    for word, keys in (("NO", [no]), ("NC", nc)):
        p.fault(
            f"{word} contact worn or dirty",
            dict.fromkeys(keys, RESISTIVE),
            rate=0.9,
            why=CONTACT_SHARE + ", shared by its two contacts",
            spread=CELL_SPREAD,
            repair=f"clean or replace {p.part.name}",
            minutes=20,
            cost=40,
            family="contact",
        )
        p.fault(
            f"{word} contact does not close",
            dict.fromkeys(keys, BROKEN),
            rate=0.6,
            why=CONTACT_SHARE + ", burnt or bent",
            repair=f"replace {p.part.name}",
            spread=BROKEN_SPREAD,
            minutes=20,
            cost=40,
        )


def _wrong_sets(
    p: PartBuilder, fitted: tuple[str, list[str]], wrong: tuple[list[str], str], sound: tuple[float, ...]
) -> None:
    """Contacts that close the other way: two alike, both turned; and the two wires changed at its plug."""
    (no, nc), (no_as_nc, nc_as_no) = fitted, wrong
    nc_off, no_on = dict.fromkeys(nc, (OPEN,)), dict.fromkeys(no_as_nc, sound)
    right = f"fit the contact set that {p.part.name} had, then prove the guard in every position"
    for mode, changes, rate in (
        ("NO contact set fitted for NC, two alike", {**nc_off, nc_as_no: sound}, 0.04),
        ("NC contact set fitted for NO, two alike", {no: (OPEN,), **no_on}, 0.04),
        ("contact sets changed about (NO for NC)", {no: (OPEN,), **no_on, **nc_off, nc_as_no: sound}, 0.04),
    ):
        p.fault(mode, changes, rate=rate, why=WRONG_SET, repair=right, minutes=20, cost=30, family="wiring")
    tails = {
        p.resistance(f"{t} terminal", f"_{t.lower()}", t, p.value("terminal")): (OPEN,) for t in ("NO", "NC")
    }
    crossed = dict.fromkeys(
        (p.latent("NO to NC terminal", "_no", "NC"), p.latent("NC to NO terminal", "_nc", "NO")), (JOINED,)
    )
    p.fault(
        "NO and NC swapped at its terminals",
        {**tails, **crossed},
        rate=0.25,
        why="wires swapped, wrong part: 3 of 62 field accounts",
        repair=f"change the two wires at {p.part.name} back, then prove the guard in every position",
        minutes=15,
        cost=1,
        family="wiring",
    )


KIND = Kind(
    name="changeover switch",
    terminals=("common", "NO", "NC"),
    passes={"": ("common", "NO"), "resting": ("common", "NC")},
    fields=(
        FieldSpec("contact", "ohm", (0.02, 0.005, 0.08), "sound closed contact; common practice, no source"),
        FieldSpec("common ohms", "ohm", (0.005, 0.002, 0.02), "blade and rivet; common practice, no source"),
        FieldSpec("terminal", "ohm", (0.001, 0.0005, 0.004), "sound terminal; common practice, no source"),
        FieldSpec("actuated", shape=CLOSED),
    ),
    operated=True,
    words=("changeover contact", "changeover", "two-way switch"),
    build=build,
    about=(
        "`actuated` names the positions in which common is closed to NO; in all others it is closed to NC. "
        "Runs name its terminals: `lock switch.common`, `lock switch.NO`, `lock switch.NC`."
    ),
)

"""Relay: a coil that pulls a contact, in a socket; terminals as numbered in DIN 72552."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN, InMode, Puller, WhilePlugged
from backprobe.sheet.build import CELL_SPREAD, RESISTIVE, PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind
from backprobe.sheet.kinds._suppressor import SUPPRESSOR_FIELDS, Turned, suppressor

HEAT_SHARE = "fuse holder or relay heat and overload: 5 of 62 field accounts"
COIL_SHARE = "coil, clutch winding or lamp faulty: 3 of 62 field accounts"
NEW_RELAY = (5.0, 12.0)
"""Minutes and cost of another relay."""
SWAPPED_SHARE = "wires swapped, wrong part: 3 of 62 field accounts, shared"
ENDS_CHANGED = Turned(
    "fed the wrong way round (85 and 86 swapped)",
    SWAPPED_SHARE
    + "; a relay goes into its socket one way only, so it is the wires; common practice, no source",
    "change the wires of 85 and 86 of {part} back: plus goes to 86, then replace what the short has burnt",
    15.0,
)
NEVER = 1e3
"""Volts that no coil of a machine sees: an armature that stays where it is."""
HIGH_SYSTEM = 18.0
"""Above this the machine is a 24 V one [V], and the relay fitted by mistake is for 12 V."""


def build(p: PartBuilder) -> None:
    """Coil 86-85, working contact 30-87, resting contact 30-87a, behind the socket's clips."""
    fitted = WhilePlugged(p.part.name)
    coil_clip = p.resistance("coil socket", "86", "_86", p.value("socket"), fitted)
    contact_clip = p.resistance("contact socket", "30", "_30", p.value("socket"), fitted)
    winding = p.resistance("winding", "_86", "85", p.value("coil"))
    pull = p.parameter("pull-in", p.value("pull-in"))
    drop = p.parameter("drop-out", p.value("drop-out"))
    armature = p.device(Puller(p.key("armature"), p.key("winding"), pull, drop))
    p.load("relay", "winding", p.value("pull-in"))
    works = p.resistance("contact", "_30", "87", p.value("contact"), InMode(armature))
    rests = p.resistance("resting contact", "_30", "87a", p.value("contact"), InMode(armature, inverted=True))
    welded = p.latent("contact welded", "_30", "87")
    suppressor(p, "_86", "85", NEW_RELAY, ENDS_CHANGED)
    _coil_faults(p, winding, pull, drop)
    _contact_faults(p, works, rests, welded)
    _socket_faults(p, coil_clip, contact_clip)
    if p.met("87") or p.met("87a"):
        _contact_changed(p, armature, works, rests)


def _coil_faults(p: PartBuilder, winding: str, pull: str, drop: str) -> None:
    nominal = p.value("coil").nominal
    working = p.key("working volts")
    _fault(p, "coil open", {winding: (OPEN,)}, 1.0, COIL_SHARE)
    fewer = tuple(nominal * k for k in (0.6, 0.3, 0.1))
    _fault(p, "coil turns shorted", {winding: fewer}, 0.4, COIL_SHARE, spread=0.3)
    _fault(
        p,
        "armature stuck, does not pull though fed",
        {pull: (NEVER,), working: (NEVER,)},
        0.4,
        HEAT_SHARE + "; a seized armature the rarer way",
    )
    other, ohms, volts = ("24 V", 4.0, 2.0) if p.system_volts < HIGH_SYSTEM else ("12 V", 0.25, 0.5)
    p.fault(
        f"wrong relay fitted (coil for {other})",
        {
            winding: (ohms * nominal,),
            pull: (volts * p.value("pull-in").nominal,),
            drop: (volts * p.value("drop-out").nominal,),
            working: (volts * p.value("pull-in").nominal,),
        },
        rate=0.25,
        why="wrong part fitted: 3 of 62 field accounts, shared; relays of both volts fit one socket",
        repair=f"read what is printed on {p.part.name}, fit one for the machine's volts",
        minutes=NEW_RELAY[0],
        cost=NEW_RELAY[1],
        family="wiring",
    )


def _contact_faults(p: PartBuilder, works: str, rests: str, welded: str) -> None:
    look = f"replace {p.part.name}, look at its socket"
    _fault(
        p, "contact burnt", {works: (*RESISTIVE[1:], OPEN)}, 1.4, HEAT_SHARE, spread=CELL_SPREAD, repair=look
    )
    _fault(
        p,
        "contact welded",
        # One blade: while it is welded to 87 it cannot rest on 87a.
        {welded: (0.02,), rests: (OPEN,)},
        0.4,
        HEAT_SHARE + ", welded the rarer way",
        repair=f"replace {p.part.name}, find what overloaded it",
    )
    if p.met("87a"):
        _fault(
            p,
            "resting contact burnt",
            {rests: (*RESISTIVE[1:], OPEN)},
            0.2,
            HEAT_SHARE,
            spread=CELL_SPREAD,
            repair=look,
        )


def _socket_faults(p: PartBuilder, coil_clip: str, contact_clip: str) -> None:
    for where, ohms in (("coil", coil_clip), ("contact", contact_clip)):
        p.fault(
            f"socket loose or corroded at its {where} clips",
            {ohms: (*RESISTIVE, OPEN)},
            rate=0.5,
            why=HEAT_SHARE + "; the clips of the socket less often than the contact",
            spread=CELL_SPREAD,
            repair=f"pull {p.part.name}, look for heat and green, tighten or replace the socket's clips",
            minutes=20,
            cost=8,
            family="contact",
        )


def _contact_changed(p: PartBuilder, armature: str, works: str, rests: str) -> None:
    """The wire of 87 on the blade of 87a beside it: live at rest, dead when pulled."""
    at_rest = p.latent("87 at the resting contact", "_30", "87", InMode(armature, inverted=True))
    pulled = p.latent("87a at the working contact", "_30", "87a", InMode(armature))
    sound = (p.value("contact").nominal,)
    p.fault(
        "87 and 87a swapped in its socket",
        {works: (OPEN,), rests: (OPEN,), at_rest: sound, pulled: sound},
        rate=0.15,
        why=f"{SWAPPED_SHARE}; a wire one blade off, common practice, no source",
        repair=f"put the wires of 87 and 87a of {p.part.name} back, then prove the guard in every position",
        minutes=15,
        cost=1,
        family="wiring",
    )


def _fault(  # noqa: PLR0913 - a fault is one flat record
    p: PartBuilder,
    mode: str,
    changes: dict[str, tuple[float, ...]],
    rate: float,
    why: str,
    *,
    spread: float = 0.0,
    repair: str = "",
) -> None:
    p.fault(
        mode,
        changes,
        rate=rate,
        why=why,
        spread=spread,
        repair=repair or f"replace {p.part.name}",
        minutes=NEW_RELAY[0],
        cost=NEW_RELAY[1],
        family="contact" if "contact" in mode else "part",
    )


KIND = Kind(
    name="relay",
    terminals=("85", "86", "30", "87", "87a"),
    passes={
        "coil": ("86", "85"),
        "contact": ("30", "87"),
        "resting contact": ("30", "87a"),
        "": ("86", "85"),
    },
    fields=(
        FieldSpec(
            "coil",
            "ohm",
            (90.0, 60.0, 120.0),
            "plug-in relay of 12 V, squared with the volts; common practice, no source",
            scales="ohms",
            copper=True,
        ),
        FieldSpec(
            "pull-in",
            "V",
            (7.2, 6.2, 8.2),
            "closes by about 60 % of rated volts; common practice, no source",
            scales="volts",
        ),
        FieldSpec(
            "drop-out",
            "V",
            (2.5, 1.2, 4.0),
            "lets go at 10 to 30 % of rated volts; common practice, no source",
            scales="volts",
        ),
        FieldSpec("contact", "ohm", (0.01, 0.004, 0.03), "sound contact; common practice, no source"),
        FieldSpec("socket", "ohm", (0.003, 0.001, 0.01), "sound clips; common practice, no source"),
        *SUPPRESSOR_FIELDS,
    ),
    words=("relay coil", "relay contact", "relay resting contact"),
    load=True,
    build=build,
    about=(
        "`relay coil K1 84 ohm` in one run, `relay contact K1` in another, or by number: `K1.87a`. "
        "`suppression` is none, diode or resistor; 86 is fed plus."
    ),
)

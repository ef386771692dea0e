"""What coils and relays share: a diode or a resistor across the winding, against the kick of letting go."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.sheet.anatomy import OPEN, Origin, Value
from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import TEXT, FieldSpec

SUPPRESSOR_FIELDS = (
    FieldSpec("suppression", shape=TEXT, choices=("none", "diode", "resistor")),
    FieldSpec("suppressor", "ohm"),
)
"""`suppressor` is the resistance of a suppressor resistor; `RESISTOR` where it is not written."""

RESISTOR = (680.0, 330.0, 1200.0)
"""Suppressor resistor of a 12 V coil [ohm]: some ten times the winding; common practice, no source."""
DROP = Value(0.8, 0.6, 1.1, "V", Origin("default", "silicon at amperes; about 0.7 V in textbooks"))
SLOPE = Value(0.05, 0.02, 0.2, "ohm", Origin("default", "slope at amperes; from memory"))
TURNED = Value(OPEN, OPEN, OPEN, "ohm", Origin("default", "by design"))
"""A diode that conducts with the coil's current: only where something stands the wrong way round."""

DIODE_SHARE = "diode or backfeed: 1 of 62 field accounts, shorted suppressors named"
TURNED_SHARE = "wires swapped, wrong part: 3 of 62 field accounts, shared"


@dataclass(frozen=True, slots=True)
class Turned:
    """How a part comes to be fed the wrong way round.

    Parameters
    ----------
    repair
        What to do, with ``{part}`` for its name.
    minutes
        Time that takes [min].
    """

    mode: str
    why: str
    repair: str
    minutes: float


PLUG_TURNED = Turned(
    "fed the wrong way round (plug turned)",
    TURNED_SHARE + "; a two-pin plug that goes on both ways",
    "change over the two wires of {part}: plus where its mark or letter says",
    5.0,
)


def suppressor(
    p: PartBuilder, plus: str, minus: str, renew: tuple[float, float], turned: Turned = PLUG_TURNED
) -> None:
    """The suppressor between the terminals that are to be fed plus and minus.

    Parameters
    ----------
    renew
        Minutes and cost of a new part.
    turned
        How it may come to be fed the wrong way round.
    """
    fitted = p.part.texts.get("suppression", "none")
    if fitted == "diode":
        _diode(p, plus, minus, renew, turned)
    elif fitted == "resistor":
        _resistor(p, plus, minus, renew)


def _diode(p: PartBuilder, plus: str, minus: str, renew: tuple[float, float], turned: Turned) -> None:
    minutes, cost = renew
    p.junction("suppressor", minus, plus, DROP, SLOPE)
    right = p.key("suppressor ohms")
    p.junction("suppressor turned", plus, minus, DROP, TURNED)
    forward = p.key("suppressor turned ohms")
    short = p.latent("suppressor short", plus, minus)
    p.fault(
        "suppressor diode shorted",
        {short: (0.05, 0.5)},
        rate=0.4,
        why=DIODE_SHARE,
        repair=f"replace {p.part.name} or its diode, then the fuse or driver that fed the short",
        minutes=minutes,
        cost=cost,
    )
    p.fault(
        "suppressor diode open",
        {right: (OPEN,)},
        rate=0.05,
        why=DIODE_SHARE + "; it shows in no steady reading, only as arcing contacts and dead drivers",
        repair=f"replace the diode of {p.part.name} before it costs a driver",
        minutes=minutes,
        cost=cost,
    )
    p.fault(
        "suppressor diode fitted the wrong way round",
        {right: (OPEN,), forward: (SLOPE.nominal,)},
        rate=0.1,
        why=TURNED_SHARE,
        repair=f"fit a part with its diode the right way round as {p.part.name}",
        minutes=minutes,
        cost=cost,
        family="wiring",
    )
    p.fault(
        turned.mode,
        {right: (OPEN,), forward: (SLOPE.nominal,)},
        rate=0.3,
        why=turned.why,
        repair=turned.repair.format(part=p.part.name),
        minutes=turned.minutes,
        family="wiring",
    )


def _resistor(p: PartBuilder, plus: str, minus: str, renew: tuple[float, float]) -> None:
    minutes, cost = renew
    scale = (p.system_volts / 12) ** 2
    why = Origin("default", "some ten times the winding; common practice, no source")
    usual = Value(RESISTOR[0] * scale, RESISTOR[1] * scale, RESISTOR[2] * scale, "ohm", why)
    value = p.value("suppressor") if p.has("suppressor") else usual
    ohms = p.resistance("suppressor", plus, minus, value)
    p.fault(
        "suppressor resistor burnt low",
        {ohms: tuple(value.nominal * k for k in (0.001, 0.01, 0.1))},
        rate=0.15,
        why=DIODE_SHARE + "; a resistor less often",
        spread=1.0,
        repair=f"replace {p.part.name} or its resistor, then the fuse or driver that fed the short",
        minutes=minutes,
        cost=cost,
    )
    p.fault(
        "suppressor resistor open",
        {ohms: (OPEN,)},
        rate=0.05,
        why=DIODE_SHARE + "; a resistor less often",
        repair=f"replace the resistor of {p.part.name} before it costs a driver",
        minutes=minutes,
        cost=cost,
    )

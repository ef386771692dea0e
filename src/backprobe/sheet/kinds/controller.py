"""Controller: feeds, inputs with bands, drivers, its own supply and grounds."""

from __future__ import annotations

from backprobe.sheet.anatomy import (
    OPEN,
    Driven,
    Gate,
    Idle,
    InMode,
    Input,
    Limiter,
    Origin,
    Supplied,
    Tripper,
    Value,
)
from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind
from backprobe.sheet.model import Pin

BOX_SHARE = "electronics box, regulator or board inside: 3 of 62 field accounts, shared among its pins"
CLAMP_OHMS = Value(15.0, 5.0, 50.0, "ohm", Origin("default", "protection diode; from memory"))
INNER = Value(0.02, 0.005, 0.08, "ohm", Origin("default", "inside the controller"))


def build(p: PartBuilder) -> None:
    """Pins of one box around one inner ground."""
    pins = p.part.pins
    powered: tuple[Gate, ...] = ()
    device = ""
    if "battery" in pins:
        floor = p.parameter("least supply", p.value("least supply"))
        device = p.device(Supplied(p.key("powered"), p.node("battery"), p.node("_ground"), floor))
        p.resistance("own draw", "battery", "_ground", p.value("own draw ohms"))
        powered = (InMode(device),)
    for pin in pins.values():
        if pin.role == "ground":
            ohms = p.resistance(f"{pin.name} path", pin.name, "_ground", INNER)
            _inside(p, f"{pin.name} open inside", {ohms: (OPEN,)}, 0.2)
        elif pin.role == "feed":
            _feed(p, pin, powered)
        elif pin.role == "input":
            _input(p, pin, powered, device)
        elif pin.role == "output":
            _output(p, pin, powered, device)


def _feed(p: PartBuilder, pin: Pin, powered: tuple[Gate, ...]) -> None:
    volts = p.parameter(f"{pin.name} volts", pin.values["volts"])
    limit = p.parameter(f"{pin.name} limit", pin.values["limit"], logarithmic=True)
    limiting = p.key(f"{pin.name} limiting")
    branch, ohms = p.source(
        pin.name, pin.name, "_ground", volts, pin.values["ohms"], *powered, InMode(limiting, inverted=True)
    )
    p.resistance(f"{pin.name} at rest", pin.name, "_ground", pin.values["rest ohms"])
    limited = p.driven_current(f"{pin.name} limited", "_ground", pin.name, limit, *powered, InMode(limiting))
    p.device(Limiter(limiting, branch, limited, limit, volts))
    nominal = pin.values["volts"].nominal
    _inside(p, f"{pin.name} dead", {ohms: (OPEN,), limit: (1e-6,)}, 0.5)
    _inside(p, f"{pin.name} low", {volts: tuple(nominal * k for k in (0.9, 0.75, 0.5, 0.25))}, 0.3)


def _input(p: PartBuilder, pin: Pin, powered: tuple[Gate, ...], device: str) -> None:
    if "pull-up" in pin.values:
        volts = p.parameter(f"{pin.name} pull-up volts", pin.values["pull-up volts"])
        p.source(f"{pin.name} pull-up", pin.name, "_ground", volts, pin.values["pull-up"], *powered)
    if "pull-down" in pin.values:
        p.resistance(f"{pin.name} pull-down", pin.name, "_ground", pin.values["pull-down"])
    if "clamp" in pin.values:
        p.junction(f"{pin.name} clamp", pin.name, "_ground", pin.values["clamp"], CLAMP_OHMS)
    damaged = p.latent(f"{pin.name} damaged", pin.name, "_ground")
    _inside(p, f"{pin.name} damaged", {damaged: (10.0, 100.0, 1e3)}, 0.3, spread=0.55)
    p.input(Input(f"{p.part.name}.{pin.name}", p.node(pin.name), p.node("_ground"), pin.bands, device))


def _output(p: PartBuilder, pin: Pin, powered: tuple[Gate, ...], device: str) -> None:
    """A driver, what shuts it down, and what the controller sees of its own output while it is off."""
    driven = p.device(Driven(p.key(f"{pin.name} driven"), pin.name, device))
    low_side = pin.texts.get("side", "high") == "low"
    far = "_ground" if low_side else "battery"
    ends = (pin.name, far) if low_side else (far, pin.name)
    gates: tuple[Gate, ...] = (InMode(driven),)
    tripped = ""
    if "limit" in pin.values:
        # It stays off until it is no longer asked for: the circuit is solved from rest, so for good.
        amps = p.parameter(f"{pin.name} limit", pin.values["limit"])
        tripped = p.key(f"{pin.name} tripped")
        p.device(Tripper(tripped, p.key(f"{pin.name} driver"), amps))
        gates = (*gates, InMode(tripped, inverted=True))
    ohms = p.resistance(f"{pin.name} driver", *ends, pin.values["ohms"], *gates)
    idle = ""
    if "least load" in pin.values:
        amps = p.parameter(f"{pin.name} least load", pin.values["least load"])
        idle = p.device(Idle(p.key(f"{pin.name} idle"), p.key(f"{pin.name} driver"), amps))
    if "diagnosis pull" in pin.values:
        volts = p.parameter(f"{pin.name} diagnosis volts", pin.values["diagnosis volts"])
        pull = pin.values["diagnosis pull"]
        p.source(f"{pin.name} diagnosis pull", pin.name, "_ground", volts, pull, *powered)
    if pin.bands or tripped or idle:
        name, node = f"{p.part.name}.{pin.name}", p.node(pin.name)
        p.input(Input(name, node, p.node("_ground"), pin.bands, device, driven, tripped, idle))
    stuck = p.latent(f"{pin.name} stuck on", *ends)
    _inside(p, f"{pin.name} dead", {ohms: (OPEN,)}, 0.6)
    _inside(p, f"{pin.name} stuck on", {stuck: (0.2,)}, 0.1)


def _inside(
    p: PartBuilder, mode: str, changes: dict[str, tuple[float, ...]], rate: float, *, spread: float = 0.0
) -> None:
    p.fault(
        mode,
        changes,
        rate=rate,
        why=BOX_SHARE,
        spread=spread,
        repair=(
            f"only after feed and ground of {p.part.name} are proven under load, its inputs are proven true "
            "with the plug on and its output is read with the plug on: have it tested or replaced"
        ),
        minutes=60,
        cost=600,
        family="electronics",
    )


PIN_FIELDS: dict[str, tuple[FieldSpec, ...]] = {
    "battery": (),
    "ground": (),
    "feed": (
        FieldSpec("volts", "V", (5.0, 4.75, 9.5), "not stated", matters="its volts with the plug off?"),
        FieldSpec("limit", "A", (0.1, 0.03, 0.3), "sensor feeds are limited; common practice, no source"),
        FieldSpec("ohms", "ohm", (0.5, 0.1, 2.0), "regulated; common practice, no source"),
        FieldSpec("rest ohms", "ohm", (4e4, 1e4, 2e5), "sense divider seen with the key off; from memory"),
    ),
    "input": (
        FieldSpec("pull-up", "ohm"),
        FieldSpec("pull-up volts", "V", (5.0, 4.75, 5.25), "not stated"),
        FieldSpec("pull-down", "ohm", (1e5, 3e4, 3e5), "not stated: a light pull-down is assumed"),
        FieldSpec("clamp", "V"),
    ),
    "output": (
        FieldSpec("ohms", "ohm", (0.1, 0.03, 0.4), "driver that is on; common practice, no source"),
        FieldSpec("limit", "A"),
        FieldSpec("least load", "A"),
        FieldSpec("diagnosis pull", "ohm"),
        FieldSpec("diagnosis volts", "V", (5.0, 3.0, 7.0), "common practice, no source"),
    ),
}
"""Fields of each role of pin; a pin's role is the last word of its name."""

KIND = Kind(
    name="controller",
    terminals=(),
    passes={},
    fields=(
        FieldSpec("least supply", "V", (8.5, 7.0, 9.0), "ISO 16750-2 code B starts at 8 V", scales="volts"),
        FieldSpec("own draw ohms", "ohm", (150.0, 50.0, 500.0), "tens of milliamps; from memory"),
    ),
    words=("control unit",),
    minutes=3.0,
    build=build,
    about="Its terminals are named by role: `battery`, `ground`, `feed`, `... input`, `... output`.",
)

"""A neutral name for how a pin fails electrically: the failure mode identifiers of SAE J1939-73.

Every maker numbers codes in a way of its own, and many send the same identifier beside them.
It follows here from the solved circuit: what a fault does at a controller's input, feed or
output, compared with the sound circuit in the same setup.
"""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.circuit.compiled import Circuit, Floats
from backprobe.circuit.solve import Solution
from backprobe.errors import Problem, ReadingError
from backprobe.sheet.anatomy import Driven, Input

ERRATIC, SHORT_HIGH, SHORT_LOW, CURRENT_LOW, CURRENT_HIGH = 2, 3, 4, 5, 6

FAILURE_MODES: dict[int, str] = {
    0: "above its range, most severe",
    1: "below its range, most severe",
    ERRATIC: "erratic, intermittent or incorrect",
    SHORT_HIGH: "voltage above normal, or shorted to a high source",
    SHORT_LOW: "voltage below normal, or shorted to a low source",
    CURRENT_LOW: "current below normal, or open circuit",
    CURRENT_HIGH: "current above normal, or grounded circuit",
    7: "mechanical system does not respond",
    8: "abnormal frequency, pulse width or period",
    9: "abnormal update rate",
    10: "abnormal rate of change",
    11: "root cause not known",
    12: "bad device or component",
    13: "out of calibration",
    14: "special instructions",
    15: "above its range, least severe",
    16: "above its range, moderately severe",
    17: "below its range, least severe",
    18: "below its range, moderately severe",
    19: "received network data in error",
    20: "data drifted high",
    21: "data drifted low",
    31: "the condition exists",
}
"""Identifier to what it says, in our words; 22 to 30 are not the same in all issues and left out."""

FAULT_BAND = "code"
"""Bands whose meaning begins so, such as ``code high``, lie outside an input's normal range."""
FEED_OFF = 0.2
"""A feed further from its sound volts than this share of them is out of the normal [1]; common practice,
no source."""
LITTLE, MUCH = 0.2, 2.0
"""Shares of its sound current below and above which a load counts as open and as shorted [1]; common
practice, no source."""


@dataclass(frozen=True, slots=True)
class PinCode:
    """What a controller would say of one of its pins.

    Parameters
    ----------
    pin
        The pin's name, such as ``gate input``.
    fmi
        Failure mode identifier.
    """

    pin: str
    fmi: int

    @property
    def words(self) -> str:
        """The identifier in words."""
        return FAILURE_MODES[self.fmi]


def pin_codes(sound: Solution, faulty: Solution) -> tuple[tuple[PinCode, ...], ...]:
    """What each faulty circuit does at the controller's pins.

    Parameters
    ----------
    sound
        The sound circuit, alone in its batch.
    faulty
        ``(c,)`` circuits with a fault, in the same setup.

    Returns
    -------
    tuple
        For each circuit its pins that are out of the normal, inputs first; empty where none is,
        and for a controller without supply, which says nothing.
    """
    circuit = faulty.stage.circuit
    found: list[list[PinCode]] = [[] for _ in range(faulty.count)]
    for entry in circuit.inputs.values():
        before = _input_codes(circuit, sound, entry)[0]
        for codes, fmi in zip(found, _input_codes(circuit, faulty, entry), strict=True):
            if fmi and fmi != before:
                codes.append(PinCode(_pin(entry.name), fmi))
    for part in circuit.sheet.parts.values():
        for pin in part.pins.values():
            if pin.role == "feed" and f"{part.name}._ground" in circuit.node_of:
                _feed(sound, faulty, part.name, pin.name, found)
    for number, device in enumerate(circuit.devices):
        if isinstance(device, Driven) and _driver(device) in circuit.branch_of:
            _output(sound, faulty, number, device, found)
    return tuple(tuple(codes) for codes in found)


def _input_codes(circuit: Circuit, solution: Solution, entry: Input) -> list[int]:
    """Identifier of an input in every circuit of a batch; 0 for none."""
    normal = [b for b in entry.bands if not b.meaning.startswith(FAULT_BAND)]
    if not normal or entry.quiet:
        return [0] * solution.count
    level = solution.across(entry.node, entry.ground)
    low, high = min(b.low for b in normal), max(b.high for b in normal)
    # Between the normal range and a fault band the controller keeps what it believed: no code yet.
    faulty = [b for b in entry.bands if b.meaning.startswith(FAULT_BAND)]
    low = max((b.high for b in faulty if b.high <= low), default=low)
    high = min((b.low for b in faulty if b.low >= high), default=high)
    powered = _powered(circuit, solution, entry.powered)
    return [
        0 if not on else SHORT_HIGH if v > high else SHORT_LOW if v < low else 0
        for v, on in zip(level.tolist(), powered, strict=True)
    ]


def _feed(sound: Solution, faulty: Solution, part: str, pin: str, found: list[list[PinCode]]) -> None:
    ends = (f"{part}.{pin}", f"{part}._ground")
    wanted = float(sound.across(*ends)[0])
    supply = f"{part}.powered"
    if wanted <= 0 or not _powered(sound.stage.circuit, sound, supply)[0]:
        return
    powered = _powered(faulty.stage.circuit, faulty, supply)
    for codes, volts, on in zip(found, faulty.across(*ends).tolist(), powered, strict=True):
        if on and volts < (1 - FEED_OFF) * wanted:
            codes.append(PinCode(pin, SHORT_LOW))
        elif on and volts > (1 + FEED_OFF) * wanted:
            codes.append(PinCode(pin, SHORT_HIGH))


def _output(
    sound: Solution, faulty: Solution, number: int, device: Driven, found: list[list[PinCode]]
) -> None:
    branch = _driver(device)
    wanted = abs(float(sound.through(branch)[0]))
    amps: Floats = abs(faulty.through(branch))
    for c, codes in enumerate(found):
        if faulty.alternating[c, number]:
            codes.append(PinCode(device.output, ERRATIC))
        elif wanted > 0 and sound.modes[0, number] and faulty.modes[c, number]:
            if amps[c] < LITTLE * wanted:
                codes.append(PinCode(device.output, CURRENT_LOW))
            elif amps[c] > MUCH * wanted:
                codes.append(PinCode(device.output, CURRENT_HIGH))


def _driver(device: Driven) -> str:
    """The branch that an output drives its load through."""
    return f"{device.key.removesuffix(' driven')} driver"


def _powered(circuit: Circuit, solution: Solution, device: str) -> list[bool]:
    """Whether each controller of a batch has its supply; one without a supply pin always has."""
    number = circuit.device_of.get(device)
    if number is None:
        return [True] * solution.count
    on: list[bool] = solution.modes[:, number].tolist()
    return on


def _pin(name: str) -> str:
    return name.partition(".")[2]


@dataclass(frozen=True, slots=True)
class TroubleCode:
    """A trouble code as it travels.

    Parameters
    ----------
    number
        What it is about, 19 bits.
    fmi
        Failure mode identifier, 5 bits.
    count
        How often it came, 7 bits.
    older_form
        The conversion flag: number packed the older way.
    """

    number: int
    fmi: int
    count: int = 1
    older_form: bool = False

    def pack(self) -> bytes:
        """The four bytes on the bus.

        Raises
        ------
        ReadingError
            When a number does not fit its bits.
        """
        for name, value, bits in (
            ("number", self.number, 19),
            ("fmi", self.fmi, 5),
            ("count", self.count, 7),
        ):
            if not 0 <= value < 1 << bits:
                raise ReadingError(
                    Problem(
                        name,
                        str(value),
                        f"does not fit the {bits} bits it has in a trouble code",
                        f"Write a whole number from 0 to {(1 << bits) - 1}.",
                    )
                )
        return bytes(
            (
                self.number & 0xFF,
                self.number >> 8 & 0xFF,
                self.number >> 16 << 5 | self.fmi,
                int(self.older_form) << 7 | self.count,
            )
        )


def unpack_code(data: bytes) -> TroubleCode:
    """Read four bytes as a trouble code.

    Raises
    ------
    ReadingError
        When they are not four.
    """
    if len(data) != 4:
        raise ReadingError(
            Problem("code", data.hex(" "), "is not the four bytes of a trouble code", "Give four bytes.")
        )
    number = data[0] | data[1] << 8 | data[2] >> 5 << 16
    return TroubleCode(number, data[2] & 0x1F, data[3] & 0x7F, bool(data[3] >> 7))

"""Pin-outs in words: which pin is which, what hangs on it, and the reading that is missing."""

from __future__ import annotations

from backprobe.report.layout import FIRST, count, joined, listed, percent, quantity, span, wrap
from backprobe.workbench.pinout import Missing, PinOut, PinSource
from backprobe.workbench.pinout_families import ROLES
from backprobe.workbench.pinout_part import MOST_AMPS, SURE, TERMINALS, PartPins

MACHINE_CARE = (
    "Plug off the sensor, machine side, key on, engine off, attachment down. Black lead on battery "
    "negative. The resistor only for as long as the reading takes. Never on airbag, hybrid or "
    "high-voltage circuits."
)
PART_CARE = (
    "Sensor off the machine, its pins dry and clean. Nothing of this on airbag or igniter parts.",
    "The resistor in the plus lead first, then the source; it stays in, always.",
    "Touch plus and minus lead together: a meter across them shows 0 V, and no more than {amps} flows.",
    "Plus on one pin, minus on another, two seconds; write the volts across both as `A+ B- 2.41 V`. Leave "
    "the third pin free, or read it against minus and write `A+ B- C 0.52 V`.",
    "Then the other way round, then the next two pins: six in all, and the missing ones below tell most.",
    "Once the pins are known: supply and ground the right way round, target at the face, through the same "
    "resistor. More current only by the sensor's own data.",
)
MISSING = "Missing: one of these next, the most telling first"
SHOWN = 3
LEAST = 0.02
ALIKE = 0.05


def pinout_text(found: PinOut, sheet: str = "") -> str:
    """The machine side: roles, sources, what the signal looks like, the missing reading, and the sheet."""
    # Before the first reading there is nothing to say of any pin: they are all alike.
    read = [_sources(found), _looks(found)] if found.readings else []
    blocks = [_head(found), *read, _wants(found)]
    if sheet:
        blocks.append(["The sheet that this makes", "", *sheet.splitlines()])
    return joined(*blocks, wrap(MACHINE_CARE, "CARE  "), wrap(FIRST))


def _head(found: PinOut) -> list[str]:
    if not found.readings:
        return wrap("No reading yet: which pin is which is open.")
    lines = wrap(f"Three pins by {count(len(found.readings), 'reading')}")
    for pins, share in found.assignments[:SHOWN]:
        if share > LEAST:
            roles = listed([f"{p} {r}" for p, r in zip(pins, ROLES, strict=True)])
            lines += wrap(f"{percent(share)}  {roles}", "   ")
    if found.none_of_these > 0.1:
        lines += wrap(
            f"{percent(found.none_of_these)} that these pins are nothing of what is known here, or that a "
            "reading is a slip: take the odd one again.",
            "   ",
        )
    return lines


def _sources(found: PinOut) -> list[str]:
    lines = ["Each pin as a source behind a resistance, the meter's load taken off"]
    for source in found.sources:
        roles = [
            f"{r} {percent(p)}" for r, p in sorted(source.roles.items(), key=lambda t: -t[1]) if p > LEAST
        ]
        lines += wrap(f"{source.pin}  {source_words(source)}; {listed(roles)}", "   ", "      ")
    return lines


def source_words(source: PinSource) -> str:
    """``8.02 V (7.97 to 8.07 V) behind 1.25 ohm (0 to 5.4 ohm), from its loads``."""
    volts = f"{quantity(source.volts, 'V')} ({span(source.volts_low, source.volts_high, 'V')})"
    if not source.known:
        return f"{volts} by its role, resistance not known yet"
    ohms = f"{quantity(source.ohms, 'ohm')} ({span(source.ohms_low, source.ohms_high, 'ohm')})"
    return f"{volts} behind {ohms}, {'open and loaded' if source.measured else 'with what its role says'}"


def _looks(found: PinOut) -> list[str]:
    lines: list[str] = []
    for role in ROLES:
        kinds = [f"{name} {percent(p)}" for name, p in found.kinds[role] if p > ALIKE][: SHOWN + 1]
        lines += wrap(f"{role} looks like: {', '.join(kinds)}", "   ", "      ")
    if found.level:
        lines += wrap(f"by what the machine did: {found.level}", "   ")
    return ["What they look like", *lines]


def _wants(found: PinOut) -> list[str]:
    if found.missing:
        return [*wrap(MISSING), *_missing(found.missing)]
    if found.found:
        return wrap("Enough is read to go by.")
    kinds = [name for name, p in found.kinds["signal"] if p > ALIKE]
    return wrap(
        f"No reading with this resistor tells more: {listed(kinds, 'or')} look alike from these pins. Read "
        "them again at another battery voltage, or with another resistor."
    )


def _missing(rows: tuple[Missing, ...]) -> list[str]:
    lines: list[str] = []
    for number, one in enumerate(rows, 1):
        more = f"  ({one.caution})" if one.caution else ""
        lines += wrap(f"{number}. {one.words} ...{more}", "   ", "      ")
    return lines


def part_text(found: PartPins) -> str:
    """The part side: the safe steps, which pin is which, and the pair to read next."""
    head = wrap(
        f"A sensor on the bench: {quantity(found.volts, 'V')} through {quantity(found.ohms, 'ohm')}, so that "
        f"no two pins take more than {quantity(found.amps, 'A')} (limit {quantity(MOST_AMPS, 'A', 2)})"
    )
    steps = ["In this order"]
    for number, step in enumerate(PART_CARE, 1):
        steps += wrap(step.format(amps=quantity(found.amps, "A")), f"   {number}. ")
    if not found.readings:
        return joined(head, steps, _next_pairs(found), wrap(FIRST))
    return joined(head, _orders(found), _next_pairs(found), steps, wrap(FIRST))


def _orders(found: PartPins) -> list[str]:
    lines = wrap(f"Its pins by {count(len(found.readings), 'reading')}")
    for pins, share in found.assignments[:SHOWN]:
        if share > LEAST:
            roles = listed([f"{p} {t}" for p, t in zip(pins, TERMINALS, strict=True)])
            lines += wrap(f"{percent(share)}  {roles}", "   ")
    kinds = [f"{name} {percent(p)}" for name, p in found.kinds if p > ALIKE]
    return lines + wrap(f"looks like: {', '.join(kinds)}", "   ", "      ")


def _next_pairs(found: PartPins) -> list[str]:
    if found.found:
        return wrap(f"The order is known (over {100 * SURE:.0f} %).")
    if not found.missing:
        return wrap(
            "No pair of pins tells more. The ends of a potentiometer look alike: either way round is right, "
            "only the direction of its signal changes."
        )
    lines = wrap(MISSING)
    for number, (words, _) in enumerate(found.missing, 1):
        lines += wrap(f"{number}. {words} ...", "   ")
    return lines

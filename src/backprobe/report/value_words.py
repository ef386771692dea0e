"""Values of a sheet in words, with tolerance and origin; parts that nobody drew are put together."""

from __future__ import annotations

from collections.abc import Iterator

from backprobe.report.layout import count, listed, quantity, span, wrap
from backprobe.sheet.anatomy import Band, Value
from backprobe.sheet.model import Part, Pin, Sheet

NOT_DRAWN = "not drawn"
"""Origin of a length or size that stands behind a default resistance; it says nothing more."""
PLURAL = {"wire": "wires", "contact": "cavities", "ring": "lugs", "strap": "straps", "battery": "batteries"}


def value_words(value: Value) -> str:
    """``8.40 ohm (7.56 to 9.24 ohm), published: valve card``."""
    unit, factor = (value.unit, 1.0) if value.unit else ("%", 100.0)
    nominal, low, high = (factor * x for x in (value.nominal, value.low, value.high))
    width = f" ({span(low, high, unit)})" if high > low else ""
    note = f": {value.origin.note}" if value.origin.note else ""
    return f"{quantity(nominal, unit)}{width}, {value.origin.kind}{note}"


def band_words(bands: tuple[Band, ...]) -> str:
    """``0 to 0.6 V code low; 0.6 to 3.1 V open``."""
    return "; ".join(f"{span(b.low, b.high, 'V')} {b.meaning}{_left(b)}" for b in bands)


def _left(band: Band) -> str:
    """Where a band is left while the volts go down, if not where it is entered."""
    below = band.falling is not None and band.falling[0] < band.low
    return f" (left below {quantity(band.falling[0], 'V')})" if below and band.falling else ""


def closed_words(part: Part) -> str:
    """In which positions the contact of a part is closed."""
    return listed([f"{c} {listed(sorted(on), 'or')}" for c, on in part.closed.items()])


def part_lines(part: Part) -> list[str]:
    """One part with all its values."""
    lines = wrap(f"{part.name} ({part.kind}){_reach(part)}")
    if part.closed:
        words = {"switch": "closed", "changeover switch": "actuated", "push-pull sensor": "high"}
        verb = words.get(part.kind, "pulls")
        lines += wrap(f"{verb} with {closed_words(part)}", "   ", "     ")
    for state, level in part.levels.items():
        lines += wrap(f"{state}: {value_words(level)}", "   ", "     ")
    lines += _values(part.values, "   ")
    lines += [line for k, v in part.texts.items() if k != "connector" for line in wrap(f"{k} {v}", "   ")]
    lines += [line for pin in part.pins.values() for line in _pin(pin)]
    return lines + (wrap(part.caution, "   CAUTION  ") if part.caution else [])


def implied_lines(sheet: Sheet, origins: frozenset[str] = frozenset({"default", "assumed"})) -> list[str]:
    """Parts that nobody wrote, kind by kind: how many, and what is assumed of each."""
    groups: dict[tuple[str, tuple[str, ...]], list[Part]] = {}
    for part in sheet.parts.values():
        if part.implied:
            words = tuple(
                f"{name} {value_words(v)}"
                for name, v in part.values.items()
                if v.origin.kind in origins and v.origin.note != NOT_DRAWN
            )
            groups.setdefault((part.kind, words), []).append(part)
    lines: list[str] = []
    for (kind, words), parts in groups.items():
        name = parts[0].name if len(parts) == 1 else count(len(parts), kind, PLURAL.get(kind, f"{kind}s"))
        lines += wrap(f"{name}, {'each ' if len(parts) > 1 else ''}{'; '.join(words)}", "", "   ")
    return lines


def default_lines(sheet: Sheet) -> Iterator[str]:
    """Parts that were written, with what was assumed of them."""
    for part in sheet.parts.values():
        owners = [
            (part.name, part.values),
            *((f"{part.name} {p.name}", p.values) for p in part.pins.values()),
        ]
        for owner, values in owners if not part.implied else ():
            for name, value in values.items():
                if value.origin.kind == "default" and value.origin.note != NOT_DRAWN:
                    yield f"{owner} {name} {value_words(value)}"


def _values(values: object, pad: str) -> list[str]:
    items = dict(values).items() if isinstance(values, dict) else ()
    return [
        line
        for name, v in items
        if v.origin.note != NOT_DRAWN
        for line in wrap(f"{name} {value_words(v)}", pad, pad + "  ")
    ]


def _pin(pin: Pin) -> list[str]:
    lines = wrap(f"{pin.name} ({pin.role})", "   ")
    lines += _values(pin.values, "     ")
    if pin.bands:
        lines += wrap(f"bands {band_words(pin.bands)}", "     ", "       ")
    return lines + [line for k, v in pin.texts.items() for line in wrap(f"{k} {v}", "     ")]


def _reach(part: Part) -> str:
    return "" if part.minutes is None else f", {part.minutes:g} min to reach"

"""What a claim's own numbers say of it: one rule for each kind of arithmetic."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

from backprobe.sheet.copper import CONVENTIONS
from backprobe.units import figures, format_quantity
from backprobe.workbench.budget_findings import CARRIES
from backprobe.workbench.claims import Amount, Claim
from backprobe.workbench.drain import days_to_flat, drain_of
from backprobe.workbench.finding import Finding
from backprobe.workbench.fuse_time import fuse_time
from backprobe.workbench.said import amps as in_amps
from backprobe.workbench.said import ohms as in_ohms
from backprobe.workbench.said import opens_in, percent, seconds
from backprobe.workbench.wire import joint, wire_ohms
from backprobe.workbench.wire_tables import gauge_area

CLOSE = 0.1
"""Values within a tenth of each other agree: meters, wear and rounding do as much [1]."""
PER_KELVIN = 0.393
"""Copper's change [%/K] at 20 C [mem]."""
DIFFERENCES = ("difference", "warmer", "colder", "cooler", "hotter", "rise", "rises", "fall", "apart")
SHOWN = {"d": "days", "degC": "C"}
Rule = Callable[[Claim], Iterator[Finding]]


def check_claim(claim: Claim) -> tuple[Finding, ...]:
    """Every rule that the claim's amounts call for; empty where none does."""
    return tuple(finding for rule in RULES for finding in rule(claim))


def answer(claim: Claim, rule: str, good: bool, arithmetic: str, right: str) -> Finding:
    """The finding of a rule on a claim."""
    words = "It holds." if good else right
    return Finding(rule, claim.text, arithmetic, words, wrong=not good, line=claim.line, holds=good)


def scales(claim: Claim) -> Iterator[Finding]:
    """Fahrenheit against Celsius, as points of the scale or as differences."""
    fs, cs = claim.of("F"), claim.of("degC")
    if not (fs and cs) or claim.says("per", "each", "every"):
        return
    f, c = fs[0].value, cs[0].value
    point, step = (f - 32) * 5 / 9, f * 5 / 9
    between = claim.says(*DIFFERENCES)
    meant = step if between else point
    sum_, other = f"({f:g} - 32) x 5/9 = {point:.1f} C", f"A step of {f:g} F is {step:.1f} C"
    if between:
        sum_, other = f"{f:g} F x 5/9 = {step:.1f} C apart", f"On the scale {f:g} F is {point:.1f} C"
    good = abs(meant - c) <= max(1.0, 0.03 * abs(c))
    yield answer(claim, "Fahrenheit and Celsius", good, sum_, f"It is {meant:.1f} C, not {c:g} C. {other}.")


def copper_percent(claim: Claim) -> Iterator[Finding]:
    """A rule of so many percent for so many degrees."""
    percents = claim.of("%")
    steps = [(a, a.value) for a in claim.of("degC")] + [(a, a.value * 5 / 9) for a in claim.of("F")]
    if not percents or not steps or not claim.says("per", "each", "every", "for"):
        return
    said, kelvin = percents[0].value, steps[0][1]
    true = PER_KELVIN * kelvin
    change = figures(true, 2)
    sum_ = f"copper changes {PER_KELVIN:g} %/C ({CONVENTIONS['alpha'].name}): {kelvin:g} C make {change} %"
    right = f"It would be {change} %; 4 % per 10 C is near enough."
    yield answer(claim, "copper and temperature", abs(said - true) <= 0.15 * true, sum_, right)


def fuse(claim: Claim) -> Iterator[Finding]:
    """A fuse against what it carries, and how long it lasts."""
    amps = claim.of("A")
    rating = claim.near("fuse", amps)
    if rating is None:
        return
    others = [a.value for a in amps if a is not rating]
    volts, ohms = claim.of("V"), claim.of("ohm")
    if not others and not (volts and ohms and ohms[0].value > 0):
        return
    load = others[0] if others else volts[0].value / ohms[0].value
    share = load / rating.value if rating.value > 0 else 0.0
    how = "" if others else f"{volts[0].text} / {ohms[0].text} = {in_amps(load)}; "
    sum_ = f"{how}{in_amps(load)} / {rating.text} = {percent(share)}"
    times = claim.of("d")
    if times:
        took, bounds = times[0].value * 86400, fuse_time(share)
        good = bounds.least <= took <= bounds.most
        right = f"At {percent(share)} it opens in {opens_in(share)}: more current flowed than that."
        if took > bounds.most:
            right = f"At {percent(share)} it opens in {opens_in(share)}, not after {seconds(took)}."
        yield answer(claim, "fuse and time", good, sum_, right)
    else:
        right = f"The fuse opens in {opens_in(share)}; look for a load below its own value."
        yield answer(claim, "fuse and load", share <= CARRIES, sum_, right)


def drain(claim: Claim) -> Iterator[Finding]:
    """A drain, a battery and the days it took; with two of them the third is told."""
    capacity, amps, times = claim.of("Ah"), claim.of("A"), claim.of("d")
    given = [found[0] for found in (capacity, amps, times) if found]
    if not capacity or len(given) < 2 or min(a.value for a in given) <= 0:
        return
    half = "At half of it an engine may no longer crank."
    if not amps:
        mean = in_amps(drain_of(capacity[0].value, times[0].value))
        sum_ = f"{capacity[0].text} / {figures(times[0].value * 24, 4)} h = {mean}"
        yield Finding("drain and battery", claim.text, sum_, half, False, claim.line)
        return
    days = days_to_flat(capacity[0].value, amps[0].value)
    told = figures(days, 2 if days < 100 else 3)
    sum_ = f"{capacity[0].text} / {amps[0].text} = {figures(days * 24)} h = {told} days"
    if not times:
        yield Finding("drain and battery", claim.text, sum_, half, False, claim.line)
        return
    mean = format_quantity(drain_of(capacity[0].value, times[0].value), "A", digits=2)
    right = f"For {times[0].text} it takes {mean}, steady."
    yield answer(claim, "drain and battery", 0.5 <= times[0].value / days <= 1.5, sum_, right)


def gauge(claim: Claim) -> Iterator[Finding]:
    """A gauge against a size in square millimetres."""
    gauges, sizes = claim.of("AWG"), claim.of("mm2")
    if not (gauges and sizes):
        return
    area = gauge_area(gauges[0].value)
    sum_ = f"AWG {gauges[0].value:g} = {figures(area)} mm2 (ASTM B258)"
    good = abs(sizes[0].value / area - 1) <= CLOSE
    yield answer(claim, "gauge and size", good, sum_, f"Say {figures(area)} mm2, not {sizes[0].value:g} mm2.")


def wire(claim: Claim) -> Iterator[Finding]:
    """A wire's length and size against its ohms, or against its volts and amperes."""
    lengths = claim.of("m")
    sizes = [a.value for a in claim.of("mm2")] or [gauge_area(a.value) for a in claim.of("AWG")]
    ohms, volts, amps = claim.of("ohm"), claim.of("V"), claim.of("A")
    if not lengths or not sizes or not (ohms or (volts and amps and amps[0].value > 0)):
        return
    said = ohms[0].value if ohms else volts[0].value / amps[0].value
    true = wire_ohms(lengths[0].value, sizes[0])
    sum_ = (
        f"{lengths[0].value:g} m of {figures(sizes[0])} mm2 class 5 copper at 20 C, counted once, have "
        f"{in_ohms(true)}; said is {in_ohms(said)}"
    )
    right = f"Out and back they have {in_ohms(2 * true)}; more than that is a bad joint."
    yield answer(claim, "wire", 0.7 <= said / true <= 1.3, sum_, right)


def drop(claim: Claim) -> Iterator[Finding]:
    """Volts lost at a current: the ohms and watts that it means."""
    volts, amps = claim.of("V"), claim.of("A")
    others = claim.of("ohm") or claim.of("W") or claim.of("m")
    if not (volts and amps) or others or not claim.says("lose", "loses", "lost", "drop", "drops"):
        return
    if not (0 < volts[0].value <= 60 and 0 < amps[0].value <= 2000):
        return
    found = joint(volts[0].value, amps[0].value)
    sum_ = f"{volts[0].text} / {amps[0].text} = {in_ohms(found.ohms)}; {figures(found.watts, 2)} W of heat"
    over = ", ".join(found.over)
    right = f"Too much for: {over}." if over else "Within what the trade allows for any of its places."
    yield Finding("drop", claim.text, sum_, right, False, claim.line)


def ohms_law(claim: Claim) -> Iterator[Finding]:
    """Volts, amperes, ohms and watts of one thing, any three of them."""
    if claim.of("m") or claim.of("Ah") or "fuse" in claim.words:
        return
    found = {unit: claim.of(unit)[0].value for unit in ("V", "A", "ohm", "W") if claim.of(unit)}
    if len(found) < 3 or min(found.values()) <= 0:
        return
    told = next(u for u in ("ohm", "W", "A") if u in found)
    others = {u: x for u, x in found.items() if u != told}
    sum_, true = _solve(told, others)
    ratio = found[told] / true
    right = f"It would be {format_quantity(true, told)}, not {format_quantity(found[told], told)}."
    if min(abs(ratio / 1000 - 1), abs(ratio * 1000 - 1)) < 3 * CLOSE:
        right += " A thousand apart: a prefix (milli, kilo) was lost."
    yield answer(claim, "Ohm's law", abs(ratio - 1) <= CLOSE, sum_, right)


def _solve(unit: str, known: dict[str, float]) -> tuple[str, float]:
    """One of ohms, watts and amperes from two others; the sum in words and its value."""
    v, i, r, w = (known.get(u, 0.0) for u in ("V", "A", "ohm", "W"))
    say = {u: format_quantity(x, u) for u, x in known.items()}
    ways: dict[tuple[str, ...], tuple[str, Callable[[], float]]] = {
        ("ohm", "V", "A"): ("{V} / {A}", lambda: v / i),
        ("ohm", "V", "W"): ("{V} squared / {W}", lambda: v * v / w),
        ("ohm", "A", "W"): ("{W} / {A} squared", lambda: w / i**2),
        ("W", "V", "A"): ("{V} x {A}", lambda: v * i),
        ("W", "V", "ohm"): ("{V} squared / {ohm}", lambda: v * v / r),
        ("W", "A", "ohm"): ("{A} squared x {ohm}", lambda: i * i * r),
    }
    words, value = next(w for (u, *needs), w in ways.items() if u == unit and set(needs) <= set(known))
    result = value()
    return f"{words.format(**say)} = {format_quantity(result, unit)}", result


def limits(claim: Claim) -> Iterator[Finding]:
    """Limits the wrong way round, or around something other than their nominal value."""
    for found in claim.ranges():
        low, high = found.value, found.high or 0.0
        if low > high:
            sum_ = f"{low:g} is above {high:g}"
            yield answer(claim, "limits", False, sum_, f"The lower limit first: {high:g} to {low:g}.")
            continue
        for nominal in claim.of(found.unit) if claim.says("nominal", "new", "rated", "is", "limits") else ():
            sum_ = f"{nominal.text} beside {found.text}"
            inside = low <= nominal.value <= high
            right = "The window excludes its own value: one of the two is printed wrong."
            yield answer(claim, "limits", inside, sum_, right)


def bands(claim: Claim) -> Iterator[Finding]:
    """Bands that overlap or leave a gap."""
    found = sorted((r for r in claim.ranges() if r.value <= (r.high or 0.0)), key=lambda r: r.value)
    if len(found) < 2 or not claim.says("band", "bands"):
        return
    for one, other in pairwise(found):
        end = one.high or 0.0
        gap = other.value - end
        sum_ = f"{one.text} ends at {end:g}, {other.text} begins at {other.value:g}"
        if gap < 0:
            yield answer(
                claim, "bands", False, sum_, f"They overlap by {figures(-gap)}: two meanings at once."
            )
        elif gap > 0:
            yield Finding(
                "bands", claim.text, sum_, f"Between them {figures(gap)} means nothing.", False, claim.line
            )
        else:
            yield answer(claim, "bands", True, sum_, "")


def same(claim: Claim) -> Iterator[Finding]:
    """Two amounts of one unit that are said to be the same."""
    if (
        len(claim.amounts) != 2
        or claim.ranges()
        or not (claim.says("is", "are", "equals") or "=" in claim.text)
    ):
        return
    one, other = claim.amounts
    if one.unit != other.unit or other.value == 0:
        return
    unit = SHOWN.get(one.unit, one.unit)
    sum_ = f"{one.value:g} {unit} against {other.value:g} {unit}"
    good = abs(one.value / other.value - 1) <= 0.02
    yield answer(claim, "same unit", good, sum_, f"They are {figures(one.value / other.value)} to 1.")


RULES: tuple[Rule, ...] = (
    scales,
    copper_percent,
    fuse,
    drain,
    gauge,
    wire,
    drop,
    ohms_law,
    limits,
    bands,
    same,
)
"""Every rule; each answers only the claims that hold its amounts."""


def units_words(amounts: tuple[Amount, ...]) -> str:
    """The units of a claim, for a message that no rule fits them."""
    return ", ".join(dict.fromkeys(SHOWN.get(a.unit, a.unit) for a in amounts))

"""A stand-in in words: what to build, how to use it safely, and how to take it out again."""

from __future__ import annotations

from math import isfinite, isinf

from backprobe.report.layout import FIRST, joined, listed, quantity, wrap
from backprobe.report.value_words import value_words
from backprobe.workbench.standin import Bench
from backprobe.workbench.standin_backwards import Accepted
from backprobe.workbench.standin_input import InputPort
from backprobe.workbench.standin_parts import StandIn
from backprobe.workbench.standin_pot import TRACK_BOUND, Adjustable
from backprobe.workbench.supervision import Supervision

TESTING = (
    "FOR TESTING ONLY. A stand-in is no repair: it tells the controller that the guard is shut whatever "
    "the guard does. It comes out before anybody works with the machine."
)
STEPS = (
    "Machine on level ground, wheels blocked, attachment lowered or held up mechanically. Nobody near it "
    "but you; the key in your pocket while hands are at the plug.",
    "Close the guard for real and keep it closed: look at it, do not believe the lamp.",
    "Key off. Unplug the sensor. Put the stand-in on the machine side of the plug, taped and clear of metal.",
    "Key on, engine off. Read the signal at the stand-in and note lamp and codes; only then try the "
    "function, from the operator's place.",
)
REMOVAL = (
    "Key off. Take the stand-in out, plug the sensor in, clear the codes, and prove that the function stays "
    "dead with the guard open. A machine with a stand-in in it is not handed over."
)
LONGEST_LIST = 6


def standin_text(bench: Bench) -> str:
    """A whole answer: stand-ins, the one that can be turned, what the input accepts, steps and removal."""
    return joined(
        wrap(TESTING),
        _head(bench),
        _offers(bench),
        _turned(bench),
        accepts_lines(bench.accepts),
        _released(bench),
        _steps(bench),
        wrap(FIRST),
    )


def made_text(stand: StandIn, bench: Bench) -> str:
    """The judgement of a stand-in that somebody has already made."""
    return joined(
        wrap(TESTING),
        _head(bench),
        _stand(stand, bench, "As made: "),
        _released(bench),
        _steps(bench),
        wrap(FIRST),
    )


def _head(bench: Bench) -> list[str]:
    port, what = bench.port, "Wanted at the input"
    if bench.name:
        what = f"{bench.name} taken for {bench.meaning}"
    lines = wrap(f"{what}: {band_words(port)}; aim {quantity(bench.aim, 'V')}")
    lines += wrap(f"feed {value_words(port.feed)}", "   ") if port.has_feed else []
    for name, value in (
        ("pull-down", port.pull_down),
        ("pull-up", port.pull_up),
        ("pull-up volts", port.pull_up_volts),
    ):
        lines += wrap(f"{name} {value_words(value)}", "   ") if value else []
    codes = [
        f"{w} {quantity(v, 'V')}" for w, v in zip(("below", "above"), port.safe, strict=True) if isfinite(v)
    ]
    lines += wrap(f"codes {listed(codes)}", "   ") if codes else []
    cold, warm = bench.parts.temperatures
    lines += wrap(
        f"resistors from {bench.parts.name}, {100 * bench.parts.tolerance:g} %, "
        f"{cold:g} to {warm:g} °C: {100 * bench.parts.bound:.2g} % in all",
        "   ",
    )
    return lines


def band_words(port: InputPort) -> str:
    """``4.80 to 6.60 V``; an end that is not known is said."""
    low, high = port.band
    if isinf(low):
        return f"{quantity(high, 'V')} and below"
    return f"{quantity(low, 'V')} and above" if isinf(high) else _ends(low, high)


def _ends(low: float, high: float, unit: str = "V") -> str:
    """Two ends with all their digits: an edge is not rounded to where it does not stand."""
    return f"{quantity(low, unit)} to {quantity(high, unit)}"


def _offers(bench: Bench) -> list[str]:
    if not bench.stand_ins:
        return wrap(
            f"No stand-in from {bench.parts.name} reaches this band without loading the feed too much. "
            "Take a finer series, more values, or an adjustable source."
        )
    lines = [] if bench.best else wrap("None stays inside the band at its worst corner; the nearest:")
    for number, stand in enumerate(bench.stand_ins, 1):
        lines += _stand(stand, bench, f"{number}. ")
        if number <= len(bench.checked):
            shown = quantity(bench.checked[number - 1], "V")
            lines += wrap(f"the sheet's whole circuit, everything as marked: {shown}", "   ")
    return lines


def _stand(stand: StandIn, bench: Bench, first: str) -> list[str]:
    lines = wrap(f"{first}{build_words(stand, bench)}")
    edges = [
        f"{quantity(room, 'V')} to the {name} edge"
        for name, room in (("lower", stand.to_low), ("upper", stand.to_high))
        if isfinite(room)
    ]
    worst = _ends(stand.low, stand.high)
    lines += wrap(f"{quantity(stand.volts, 'V')}, at worst {worst}; left: {listed(edges)}", "   ")
    whence = "input" if stand.place == "to ground" else "feed"
    share = ""
    if bench.port.feed_limit is not None and whence == "feed":
        share = f" ({100 * stand.amps / bench.port.feed_limit.nominal:.0f} % of its limit)"
    lines += wrap(
        f"{stand.verdict}: {stand.room:.1f} tolerances to the nearer edge; takes "
        f"{quantity(stand.amps, 'A', 2)} from the {whence}{share}, at most "
        f"{quantity(stand.watts, 'W', 2)} in one resistor",
        "   ",
    )
    return lines


def build_words(stand: StandIn, bench: Bench) -> str:
    """``560 ohm from feed (C5-1) to signal (C5-3), 1.30 kohm from signal to ground (C5-2)``."""
    feed, signal, ground = _places(bench)
    if stand.place == "divider":
        upper, lower = (_ohms(r) for r in stand.resistors)
        return f"{upper} from {feed} to {signal}, {lower} from {signal} to {ground}"
    far = ground if stand.place == "to ground" else feed
    values = listed([_ohms(r) for r in stand.resistors])
    how = {"single": "", "series": " in series", "parallel": " in parallel"}[stand.joining]
    return f"{values}{how} from {signal} to {far}"


def _places(bench: Bench) -> tuple[str, str, str]:
    if bench.site is None:
        return "feed", "signal", "ground"
    named = (
        (n, p.removesuffix(".machine"))
        for n, p in zip(
            ("feed", "signal", "ground"), (bench.site.feed, bench.site.signal, bench.site.ground), strict=True
        )
    )
    feed, signal, ground = (f"{n} ({p})" if p and p != n else n for n, p in named)
    return feed, signal, ground


def _ohms(value: float) -> str:
    return quantity(value, "ohm", 3 if value >= 100 else 2)


def _turned(bench: Bench) -> list[str]:
    found = bench.adjustable
    if found is None:
        known = any(isfinite(v) for v in bench.port.safe)
        more = "" if known else " Say with --codes between which volts it sets no code."
        return wrap(f"To turn by hand: none that stays harmless at every corner; use a fixed one.{more}")
    feed, signal, ground = _places(bench)
    top = f"{_ohms(found.top)} from {feed} to one end of" if found.top else f"{feed} to one end of"
    bottom = (
        f"{_ohms(found.bottom)} from its other end to {ground}"
        if found.bottom
        else f"its other end to {ground}"
    )
    lines = wrap(
        f"To turn by hand: {top} a {_ohms(found.track)} potentiometer, {bottom}, wiper through "
        f"{_ohms(found.protector)} to {signal}"
    )
    return lines + _sweep(found)


def _sweep(found: Adjustable) -> list[str]:
    lines = wrap(
        f"sweeps {_ends(found.least, found.most)}; whatever the wiper does it never leaves "
        f"{_ends(found.never_below, found.never_above)} (track {100 * TRACK_BOUND:.0f} %)",
        "   ",
    )
    return lines + wrap(
        f"{quantity(found.amps, 'A', 2)} from the feed, {quantity(found.wiper_amps, 'A', 2)} through the "
        f"wiper into a short; a wiper that lifts leaves {quantity(found.open_wiper, 'V')}, as an open wire",
        "   ",
    )


def accepts_lines(found: tuple[Accepted, ...]) -> list[str]:
    """What a sensor may be on the input: as marked, and for certain."""
    lines = wrap("What this input accepts from a sensor (as marked; for certain)")
    for one in found:
        lines += wrap(
            f"{_accepted_name(one)}: {_range(one, sure=False)}; {_range(one, sure=True)}", "   ", "     "
        )
    return lines


def _accepted_name(one: Accepted) -> str:
    if one.what != "source volts":
        return one.what
    return f"volts behind {_ohms(one.source_ohms)}" if one.source_ohms else "volts of a stiff source"


def _range(one: Accepted, *, sure: bool) -> str:
    low, high = (one.sure_low, one.sure_high) if sure else (one.low, one.high)
    if low is None or high is None:
        return "none"
    if isinf(high):
        return f"{quantity(low, one.unit)} and above" + (", an open wire too" if one.unit == "ohm" else "")
    if low == 0:
        return f"up to {quantity(high, one.unit)}"
    return _ends(low, high, one.unit)


def _released(bench: Bench) -> list[str]:
    if bench.site is None:
        return wrap(
            "What it releases is not known without a sheet: take it that every function behind this guard "
            "may move at once, and that the guard must be truly shut."
        )
    if not bench.released:
        return wrap("With it in place no function of the sheet works in any operator state.")
    lines: list[str] = []
    for one in bench.released:
        guard = f"; its guard ({one.guard}) must be truly shut" if one.guard else ""
        lines += wrap(f"Would release: {one.function}{guard}.")
        if one.open is not None:
            state = ", ".join(f"{c} {p}" for c, p in one.open.state)
            lines += wrap(f"DEFEATS THE GUARD: {one.function} would work with {state}.", "   ")
    return lines


def _steps(bench: Bench) -> list[str]:
    lines = ["To use it"]
    for caution in bench.site.engine.sheet.cautions if bench.site else ():
        lines += wrap(caution, "   CAUTION  ")
    for number, step in enumerate(STEPS, 1):
        lines += wrap(step, f"   {number}. ")
    return lines + wrap(REMOVAL, "   REMOVE  ")


def pairs_text(found: tuple[Supervision, ...], line: str) -> str:
    """Series and parallel resistors on a two-wire input, judged."""
    head = wrap(
        f"Two-wire input of 8.2 V behind 1 kohm{line}: contact with a resistor in series and one across it"
    )
    lines: list[str] = []
    for one in found[:LONGEST_LIST]:
        accepted = {"fits": "accepted", "marginal": "marginal", "fails": "refused"}[one.verdict]
        lines += wrap(
            f"{_ohms(one.series_ohms)} in series, {_ohms(one.parallel_ohms)} across: {accepted}; "
            f"open {quantity(one.open_amps, 'A')}, closed {quantity(one.closed_amps, 'A')}",
            "   ",
        )
        near = one.margins[0]
        lines += wrap(
            f"nearest: {near.state} {quantity(near.amps, 'A')} against {quantity(near.limit, 'A')} "
            f"({near.what}), {100 * near.room:.0f} % away",
            "      ",
        )
    return joined(wrap(TESTING), head + lines, wrap(REMOVAL, "REMOVE  "), wrap(FIRST))

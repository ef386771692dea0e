"""Stand-ins as plain JSON values, and the schema of them."""

from __future__ import annotations

from dataclasses import asdict

from backprobe.report.data import Object, number, setup_data
from backprobe.report.schema_words import (
    MAYBE_NUMBER,
    NUMBER,
    TEXT,
    YES_NO,
    Schema,
    many,
    maybe,
    of,
    one_of,
    said,
    titled,
)
from backprobe.report.standin_words import REMOVAL, STEPS, TESTING
from backprobe.sheet.anatomy import Value
from backprobe.workbench.standin import Bench
from backprobe.workbench.standin_backwards import Accepted
from backprobe.workbench.standin_parts import StandIn
from backprobe.workbench.supervision import Supervision


def standin_data(bench: Bench, made: StandIn | None = None) -> Object:
    """A whole answer."""
    site, port = bench.site, bench.port
    return {
        **_always(),
        "input": bench.name,
        "meaning": bench.meaning,
        "plug": site.plug if site else "",
        "points": None if site is None else {"feed": site.feed, "signal": site.signal, "ground": site.ground},
        "band": {"low": number(port.band[0]), "high": number(port.band[1])},
        "codes": {"below": number(port.safe[0]), "above": number(port.safe[1])},
        "feed": _value(port.feed),
        "pull_down": _value(port.pull_down),
        "pull_up": _value(port.pull_up),
        "parts": {
            "name": bench.parts.name,
            "tolerance": bench.parts.tolerance,
            "bound": bench.parts.bound,
        },
        "aim": bench.aim,
        "made": None if made is None else _stand(made, None),
        "stand_ins": [
            _stand(s, bench.checked[i] if i < len(bench.checked) else None)
            for i, s in enumerate(bench.stand_ins)
        ],
        "adjustable": None if bench.adjustable is None else asdict(bench.adjustable),
        "accepts": [_accepted(a) for a in bench.accepts],
        "releases": [
            {
                "function": r.function,
                "guard": r.guard,
                "defeats_guard": r.open is not None,
                "with_guard_open": None if r.open is None else setup_data(r.open),
            }
            for r in bench.released
        ],
        "pairs": [],
    }


def pairs_data(found: tuple[Supervision, ...]) -> Object:
    """Pairs of resistors on a two-wire input; everything that is not asked for is empty."""
    return {
        **_always(),
        **dict.fromkeys(("input", "meaning", "plug"), ""),
        **dict.fromkeys(("points", "band", "codes", "feed", "pull_down", "pull_up", "parts", "aim", "made")),
        "adjustable": None,
        **{name: [] for name in ("stand_ins", "accepts", "releases")},
        "pairs": [
            {
                "series": s.series_ohms,
                "parallel": s.parallel_ohms,
                "open_amps": s.open_amps,
                "closed_amps": s.closed_amps,
                "verdict": s.verdict,
                "room": s.margins[0].room,
                "beyond": s.margins[0].what,
            }
            for s in found
        ],
    }


def _always() -> Object:
    return {"testing_only": True, "warning": TESTING, "steps": list(STEPS), "removal": REMOVAL}


def _value(value: Value | None) -> Object | None:
    if value is None:
        return None
    return {"value": value.nominal, "low": value.low, "high": value.high, "origin": value.origin.kind}


def _stand(stand: StandIn, checked: float | None) -> Object:
    return {
        **asdict(stand),
        "resistors": list(stand.resistors),
        "to_low": number(stand.to_low),
        "to_high": number(stand.to_high),
        "verdict": stand.verdict,
        "checked": checked,
    }


def _accepted(one: Accepted) -> Object:
    ends = {
        k: None if v is None else number(v) for k, v in asdict(one).items() if k.endswith(("low", "high"))
    }
    exists = {"any": one.low is not None, "any_sure": one.sure_low is not None}
    return {"what": one.what, "unit": one.unit, "source_ohms": one.source_ohms, **ends, **exists}


_VALUE = maybe(of(value=NUMBER, low=NUMBER, high=NUMBER, origin=TEXT))
_STAND = of(
    place=one_of("divider", "to ground", "to feed"),
    joining=one_of("single", "series", "parallel"),
    resistors=said(many(NUMBER), "of a divider: to feed, to ground [ohm]"),
    volts=said(NUMBER, "as marked [V]"),
    low=said(NUMBER, "worst corner [V]"),
    high=said(NUMBER, "worst corner [V]"),
    to_low=said(MAYBE_NUMBER, "left to the lower edge at the worst corner [V]; null without one"),
    to_high=MAYBE_NUMBER,
    room=said(NUMBER, "distance to the nearer edge, in tolerances"),
    amps=said(NUMBER, "from the feed, or from the input where it only goes to ground [A]"),
    watts=said(NUMBER, "most in one resistor [W]"),
    verdict=one_of("fits", "marginal", "fails"),
    checked=said(MAYBE_NUMBER, "by the sheet's whole circuit [V]"),
)


def standin_schema(setup: Schema) -> Schema:
    """The schema of `stand-in`."""
    return titled(
        "A stand-in for a sensor, for testing only",
        of(
            testing_only=YES_NO,
            warning=TEXT,
            steps=many(TEXT),
            removal=TEXT,
            input=TEXT,
            meaning=TEXT,
            plug=TEXT,
            points=maybe(of(feed=TEXT, signal=TEXT, ground=TEXT)),
            band=said(maybe(of(low=MAYBE_NUMBER, high=MAYBE_NUMBER)), "null where it has no end [V]"),
            codes=maybe(of(below=MAYBE_NUMBER, above=MAYBE_NUMBER)),
            feed=_VALUE,
            pull_down=_VALUE,
            pull_up=_VALUE,
            parts=maybe(of(name=TEXT, tolerance=NUMBER, bound=said(NUMBER, "tolerance and temperature"))),
            aim=said(MAYBE_NUMBER, "[V]"),
            made=said(maybe(_STAND), "the one that was given to be judged"),
            stand_ins=said(many(_STAND), "best first"),
            adjustable=maybe(
                of(
                    top=NUMBER,
                    track=NUMBER,
                    bottom=NUMBER,
                    protector=NUMBER,
                    least=NUMBER,
                    most=NUMBER,
                    never_below=said(NUMBER, "whatever the wiper does [V]"),
                    never_above=NUMBER,
                    surely_from=NUMBER,
                    surely_to=NUMBER,
                    amps=NUMBER,
                    wiper_amps=NUMBER,
                    open_wiper=NUMBER,
                )
            ),
            accepts=many(
                of(
                    what=one_of("source volts", "ohms to ground", "ohms to feed"),
                    unit=TEXT,
                    source_ohms=NUMBER,
                    low=MAYBE_NUMBER,
                    high=said(MAYBE_NUMBER, "null where an open wire is accepted too, or nothing is"),
                    sure_low=MAYBE_NUMBER,
                    sure_high=MAYBE_NUMBER,
                    any=said(YES_NO, "some value is accepted"),
                    any_sure=YES_NO,
                )
            ),
            releases=many(
                of(
                    function=TEXT,
                    guard=TEXT,
                    defeats_guard=said(YES_NO, "it would work with the guard open"),
                    with_guard_open=maybe(setup),
                )
            ),
            pairs=said(
                many(
                    of(
                        series=NUMBER,
                        parallel=NUMBER,
                        open_amps=NUMBER,
                        closed_amps=NUMBER,
                        verdict=one_of("fits", "marginal", "fails"),
                        room=said(NUMBER, "share of the nearest limit"),
                        beyond=TEXT,
                    )
                ),
                "on a two-wire input, with --two-wire",
            ),
        ),
    )

"""The JSON Schemas of band and log."""

from __future__ import annotations

from backprobe.report.schema_words import (
    MAYBE_NUMBER,
    NUMBER,
    PROBABILITY,
    TEXT,
    WHOLE,
    YES_NO,
    many,
    maybe,
    of,
    one_of,
    said,
    titled,
)

ENDS = of(low=NUMBER, high=NUMBER)
WAY = one_of("up", "down")
BAND = titled(
    "The bands of a controller input, from a sweep",
    of(
        readings=many(
            of(
                volts=said(NUMBER, "[V]"),
                answer=TEXT,
                way=said(one_of("up", "down", ""), "as typed; empty when not said"),
                digit=said(NUMBER, "one unit of the last digit [V]"),
                count=WHOLE,
            )
        ),
        accuracy=of(percent=NUMBER, counts=NUMBER),
        crossings=many(
            of(
                below=TEXT,
                above=TEXT,
                edges=many(
                    of(
                        way=one_of("up", "down", "both"),
                        low=said(NUMBER, "95 % interval with the meter's error [V]"),
                        best=NUMBER,
                        high=NUMBER,
                        width=said(NUMBER, "by which the edge itself is unsharp [V]"),
                        readings=WHOLE,
                    )
                ),
                hysteresis=said(
                    maybe(PROBABILITY), "that it lies elsewhere going down; null when one way was tried"
                ),
                meter=said(NUMBER, "how far the meter may be off there [V]"),
            )
        ),
        bands=many(
            of(
                answer=TEXT,
                tried=said(ENDS, "where it was seen [V]"),
                sure=said(maybe(ENDS), "surely inside [V]"),
                middle=said(MAYBE_NUMBER, "[V]; null where an end was not found"),
                margin=said(MAYBE_NUMBER, "from the middle to the nearest possible edge [V]"),
            )
        ),
        take_again=said(many(WHOLE), "indexes of readings that do not fit"),
        next=said(
            maybe(
                of(
                    volts=NUMBER,
                    way=said(WAY, "side to come from"),
                    bits=said(MAYBE_NUMBER, "expected; null beyond what was tried"),
                    between=TEXT,
                )
            ),
            "null when the meter's error is what limits",
        ),
        input=said(TEXT, "of the sheet; empty without one"),
        stated=many(
            of(
                meaning=TEXT,
                end=one_of("from", "up to", "left below"),
                stated=said(NUMBER, "in the sheet [V]"),
                answer=said(TEXT, "the measured band it was held against"),
                low=said(MAYBE_NUMBER, "95 % interval of the measured edge [V]"),
                high=MAYBE_NUMBER,
                verdict=one_of("holds", "open", "disagrees", "not tried"),
            )
        ),
        line=said(TEXT, "to paste into a sheet"),
    ),
)
INTERVAL_95 = of(low=NUMBER, best=NUMBER, high=said(MAYBE_NUMBER, "null for no limit"))
LEVEL = of(
    volts=said(NUMBER, "as recorded [V]"),
    sound=said(NUMBER, "in a sound circuit [V]"),
    spread=said(NUMBER, "standard deviation of that [V]"),
    fits=YES_NO,
)
LOG = titled(
    "What a recording of volts over time says",
    of(
        file=TEXT,
        clock=said(YES_NO, "times are times of day, as seconds since midnight"),
        start=said(NUMBER, "[s]"),
        end=said(NUMBER, "[s]"),
        values=WHOLE,
        channel=said(TEXT, "that notes and suspects are about"),
        dropouts=many(
            of(
                channel=TEXT,
                unit=TEXT,
                steady=said(NUMBER, "usual level [unit]"),
                away=said(NUMBER, "level of the dropouts [unit]; the usual one without any"),
                noise=said(NUMBER, "from value to value [unit]"),
                spacing=said(NUMBER, "[s]; shorter dropouts may be missed"),
                watched=said(NUMBER, "time at the usual level [s]"),
                rate=said(INTERVAL_95, "Poisson, 95 % [1/s]"),
                mean_length=said(maybe(INTERVAL_95), "exponential, 95 % [s]"),
                gaps=of(count=WHOLE, seconds=NUMBER),
                spans=many(
                    of(
                        start=said(NUMBER, "[s]"),
                        end=NUMBER,
                        cut=said(YES_NO, "a gap or an end hides where it begins or ends"),
                        length=NUMBER,
                    )
                ),
            )
        ),
        changes=many(
            of(
                channel=TEXT,
                unit=TEXT,
                design=of(
                    block=said(NUMBER, "time averaged over [s]"),
                    noise=said(NUMBER, "of such an average [unit]"),
                    k=NUMBER,
                    h=NUMBER,
                    run_length=said(NUMBER, "mean time between false alarms in this noise [s]"),
                    delay=said(NUMBER, "mean time until a step of twice the noise is seen [s]"),
                    white=said(YES_NO, "neighbouring averages are independent"),
                ),
                found=many(
                    of(
                        kind=one_of("step", "drift"),
                        time=said(INTERVAL_95, "[s]"),
                        size=said(INTERVAL_95, "[unit], of a drift [unit/s]"),
                        until=NUMBER,
                        seen=said(NUMBER, "when the chart noticed [s]"),
                    )
                ),
            )
        ),
        notes=many(
            of(
                text=TEXT,
                times=many(NUMBER),
                hits=said(WHOLE, "with a dropout beginning near"),
                by_chance=said(PROBABILITY, "of one note at any time"),
                chance=said(PROBABILITY, "of so many hits if they had nothing to do with it"),
                within=said(NUMBER, "[s]"),
            )
        ),
        companions=many(
            of(
                channel=TEXT,
                other=TEXT,
                what=one_of("dropouts", "step", "drift"),
                time=NUMBER,
                own=said(NUMBER, "move of the channel [unit]"),
                others=said(NUMBER, "move of the other [unit]"),
                verdict=one_of("together", "alone"),
            )
        ),
        suspects=said(
            maybe(
                of(
                    as_built=said(one_of("steady", "away", "neither"), "level of a sound circuit"),
                    steady=LEVEL,
                    away=LEVEL,
                    suspects=many(
                        of(
                            name=TEXT,
                            probability=PROBABILITY,
                            predicted=said(NUMBER, "with it [V]"),
                            lasting=said(YES_NO, "does not come and go"),
                        )
                    ),
                    none_of_these=PROBABILITY,
                )
            ),
            "null without a sheet",
        ),
    ),
)

"""The JSON Schemas of budget, wire, temperature and sanity."""

from __future__ import annotations

from backprobe.report.schema_words import (
    MAYBE_NUMBER,
    NUMBER,
    TEXT,
    WHOLE,
    YES_NO,
    Schema,
    many,
    maybe,
    of,
    said,
    titled,
)

AMPS: dict[str, Schema] = {
    "rested": said(NUMBER, "at rested volts [A]"),
    "running": said(NUMBER, "at running volts [A]"),
    "most": said(NUMBER, "running, with the lowest ohms [A]"),
    "inrush": said(NUMBER, "first moment, filaments cold [A]"),
}
FINDING = of(
    field=said(TEXT, "where it stands, or the rule of a claim"),
    value=said(TEXT, "as written"),
    arithmetic=TEXT,
    right=said(TEXT, "what would be right"),
    wrong=said(YES_NO, "it cannot be so; else it is worth a look"),
    line=said(WHOLE, "from 1; 0 for none"),
    holds=said(YES_NO, "the arithmetic bears the claim out"),
)
SHARE = of(
    name=TEXT,
    limit=said(MAYBE_NUMBER, "[A]; null when not stated"),
    **AMPS,
    share=said(MAYBE_NUMBER, "running over limit"),
)
FUSE = of(
    name=TEXT,
    rating=said(NUMBER, "[A]"),
    assumed=YES_NO,
    **AMPS,
    share=said(NUMBER, "running over rating"),
    kind=said(TEXT, "fuse, circuit breaker or fusible link"),
    opens=maybe(of(least=said(NUMBER, "[s]"), most=said(MAYBE_NUMBER, "[s]; null when it need not open"))),
)
WINDOW = of(low=NUMBER, high=NUMBER)


def budget_schema(setup: Schema) -> Schema:
    """The schema of a budget."""
    return titled(
        "Amperes against fuse, driver, feed and wire",
        of(
            sheet=TEXT,
            setup=setup,
            volts=said(many(NUMBER), "rested and running [V]"),
            fuses=many(FUSE),
            drivers=many(SHARE),
            feeds=many(SHARE),
            loads=many(of(name=TEXT, kind=TEXT, ohms=NUMBER, volts=NUMBER, **AMPS, watts=NUMBER)),
            runs=many(
                of(
                    name=TEXT,
                    amps=NUMBER,
                    drop=said(NUMBER, "in wires, joints, switches and fuses [V]"),
                    share=said(NUMBER, "of the system's volts"),
                    worst=said(TEXT, "the conductor that loses most"),
                    worst_drop=NUMBER,
                    worst_watts=NUMBER,
                )
            ),
            parked=said(NUMBER, "every control at rest [A]"),
            capacity=said(NUMBER, "[Ah]"),
            days_to_flat=MAYBE_NUMBER,
            findings=many(FINDING),
        ),
    )


WIRE = titled(
    "A wire's drop, a joint, or the size that would do",
    of(
        drop=maybe(
            of(
                length=said(NUMBER, "all the copper [m]"),
                rule=said(TEXT, "how the length was counted"),
                size=said(NUMBER, "[mm2]"),
                amps=NUMBER,
                system=NUMBER,
                ohms=NUMBER,
                drop=said(NUMBER, "[V]"),
                watts=NUMBER,
                share=said(NUMBER, "of the system's volts"),
                table=said(TEXT, "where the ohms come from"),
                celsius=NUMBER,
                convention=said(TEXT, "copper and temperature"),
                gauge=said(NUMBER, "the size as an AWG number"),
                largest_fuse=said(NUMBER, "it should stand behind [A]"),
            )
        ),
        joint=maybe(
            of(
                volts=NUMBER,
                amps=NUMBER,
                ohms=NUMBER,
                watts=NUMBER,
                over=said(many(TEXT), "limits that it exceeds"),
                state=said(TEXT, "as a new joint, as a corroded one"),
            )
        ),
        least=maybe(
            of(critical=said(MAYBE_NUMBER, "for 3 % [mm2]"), ordinary=said(MAYBE_NUMBER, "for 10 % [mm2]"))
        ),
    ),
)
TEMPERATURE = titled(
    "Copper at another temperature, or a battery in the cold",
    of(
        reading=maybe(
            of(
                read=said(NUMBER, "[ohm]"),
                leads=said(NUMBER, "[ohm]"),
                own=said(NUMBER, "read less leads [ohm]"),
                celsius=NUMBER,
                reference=said(NUMBER, "brought to [degC]"),
                ohms=said(NUMBER, "at the reference [ohm]"),
                convention=TEXT,
                window=said(maybe(WINDOW), "at the reference [ohm]"),
                window_here=said(maybe(WINDOW), "at the part's temperature [ohm]"),
                good={"type": ["boolean", "null"]},
            )
        ),
        window=maybe(
            of(
                low=NUMBER,
                high=NUMBER,
                celsius=NUMBER,
                moved_low=NUMBER,
                moved_high=NUMBER,
                reference=NUMBER,
                convention=TEXT,
            )
        ),
        battery=maybe(
            of(
                celsius=NUMBER,
                capacity=said(NUMBER, "share of that at 27 C"),
                cranking=said(NUMBER, "share of that at 27 C"),
                volts_change=NUMBER,
                resistance=said(NUMBER, "factor on that at 27 C"),
            )
        ),
    ),
)
SANITY = titled(
    "Numbers that cannot be so",
    of(source=TEXT, claims=said(YES_NO, "claims, not a sheet"), findings=many(FINDING)),
)

"""JSON Schemas of trials, all joins and hearsay."""

from __future__ import annotations

from backprobe.report.schema_words import (
    MAYBE_NUMBER,
    NUMBER,
    PROBABILITY,
    TEXT,
    WHOLE,
    YES_NO,
    Schema,
    every,
    many,
    maybe,
    of,
    one_of,
    said,
    titled,
)
from backprobe.workbench.verdict import VERDICTS

VERDICT = one_of(*VERDICTS)
SUSPECT = of(
    name=TEXT,
    probability=PROBABILITY,
    verdict=VERDICT,
    cures=said(YES_NO, "every function then works as in a sound machine, and every guard holds"),
    reasons=many(TEXT),
)
STATE = of(
    state=said(every(TEXT), "control to position"),
    judged=said(YES_NO, "false where the claim does not speak of this state"),
    verdict=VERDICT,
    reasons=many(TEXT),
    lamps=said(every(TEXT), "lamp to what it shows"),
    codes=many(TEXT),
    released=said(many(TEXT), "functions let go"),
    held=many(TEXT),
    limiting=said(many(TEXT), "feeds held at their current limit, which they survive"),
    damaged=said(many(TEXT), "what bears more than it can, because of the cure"),
    fuses=said(many(TEXT), "fuses that open, because of the cure"),
    carried=said(
        many(
            of(
                name=TEXT,
                what=TEXT,
                value=MAYBE_NUMBER,
                limit=MAYBE_NUMBER,
                unit=one_of("A", "V", "W"),
                share=said(MAYBE_NUMBER, "of its limit [1]"),
                amps=MAYBE_NUMBER,
                watts=MAYBE_NUMBER,
            )
        ),
        "wires, pins, feeds, inputs, drivers, loads, resistors and leads, most loaded first",
    ),
)
BUILD = of(
    build=said(TEXT, "values that the sheet leaves open"),
    probability=PROBABILITY,
    verdict=VERDICT,
    reasons=many(TEXT),
    cure_chance=said(PROBABILITY, "if this is the build"),
)
MEANING = of(
    words=said(TEXT, "what would be done"),
    lasting=said(YES_NO, "left in place"),
    verdict=VERDICT,
    reasons=many(TEXT),
    cautions=said(many(TEXT), "why it is refused for good, or its safe set-up and how it is put back"),
    instead=said(TEXT, "the measurement that tells the same without it; empty where it touches no guard"),
    cure_chance=said(PROBABILITY, "of all suspects that it cures together"),
    works_chance=said(
        maybe(PROBABILITY), "that what was read dead works with it; null where nothing was, or if refused"
    ),
    builds=said(many(BUILD), "that the readings leave; empty where the sheet leaves none open"),
    refused=said(
        YES_NO, "it takes from a guard what it tells: only why is said, and what to measure instead"
    ),
    states=said(
        many(STATE), "nothing else being wrong; of several builds on the first one named; empty if refused"
    ),
    suspects=said(many(SUSPECT), "empty if refused"),
)
JOINS = of(
    plug=TEXT,
    unplugged=YES_NO,
    faults=WHOLE,
    states=WHOLE,
    circuits=said(WHOLE, "joins x faults x states"),
    joins=many(
        of(
            cavities=said(many(many(TEXT)), "blocks of cavities joined to each other"),
            verdict=said(VERDICT, "on a sound machine, worst over all operator states"),
            reasons=many(TEXT),
            by_fault=said(every(NUMBER), "verdict to the number of single faults with which it is the worst"),
            defeats_with=said(many(TEXT), "faults under which it defeats the guard and else not"),
            suspects=many(SUSPECT),
        )
    ),
)
CHECK = of(claim=TEXT, shown=TEXT, safe_set_up=TEXT, put_back=TEXT)


def trial_schema(reading: Schema) -> Schema:
    """The schema of ``trial``, given that of a reading."""
    return titled(
        "A proposed cure acted out",
        of(
            sheet=TEXT,
            claim=TEXT,
            verdict=said(TEXT, "the worst of its meanings; empty for all joins"),
            meanings=many(MEANING),
            readings=many(reading),
            all_joins=maybe(JOINS),
            recorded=said(maybe(CHECK), "as it went on the job's record"),
        ),
    )


def hearsay_schema(reading: Schema) -> Schema:
    """The schema of ``hearsay``, given that of a reading."""
    return titled(
        "Proposed cures in one table",
        of(
            sheet=TEXT,
            said=many(
                of(
                    line=WHOLE,
                    text=TEXT,
                    verdict=said(
                        TEXT,
                        "of its worst meaning, the best where none does harm; empty if not understood",
                    ),
                    cure_chance=PROBABILITY,
                    problem=said(TEXT, "why it was not understood"),
                    meanings=many(MEANING),
                )
            ),
            readings=many(reading),
            suspects=many(of(name=TEXT, probability=PROBABILITY)),
            builds=said(many(of(build=TEXT, probability=PROBABILITY)), "that the sheet leaves open"),
            answer=said(TEXT, "to be pasted as a reply"),
        ),
    )

"""A JSON Schema for every document that ``--json`` prints, by the name of its kind."""

from __future__ import annotations

from backprobe.diagnosis.slip_kinds import SLIP_KINDS
from backprobe.readings.model import KINDS
from backprobe.report.band_log_schemas import BAND, LOG
from backprobe.report.numbers_schemas import SANITY, TEMPERATURE, WIRE, budget_schema
from backprobe.report.past_schemas import read_schema, show_schema
from backprobe.report.pinout_data import PINOUT
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
from backprobe.report.standin_data import standin_schema
from backprobe.report.trial_schemas import hearsay_schema, trial_schema

INTERVAL = maybe(of(low=MAYBE_NUMBER, best=MAYBE_NUMBER, high=MAYBE_NUMBER))
SETUP = of(
    state=said(every(TEXT), "control to position"),
    unplugged=said(many(TEXT), "plugs, fuses and rings that are off"),
    attached=many(of(kind=TEXT, red=TEXT, black=TEXT, ohms=MAYBE_NUMBER, volts=MAYBE_NUMBER)),
)
READING = of(
    kind=one_of(*KINDS),
    text=said(TEXT, "as typed"),
    red=TEXT,
    black=TEXT,
    value=said(MAYBE_NUMBER, "V, ohm or A; null when it is no number, over-range or unsteady"),
    unit=TEXT,
    leads=said(MAYBE_NUMBER, "taken off the value, 0 if done by hand [ohm]; null when not known"),
    moving=said(maybe(of(low=NUMBER, high=NUMBER)), "ends between which it moved; null when steady"),
    over_range=YES_NO,
    unsteady=YES_NO,
    subject=said(TEXT, "function, part, lamp or input, for what is no number"),
    seen=TEXT,
    setup=SETUP,
)
REASON = of(
    reading=said(WHOLE, "index in readings"),
    predicted=said(MAYBE_NUMBER, "with this fault; a probability for what is no number"),
    as_built=said(MAYBE_NUMBER, "in a sound circuit"),
    measured=MAYBE_NUMBER,
    speaks=said(MAYBE_NUMBER, "natural-log ratio against all other suspects; above 0 speaks for it"),
)
SUSPECT = of(
    name=TEXT,
    faults=said(many(TEXT), "repaired together, each `part: mode`"),
    families=many(one_of("copper", "contact", "part", "source", "electronics", "wiring")),
    probability=said(PROBABILITY, "that repairing it is the cure"),
    present=said(PROBABILITY, "that the fault is there at all"),
    ohms=said(INTERVAL, "its resistance, 90 % interval [ohm]"),
    repair=TEXT,
    minutes=said(NUMBER, "for the repair [min]"),
    cost=said(NUMBER, "of the repair [money units]"),
    fmi=said(
        many(of(pin=TEXT, number=said(WHOLE, "failure mode identifier of SAE J1939-73"), words=TEXT)),
        "what the controller would say of its pins, with everything plugged; empty where nothing is out of "
        "the normal",
    ),
    reasons=many(REASON),
)
SERIES = said(
    of(start=TEXT, end=TEXT, through=TEXT, probability=PROBABILITY), "a row that its suspects lie on"
)
CHECK = of(
    kind=one_of(*KINDS),
    do=said(TEXT, "what to do, in words"),
    red=TEXT,
    black=TEXT,
    part=said(TEXT, "looked at or swapped"),
    setup=SETUP,
    minutes=said(NUMBER, "from where the last reading was made [min]"),
    bits=said(NUMBER, "expected information about the cause [bit]"),
    cautions=many(TEXT),
    proves=said(TEXT, "what must be read before a controller is blamed, and this would; else empty"),
    outcomes=many(
        of(
            low=MAYBE_NUMBER,
            high=MAYBE_NUMBER,
            unit=TEXT,
            shows=TEXT,
            means=many(TEXT),
            probability=PROBABILITY,
        )
    ),
)
SPLIT = of(
    check=CHECK,
    apart=many(of(outcome=said(WHOLE, "index in check.outcomes"), means=many(TEXT))),
    separated=said(PROBABILITY, "share of the group's pairs told apart"),
)
PROBLEM = of(
    file=TEXT, line=said(WHOLE, "from 1; 0 for none"), field=TEXT, value=TEXT, message=TEXT, remedy=TEXT
)
DOUBT = of(
    reading=said(WHOLE, "index in readings"),
    probability=PROBABILITY,
    expected=said(MAYBE_NUMBER, "by the other readings [V, A or ohm]"),
    slips=said(
        many(
            of(
                kind=one_of(*(k.name for k in SLIP_KINDS)),
                chance=said(PROBABILITY, "given that it is a slip"),
                shows=said(MAYBE_NUMBER, "what the meter would show then; null for anything"),
                where=said(TEXT, "the other cavity, position, plug or point"),
                detail=said(MAYBE_NUMBER, "ohms of leads or leak, volts between the leads, share of a pulse"),
                do=TEXT,
            )
        ),
        "most probable first",
    ),
)
ADVICE = said(many(of(kind=TEXT, text=TEXT)), "what to mind before it is believed")
ORIGINS = said(every(WHOLE), "how many values are measured, published, assumed or default")
VALUE = of(
    nominal=NUMBER,
    low=NUMBER,
    high=NUMBER,
    unit=said(TEXT, "empty for a share"),
    origin=one_of("measured", "published", "assumed", "default"),
    note=TEXT,
)
VALUES = every(VALUE)

ANSWER = of(
    sheet=TEXT,
    headline=said(TEXT, "the answer in one line"),
    none_of_these_leads=said(YES_NO, "no fault of this sheet explains the readings"),
    controller_needs_proof=said(
        YES_NO, "a leading suspect is inside a controller: prove feed, ground, inputs and output first"
    ),
    held_back=said(
        many(of(name=TEXT, probability=PROBABILITY, missing=many(TEXT))),
        "suspects inside a controller that may not lead yet, and what has to be read first",
    ),
    readings=many(READING),
    groups=said(
        many(of(probability=PROBABILITY, series=many(SERIES), suspects=many(SUSPECT))),
        "most probable first; alike by these readings",
    ),
    as_built=PROBABILITY,
    none_of_these=PROBABILITY,
    builds=said(
        many(of(values=every(TEXT), probability=PROBABILITY)),
        "builds that the sheet leaves open, most probable first; the answer is of the first, "
        "its probabilities are of all",
    ),
    worn=said(many(of(name=TEXT, present=PROBABILITY, ohms=INTERVAL)), "worn but not the cause"),
    values=said(
        many(of(name=TEXT, unit=TEXT, low=MAYBE_NUMBER, best=MAYBE_NUMBER, high=MAYBE_NUMBER)),
        "as the readings leave them, 90 % interval",
    ),
    take_again=said(many(DOUBT), "readings that may be slips"),
    live_ohms=said(
        many(of(reading=WHOLE, volts=said(NUMBER, "between the leads [V]"))),
        "readings of ohms that are no resistance: the circuit is live there",
    ),
    drops=said(many(of(readings=many(TEXT), gap=NUMBER, spread=NUMBER)), "loops that do not sum [V]"),
    factors=said(every(NUMBER), "factors on fault families, from the circumstances"),
    origins=ORIGINS,
    asks=said(many(TEXT), "open questions of the sheet"),
    tells_apart=said(maybe(SPLIT), "the check that tells the leading group apart"),
    repair_now=said(
        maybe(
            of(
                suspect=TEXT,
                wasted=said(NUMBER, "expected minutes of repairing it in vain [min]"),
                check_minutes=said(MAYBE_NUMBER, "what the best check takes; null where none is left [min]"),
                chance=said(NUMBER, "that it is the cure, whatever is wrong in the part [1]"),
                may=said(YES_NO, "whether a further check would pay all the same"),
            )
        ),
        "set when repairing is expected to cost less than another check, or one part is likely enough",
    ),
    checks=said(many(CHECK), "best first"),
)
PART = of(
    name=TEXT,
    kind=TEXT,
    drawn=said(YES_NO, "false for what is implied"),
    values=VALUES,
    levels=VALUES,
    closed=every(many(TEXT)),
    texts=every(TEXT),
    pins=many(
        of(
            name=TEXT,
            role=TEXT,
            values=VALUES,
            bands=many(
                of(
                    low=NUMBER,
                    high=NUMBER,
                    meaning=TEXT,
                    falling=said(maybe(of(low=NUMBER, high=NUMBER)), "edges while the volts go down"),
                )
            ),
            texts=every(TEXT),
        )
    ),
    minutes=said(MAYBE_NUMBER, "to reach it [min]"),
    caution=TEXT,
)
SHEET = of(
    sheet=TEXT,
    system_volts=NUMBER,
    controls=said(every(many(TEXT)), "the first position is the one at rest"),
    bodies=said(many(TEXT), "metal bodies beside the frame, each a point"),
    runs=every(
        many(of(text=TEXT, part=TEXT, enter=TEXT, leave=TEXT, role=one_of("point", "cavity", "part")))
    ),
    parts=many(PART),
    connectors=every(of(cavities=many(TEXT), part=TEXT, minutes=NUMBER, caution=TEXT)),
    points=said(many(TEXT), "that a lead can reach, all plugged"),
    latches=many(of(name=TEXT, set_when=TEXT, clear_when=TEXT, set_by=many(TEXT))),
    functions=many(
        of(
            name=TEXT,
            releases_when=TEXT,
            drives=many(TEXT),
            loads=many(TEXT),
            guard=TEXT,
            works_with=said(maybe(SETUP), "the state nearest to rest in which it works"),
        )
    ),
    lamps=every(every(TEXT)),
    origins=ORIGINS,
    looks_odd=many(TEXT),
    asks=many(TEXT),
    cautions=many(TEXT),
    notes=many(TEXT),
)
CHECKED = of(
    file=TEXT,
    good=YES_NO,
    problems=many(PROBLEM),
    parts=WHOLE,
    points=WHOLE,
    faults=WHOLE,
    origins=ORIGINS,
    asks=many(TEXT),
    looks_odd=many(TEXT),
)
ENTRY = of(
    number=WHOLE,
    kind=TEXT,
    at=said(TEXT, "UTC, 2026-03-02T09:15:00Z"),
    stands=said(YES_NO, "false when undone"),
    words=TEXT,
)
JOB = of(id=TEXT, title=TEXT, machine=TEXT, sheet=TEXT, open=YES_NO, entries=many(ENTRY))
JOB_LINE = of(id=TEXT, title=TEXT, machine=TEXT, opened_at=TEXT, last_at=TEXT, readings=WHOLE, open=YES_NO)
POINT = of(
    red=TEXT,
    black=TEXT,
    volts=MAYBE_NUMBER,
    low=said(MAYBE_NUMBER, "95 % interval"),
    high=MAYBE_NUMBER,
    ohms=said(MAYBE_NUMBER, "seen from the two leads"),
)

PLAN_END = of(
    kind=one_of("repair", "group", "as built"),
    words=TEXT,
    suspects=said(
        many(of(name=TEXT, repair=TEXT, probability=PROBABILITY)), "named ones, in the order of repair"
    ),
    others=said(WHOLE, "causes not named"),
    minutes=said(NUMBER, "expected for the repairs, those in vain included [min]"),
    told_apart_by=said(
        {"type": ["string", "null"]}, "a check that would, though it takes more than it saves"
    ),
)
PLAN = of(
    sheet=TEXT,
    readings=many(READING),
    assumed=said(YES_NO, "nobody said what is dead"),
    setup=SETUP,
    check_minutes=said(NUMBER, "expected for the checks [min]"),
    minutes=said(NUMBER, "expected until it works again [min]"),
    without_checks=said(NUMBER, "the same by repairing alone, in the best order [min]"),
    end=said(maybe(PLAN_END), "where no check is worth its time"),
    steps=many(
        of(
            number=WHOLE,
            check=said(
                of(**{k: v for k, v in CHECK["properties"].items() if k not in {"outcomes", "bits"}}),
                "as in `next`",
            ),
            minutes_ahead=said(NUMBER, "expected from here until it works again [min]"),
            branches=many(
                of(
                    low=said(MAYBE_NUMBER, "V or ohm; null where it has no end"),
                    high=MAYBE_NUMBER,
                    shows=TEXT,
                    probability=PROBABILITY,
                    step=said({"type": ["integer", "null"]}, "number of the step that follows"),
                    end=maybe(PLAN_END),
                )
            ),
        )
    ),
)

SCHEMAS: dict[str, Schema] = {
    "band": BAND,
    "log": LOG,
    "budget": budget_schema(SETUP),
    "wire": WIRE,
    "temperature": TEMPERATURE,
    "sanity": SANITY,
    "trial": trial_schema(READING),
    "hearsay": hearsay_schema(READING),
    "stand-in": standin_schema(SETUP),
    "pin-out": PINOUT,
    "rank": titled("Suspects by what was read", ANSWER),
    "next": titled("Checks, best first", of(sheet=TEXT, headline=TEXT, checks=many(CHECK))),
    "plan": titled("A decision tree of checks ahead of time", PLAN),
    "pocket": titled(
        "A pocket card that was written",
        of(
            sheet=TEXT,
            file=TEXT,
            bytes=said(WHOLE, "size of the file"),
            points=WHOLE,
            faults=WHOLE,
            builds=WHOLE,
        ),
    ),
    "predict": titled(
        "What the meter should show",
        of(sheet=TEXT, setup=SETUP, fault=TEXT, works=many(TEXT), points=many(POINT), mind=ADVICE),
    ),
    "sheet check": titled("Checked sheet files", of(files=many(CHECKED))),
    "sheet show": titled("A sheet with its defaults", SHEET),
    "sheet new": titled(
        "The templates of sheets, or a sheet begun from one",
        of(
            templates=said(many(of(name=TEXT, about=TEXT)), "all, or the one that was used"),
            written=said(TEXT, "the new file; empty where they are only listed"),
            sheet=said(TEXT, "name of the new sheet"),
            first=said(
                maybe(of(do=TEXT, setup=SETUP, minutes=NUMBER, cautions=many(TEXT))),
                "what to read first; null where no check is worth its time",
            ),
            unknown=said(many(TEXT), "what the sheet asks"),
            notes=many(TEXT),
        ),
    ),
    "sketch": titled("A sketched sheet", of(text=TEXT, written=TEXT, content=SHEET)),
    "job new": titled("A new job", of(job=JOB)),
    "job read": read_schema(ENTRY, ADVICE, ANSWER),
    "job show": show_schema(JOB, ANSWER),
    "job undo": titled("An entry taken back", of(job=TEXT, entry=ENTRY, undone=WHOLE)),
    "job repaired": titled("A repair taken into a job", of(job=TEXT, entry=ENTRY)),
    "job close": titled("A job closed", of(job=TEXT, entry=ENTRY)),
    "job list": titled("Jobs, newest first", of(jobs=many(JOB_LINE))),
    "serve": titled(
        "Where the pages are served, said once at the start",
        of(
            address=said(TEXT, "for this machine"),
            phone=said(TEXT, "for one phone, once; empty without --lan"),
            store=said(TEXT, "where jobs are kept"),
        ),
    ),
    "job export": titled("Where a job was written", of(job=TEXT, file=TEXT)),
    "job import": titled("A job taken in", of(job=JOB)),
    "demo": titled(
        "The jobs of the demo",
        of(
            jobs=many(
                of(
                    job=TEXT,
                    name=TEXT,
                    title=TEXT,
                    machine=TEXT,
                    circumstances=many(TEXT),
                    steps=many(of(does=TEXT, line=TEXT, answer=ANSWER)),
                    acted_fault=TEXT,
                )
            ),
            sheet=TEXT,
        ),
    ),
}
"""Name of the command to the schema of what it prints with ``--json``."""

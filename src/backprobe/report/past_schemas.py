"""JSON Schemas of a job with its answer, and of where it stands after a repair."""

from __future__ import annotations

from backprobe.report.schema_words import TEXT, WHOLE, YES_NO, Schema, many, maybe, of, said, titled

REPAIR = said(
    maybe(
        of(
            repaired=many(of(entry=WHOLE, part=TEXT, what=TEXT)),
            ranked_from_before=said(
                YES_NO,
                "the answer ranks what was read before the repair; what was read since counts for nothing",
            ),
            works_since=said(maybe(WHOLE), "entry in which it was seen to work; null where it was not"),
            read_since=said(many(WHOLE), "entries read on the repaired machine"),
            guards_tried=said(WHOLE, "guards ticked by hand when the job was closed"),
            guards_to_try=said(WHOLE, "guards to try; 0 where the sheet names none"),
        )
    ),
    "null before the first repair",
)


def read_schema(entry: Schema, advice: Schema, answer: Schema) -> Schema:
    """The schema of ``job read``, given those of an entry, of advice and of an answer."""
    return titled(
        "A reading taken into a job",
        of(job=TEXT, entries=many(entry), mind=many(advice), repair=REPAIR, answer=answer),
    )


def show_schema(job: Schema, answer: Schema) -> Schema:
    """The schema of ``job show``, given those of a job and of an answer."""
    return titled("A job and its answer", of(job=job, repair=REPAIR, answer=answer))

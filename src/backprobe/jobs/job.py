"""A job at work: the stored log of one machine and one complaint, and what it says so far."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from backprobe.api import next_checks, rank
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.revived import revived
from backprobe.errors import JobError, Problem
from backprobe.jobs.guard_proof import PROOF, Against, contradicted, failed_data, failed_guards
from backprobe.jobs.log import JSON, Entry, standing
from backprobe.jobs.log import Job as Record
from backprobe.jobs.proving import closing_data, ticks_of
from backprobe.jobs.repairs import REPAIRED, Repair, in_vain, read_repair, read_words, repair_of
from backprobe.jobs.store import Store
from backprobe.readings.lines import Context, context_after, parse_reading
from backprobe.readings.model import Reading
from backprobe.readings.points import reachable_points
from backprobe.sheet.findings import nearest
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet

DONE = frozenset({"reading", REPAIRED, PROOF, "closed"})
"""Kinds of entry that a plain undo takes back."""
OUT_OF_REACH = "cannot reach"
"""What a note in the log is called that takes something out of the proposals."""


class Job:
    """One job of a store, with its sheet ready.

    Parameters
    ----------
    store
        An open store.
    record
        The stored job.

    Notes
    -----
    A reading is stored as the line that was typed together with the setup it was understood
    in, so that the record reads the same whatever later versions make of it.
    """

    def __init__(self, store: Store, record: Record) -> None:
        self.store = store
        self.record = record
        self._read: dict[int, Reading] = {}
        """Readings by the number of their entry: a log only grows, and what stands in it stays."""
        circumstances = record.entries[0].data.get("circumstances", [])
        words = [str(c) for c in circumstances] if isinstance(circumstances, list) else []
        self.engine = Engine(parse_sheet(record.sheet_text, file=f"sheet of job {record.id}"), words)

    @classmethod
    def new(
        cls,
        store: Store,
        sheet: Sheet,
        *,
        title: str = "",
        machine: str = "",
        circumstances: Iterable[str] = (),
    ) -> Job:
        """Open a job on a sheet; the sheet's text is kept with it."""
        words = list(circumstances)
        opened = {"circumstances": words} if words else {}
        Engine(sheet, words)
        record = store.create(title or sheet.name, machine, sheet.name, sheet.text, opened)
        return cls(store, record)

    @classmethod
    def open(cls, store: Store, job_id: str) -> Job:
        """Resume a job by its id or the beginning of it.

        Raises
        ------
        JobError
            When there is none, or more than one.
        """
        return cls(store, store.job(job_id))

    @property
    def sheet(self) -> Sheet:
        """The job's sheet."""
        return self.engine.sheet

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Reading entries that stand (were not undone), in order."""
        return tuple(e for e in standing(self.record) if e.kind == "reading")

    def readings(self) -> list[Reading]:
        """Readings that stand, in order, those before a repair too."""
        return [self._reading_of(entry) for entry in self.entries]

    def _reading_of(self, entry: Entry) -> Reading:
        if entry.number not in self._read:
            self._read[entry.number] = parse_reading(str(entry.data["line"]), self.sheet, _context_of(entry))
        return self._read[entry.number]

    @property
    def repairs(self) -> tuple[Repair, ...]:
        """Repairs that stand, in order."""
        return tuple(repair_of(e) for e in standing(self.record) if e.kind == REPAIRED)

    def readings_now(self) -> list[Reading]:
        """Readings of the machine as it is now: those since the last repair.

        Earlier ones stay on the record, but they are of a machine that is no more.
        """
        since = max((r.number for r in self.repairs), default=0)
        return [self._reading_of(entry) for entry in self.entries if entry.number > since]

    def evidence(self, *further: Reading) -> list[Reading]:
        """What suspects are ranked by: the readings of now, `further` ones, and what repairs in vain say."""
        now = [*self.readings_now(), *further]
        return [*now, *in_vain(self.repairs, now)]

    def evidence_before_repair(self) -> list[Reading]:
        """What the last repair was made by: the readings before it, without those of a machine that works.

        Several parts that were repaired with no reading between them are one repair. Empty before the first.
        """
        last = max((r.number for r in self.repairs), default=0)
        numbers = [e.number for e in self.entries if e.number < last]
        earlier = tuple(r for r in self.repairs if numbers and r.number < numbers[-1])
        since = max((r.number for r in earlier), default=0)
        read = [self._reading_of(e) for e in self.entries if since < e.number < last]
        # Who repairs first and says so later has read that it works meanwhile.
        own = read[: min((r.works for r in revived(read)), default=len(read))]
        return [*own, *in_vain(earlier, own)]

    def context(self) -> Context:
        """Operator state and plugs that the last reading left."""
        return context_after(self.readings())

    def read(self, line: str, context: Context | None = None) -> Entry:
        """Store one reading; it is durable when this returns.

        Parameters
        ----------
        context
            State and plugs that the line need not repeat; by default what the last reading left.

        Raises
        ------
        ReadingError
            When the line is not understood or lacks something; nothing is stored then.
        """
        known = self.context() if context is None else context
        reading = parse_reading(line, self.sheet, known)
        return self._append(
            "reading",
            {
                "line": " ".join(line.split()),
                "state": dict(known.state) | dict(reading.setup.state),
                "unplugged": sorted(known.unplugged),
                "plugs known": True,
                **({} if known.leads is None else {"leads": known.leads}),
            },
        )

    def repaired(self, text: str) -> Entry:
        """Keep what was repaired, such as ``brake switch: replaced``; from then on readings begin anew.

        Raises
        ------
        JobError
            When the sheet has no such part, or the job is closed.
        """
        return self._append(REPAIRED, read_repair(text, self.sheet))

    @property
    def against(self) -> tuple[Against, ...]:
        """What forbids to close this job as tried: guards that failed since the last repair, and readings."""
        last = max((r.number for r in self.repairs), default=0)
        read = [(e.number, self._reading_of(e)) for e in self.entries if e.number > last]
        failed = failed_guards(standing(self.record), last)
        return (*failed, *contradicted(self.engine, read, repaired=bool(last)))

    def guard_failed(self, key: str, words: str) -> Entry:
        """Keep that a guard failed when it was tried: it worked although it must not.

        Parameters
        ----------
        key
            Of its tick (`ticks_of`).
        words
            The tick in words.

        Raises
        ------
        JobError
            When no guard is tried under that key, or the job is closed.
        """
        tick = next((t for t in ticks_of(self.engine) if t.key == key and t.guards), None)
        if tick is None:
            raise JobError(Problem("failed", key[:80], "tries no guard", "Take a line that says must NOT."))
        return self._append(PROOF, failed_data(key, tick.tries, words))

    def close(self, reason: str, tried: Mapping[str, str] | None = None, by_hand: str = "") -> Entry:
        """Close the job for a reason, such as ``handed on``; undo that entry to open it again.

        Parameters
        ----------
        tried
            Key of each thing ticked (`ticks_of`) to what it says: ``repaired and tried`` needs all of them.
        by_hand
            What else was tried by hand, in the mechanic's words.

        Raises
        ------
        JobError
            When no reason is given, something is missing or stands against it, or the job is closed already.
        """
        said = read_words("reason", reason)
        return self._append(
            "closed",
            closing_data(
                self.engine,
                said,
                tried or {},
                repaired=bool(self.repairs),
                against=self.against,
                by_hand=by_hand,
            ),
        )

    def _append(self, kind: str, data: Mapping[str, JSON]) -> Entry:
        """Add an entry to an open job."""
        closing = self.record.closing
        if closing is not None:
            why = f" ({self.record.closed_as})" if self.record.closed_as else ""
            raise JobError(
                Problem(
                    "job",
                    self.record.id,
                    f"is closed{why}",
                    f"Take back entry {closing.number} to open it again, or open another job.",
                )
            )
        entry = self.store.append(self.record.id, kind, data)
        self.record = self.store.job(self.record.id)
        return entry

    def undo(self, number: int | None = None) -> Entry:
        """Take back an entry by a further entry; by default the last of `last_done`."""
        if number is None:
            number = 1 if self.last_done is None else self.last_done.number
        entry = self.store.append(self.record.id, "undo", {"undoes": number})
        self.record = self.store.job(self.record.id)
        return entry

    @property
    def last_done(self) -> Entry | None:
        """The last reading, repair or closing that stands."""
        done = [e for e in standing(self.record) if e.kind in DONE]
        return done[-1] if done else None

    def answer(self) -> Answer:
        """Suspects as the readings since the last repair leave them."""
        return rank(self.engine, self.evidence())

    @property
    def out_of_reach(self) -> frozenset[str]:
        """Points, parts and plugs that were said to be out of reach on this machine."""
        notes = (e.data.get(OUT_OF_REACH) for e in standing(self.record) if e.kind == "note")
        return frozenset(name for name in notes if isinstance(name, str))

    def cannot_reach(self, name: str) -> Entry:
        """Take a point, a part or a plug out of the proposals of this job; undo that entry to bring it back.

        Raises
        ------
        JobError
            When the sheet has nothing of that name.
        """
        known = {
            *self.sheet.parts,
            *self.sheet.connectors,
            *(p.name for p in reachable_points(self.sheet)),
            *(p.name for p in reachable_points(self.sheet, self.sheet.connectors)),
        }
        if name not in known:
            raise JobError(
                Problem("name", name[:80], "is no point, part or plug of this sheet", nearest(name, known))
            )
        return self._append("note", {OUT_OF_REACH: name})

    def checks_after(self, answer: Answer, count: int = 6) -> tuple[Check, ...]:
        """What to measure next after an answer of this job, as far as it can be reached."""
        return next_checks(answer, count, without=self.out_of_reach)

    def next_checks(self, count: int = 6) -> tuple[Check, ...]:
        """What to measure next, as far as it can be reached."""
        return self.checks_after(self.answer(), count)


def _context_of(entry: Entry) -> Context:
    state = entry.data.get("state", {})
    unplugged = entry.data.get("unplugged", [])
    pairs = tuple(sorted((str(k), str(v)) for k, v in state.items())) if isinstance(state, dict) else ()
    names = frozenset(str(u) for u in unplugged) if isinstance(unplugged, list) else frozenset()
    leads = entry.data.get("leads")
    return Context(pairs, names, True, float(leads) if isinstance(leads, int | float) else None)

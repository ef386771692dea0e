"""Thinking ahead: while nobody asks, what the likely answers to a check would say is worked out.

Between two readings a mechanic walks, unplugs and clips leads for a minute. In that time the setups of the
next checks are solved, and whole answers for what the check will most likely show: a lamp lit or dark, no
volts, the middle of each zone. Whoever asks for a page comes first: thinking breaks off at once.

A number is known once it is typed, and from its last digit to the tap that sends it there is time too: what
stands in the field is thought of first, and the tap that sends just that waits for it.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from math import isfinite, sqrt

from starlette.types import ASGIApp, Receive, Scope, Send

from backprobe.diagnosis.check import Check, Outcome
from backprobe.diagnosis.patience import BrokenOffError, giving_way
from backprobe.errors import BackprobeError
from backprobe.jobs.standing import standing_of
from backprobe.readings.lines import Context, parse_reading
from backprobe.readings.model import Reading
from backprobe.report.check_words import RARE, worth_doing
from backprobe.web.check_view import UNITS, battery_volts, line_start, read_where, where_of, words_of
from backprobe.web.complaint import complaint_of
from backprobe.web.desk import Desk, Work
from backprobe.web.frame import environment
from backprobe.web.texts import SOURCE, texts

PAUSE = 0.1
"""How long nobody must have asked before thinking begins [s]."""
CHECKS = 3
"""Checks whose answers are thought of."""
ZONES = 3
"""Zones of the first check that are thought of."""
TAKING = ("/read", "/reading", "/typed")
"""Ends of the addresses to which what was typed is sent."""
TAPPED = 2
"""Answers by one tap to a check with a number that are thought of."""


@dataclass(frozen=True, slots=True)
class Typed:
    """A reading that stands in a form and was not sent yet.

    Parameters
    ----------
    job
        The job's id.
    fields
        The form, as far as it tells what was read.
    """

    job: str
    fields: frozenset[tuple[str, str]]
    reading: Reading


class Ahead:
    """One thread that thinks of the job whose page was shown last, and of what is being typed.

    Parameters
    ----------
    desk
        The jobs at work.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._changed = threading.Condition()
        self._asking = 0
        self._taking = 0
        """Requests among them that may send what was typed."""
        self._typed: Typed | None = None
        self._in_mind: Typed | None = None
        """What was typed and is thought of right now."""
        self._quiet_since = time.monotonic()
        self._next: str | None = None
        self._thinking = False
        self._over = False
        self._thread: threading.Thread | None = None

    def think(self, job: str) -> None:
        """Think of the next readings of a job, by its id, once nobody asks for anything."""
        with self._changed:
            if self._over:
                return
            self._next = job
            self._wake()

    def think_of_typed(self, typed: Typed) -> None:
        """Think of a reading that stands in a form, before anything else."""
        with self._changed:
            if self._over:
                return
            self._typed = typed
            self._wake()

    def sent(self, job: str, fields: frozenset[tuple[str, str]]) -> None:
        """A form was sent, or typed further: what was typed before gives way unless it is just this."""
        with self._changed:
            self._typed = None
            thought = self._in_mind
            if thought is not None and (thought.job, thought.fields) != (job, fields):
                self._in_mind = None

    def asked(self, *, taking: bool = False) -> None:
        """Somebody asks for a page: whatever is thought of gives way.

        Parameters
        ----------
        taking
            Whether it may be what was typed that is sent: `sent` tells whether it is.
        """
        with self._changed:
            self._asking += 1
            self._taking += taking

    def answered(self, *, taking: bool = False) -> None:
        """The page is out."""
        with self._changed:
            self._asking -= 1
            self._taking -= taking
            self._quiet_since = time.monotonic()
            self._changed.notify_all()

    def may_go_on(self) -> bool:
        """Whether nobody asks for anything but what is thought of."""
        others = self._asking - (self._taking if self._in_mind is not None else 0)
        return others == 0 and self._typed is None and not self._over

    def wait(self, seconds: float) -> bool:
        """Wait until there is nothing left to think of; whether that came about in time."""
        with self._changed:
            return self._changed.wait_for(
                lambda: self._next is None and self._typed is None and not self._thinking, seconds
            )

    def stop(self) -> None:
        """Stop thinking for good."""
        with self._changed:
            self._over = True
            self._next = self._typed = None
            self._changed.notify_all()
        if self._thread is not None:
            self._thread.join(timeout=5.0)

    def _wake(self) -> None:
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="thinking ahead", daemon=True)
            self._thread.start()
        self._changed.notify_all()

    def _run(self) -> None:
        while (task := self._quiet()) is not None:
            try:
                done = self._done(task)
            except Exception:
                # What cannot be thought of is told when it is asked for, and the thread lives on.
                done = True
            with self._changed:
                self._thinking, self._in_mind = False, None
                if not done and self._next is None and isinstance(task, str):
                    self._next = task
                self._changed.notify_all()

    def _done(self, task: str | Typed) -> bool:
        """Whether all of a task was thought of."""
        if isinstance(task, Typed):
            return self._think_of_all(self.desk.work(task.job), [task.reading])
        return self._make_ready() and self._think_of(self.desk.work(task))

    def _make_ready(self) -> bool:
        """Compile the templates, so that no first page waits for it; whether all are."""
        pages = environment(SOURCE)
        for name in pages.list_templates():
            if not self.may_go_on():
                return False
            pages.get_template(name)
        return True

    def _quiet(self) -> str | Typed | None:
        """What to think of, once it is quiet; None when all is over."""
        with self._changed:
            while not self._over:
                left = PAUSE - (time.monotonic() - self._quiet_since)
                if self._typed is not None and self._asking == 0:
                    self._in_mind, self._typed, self._thinking = self._typed, None, True
                    return self._in_mind
                if self._next is not None and self._asking == 0 and left <= 0:
                    job, self._next, self._thinking = self._next, None, True
                    return job
                self._changed.wait(left if self._next is not None and self._asking == 0 else None)
            return None

    def _think_of(self, work: Work) -> bool:
        """Whether all was thought of; what was done is kept in any case."""
        try:
            with work.lock, giving_way(self.may_go_on):
                prospects = list(prospects_of(work))
        except BrokenOffError:
            return False
        return self._think_of_all(work, prospects)

    def _think_of_all(self, work: Work, prospects: Iterable[Reading]) -> bool:
        try:
            for reading in prospects:
                with work.lock, giving_way(self.may_go_on):
                    work.foresee(reading)
        except BrokenOffError:
            return False
        return True


class Courtesy:
    """Tells `Ahead` of every request while it is answered."""

    def __init__(self, app: ASGIApp, ahead: Ahead) -> None:
        self.app, self.ahead = app, ahead

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        taking = scope["method"] == "POST" and scope["path"].endswith(TAKING)
        self.ahead.asked(taking=taking)
        try:
            await self.app(scope, receive, send)
        finally:
            self.ahead.answered(taking=taking)


def prospects_of(work: Work) -> Iterator[Reading]:
    """Readings that a job will most likely get next, the likeliest first."""
    standing = standing_of(work.job)
    if not work.job.record.is_open:
        return
    if standing.complaint is None and not work.job.readings_now():
        begin = complaint_of(work.engine)
        context = Context(tuple(sorted(begin.state.items())), frozenset(), True)
        for function in begin.functions[:CHECKS]:
            yield from _read(work, f"{function} dead", context)
        return
    battery = battery_volts(work.answer())
    for k, check in enumerate(worth_doing(work.checks())[:CHECKS]):
        where = read_where(where_of(check))
        leads = work.job.context().leads
        context = Context(where.context.state, where.context.unplugged, True, leads)
        for line in _lines(check, battery, first=k == 0):
            yield from _read(work, ", ".join([line, *where.held]), context)


def _read(work: Work, line: str, context: Context) -> Iterator[Reading]:
    with suppress(BackprobeError):
        yield parse_reading(line, work.sheet, context)


def _lines(check: Check, battery: float, *, first: bool) -> list[str]:
    """What would be tapped, or typed, as the answer to a check; all of it only for the first one."""
    kind = check.candidate.kind
    # What jumps about says least, and comes seldom.
    tapped = [line for _, line in words_of(check, texts("en"), battery) if not line.endswith("unsteady")]
    if kind not in UNITS:
        return tapped if first else tapped[:1]
    likely = [o for o in check.outcomes if o.chance >= RARE][: ZONES if first else 1]
    middles = [v for o in likely if isfinite(v := _middle(o, kind))]
    typed = [f"{line_start(check)}: {v:.4g} {UNITS[kind][0]}" for v in middles]
    return [*tapped[:TAPPED], *typed] if first else typed


def _middle(outcome: Outcome, kind: str) -> float:
    if kind == "ohms":
        return sqrt(max(outcome.low, 0.01) * max(outcome.high, 0.01))
    return 0.5 * (outcome.low + outcome.high)

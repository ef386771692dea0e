"""Work that nobody waits for yet, and that gives way as soon as somebody waits for something else."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

_HERE = threading.local()


class BrokenOffError(Exception):
    """Work that was broken off; nothing half done is kept."""


@contextmanager
def giving_way(may_go_on: Callable[[], bool]) -> Iterator[None]:
    """Within this, long work of this thread ends by `BrokenOffError` once it may not go on.

    Parameters
    ----------
    may_go_on
        Asked every few milliseconds of work.
    """
    _HERE.may_go_on = may_go_on
    try:
        yield
    finally:
        _HERE.may_go_on = None


def breathe() -> None:
    """A place where long work may be broken off.

    Raises
    ------
    BrokenOffError
        Within `giving_way` once it may not go on.
    """
    may_go_on = getattr(_HERE, "may_go_on", None)
    if may_go_on is not None and not may_go_on():
        raise BrokenOffError

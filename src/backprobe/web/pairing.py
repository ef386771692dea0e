"""Phones beside the laptop: a code to scan lets one phone in, once."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

LASTS = 600.0
"""Seconds for which a code can be used [s]."""
OFFERED = 4
"""Codes that are good at the same time: the newest ones."""
TRIES, WINDOW = 8, 60.0
"""Wrong codes that are looked at in so many seconds, from everybody together [1, s]."""
PHONES = 16


@dataclass(slots=True)
class Pairing:
    """Codes that were shown, and phones that were let in.

    Parameters
    ----------
    clock
        Seconds that only grow.
    """

    clock: Callable[[], float] = time.monotonic
    _codes: dict[str, float] = field(default_factory=dict)
    _phones: list[str] = field(default_factory=list)
    _wrong: deque[float] = field(default_factory=deque)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def offer(self) -> str:
        """A new code; only the newest few stay good."""
        with self._lock:
            code = secrets.token_urlsafe(16)
            self._codes[code] = self.clock() + LASTS
            for old in list(self._codes)[:-OFFERED]:
                del self._codes[old]
            return code

    def admit(self, code: str) -> str | None:
        """Let a phone in by its code, which is spent then; what the phone shows from now on, or None."""
        with self._lock:
            if self._slowed():
                return None
            found = next((c for c in self._codes if hmac.compare_digest(c.encode(), code.encode())), None)
            good = found is not None and self._codes.pop(found) >= self.clock()
            if not good:
                self._wrong.append(self.clock())
                return None
            phone = secrets.token_urlsafe(24)
            # Kept as a digest: what this machine's memory shows opens nothing.
            self._phones = [*self._phones, _digest(phone)][-PHONES:]
            return phone

    @property
    def slowed(self) -> bool:
        """Whether too many wrong codes came just now; none is looked at then."""
        with self._lock:
            return self._slowed()

    def knows(self, phone: str) -> bool:
        """Whether a phone was let in."""
        return bool(phone) and _digest(phone) in self._phones

    def _slowed(self) -> bool:
        while self._wrong and self._wrong[0] < self.clock() - WINDOW:
            self._wrong.popleft()
        return len(self._wrong) >= TRIES


def _digest(phone: str) -> str:
    return hashlib.sha256(phone.encode()).hexdigest()

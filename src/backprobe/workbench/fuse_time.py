"""How long a blade fuse carries a load before it opens."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

GATES = (
    (1.10, 100 * 3600.0, inf),
    (1.35, 0.75, 600.0),
    (1.60, 0.25, 50.0),
    (2.00, 0.15, 5.0),
    (3.50, 0.08, 0.5),
    (6.00, 0.03, 0.1),
)
"""Load as a share of the rating, least and most seconds to open [s]; after ISO 8820-3 [mem], from memory."""
SOURCE = "blade fuse, operating-time gates as in ISO 8820-3, from memory"
CONTINUOUS = 0.8
"""Share of its rating that a fuse should carry for hours; common practice, no source."""


@dataclass(frozen=True, slots=True)
class FuseTime:
    """Seconds within which a fuse opens; `most` is infinite where it need not open at all."""

    share: float
    least: float
    most: float


def fuse_time(share: float) -> FuseTime:
    """Bounds on the time to open at a load.

    Between two gates the bounds of both hold: it lasts at least as long as at the heavier one, and at most
    as long as at the lighter one. Up to 110 % it holds for at least 100 h, so it never opens in seconds.

    Parameters
    ----------
    share
        Current over rating [1].
    """
    least = next((low for gate, low, _ in GATES if share <= gate), 0.0)
    most = next((high for gate, _, high in reversed(GATES) if share >= gate), inf)
    return FuseTime(share, least, most)


def load_for_time(seconds: float) -> tuple[float, float]:
    """Between which shares of its rating a fuse was loaded that opened after a time.

    Parameters
    ----------
    seconds
        From switching on to opening [s].

    Returns
    -------
    tuple of float
        Least and most share [1]; the most is infinite for what opens at once.
    """
    # At a gate that lasts longer than this it would still be whole; at one through sooner, gone before.
    least = max((gate for gate, low, _ in GATES if low > seconds), default=0.0)
    most = min((gate for gate, _, high in GATES if high < seconds), default=inf)
    return least, most

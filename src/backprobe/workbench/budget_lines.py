"""The lines of a budget: what a fuse, a driver, a feed, a load and a run carry."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.workbench.fuse_time import FuseTime, fuse_time


@dataclass(frozen=True, slots=True)
class FuseLoad:
    """A fuse and what it carries.

    Parameters
    ----------
    rating
        As printed on it [A]; `assumed` where the sheet does not say.
    rested, running, most
        Current at rested volts, at running volts, and there with the lowest resistances [A].
    inrush
        Current in the first moment, filaments cold [A].
    kind
        ``fuse``, ``circuit breaker`` or ``fusible link``.
    """

    name: str
    rating: float
    assumed: bool
    rested: float
    running: float
    most: float
    inrush: float
    kind: str = "fuse"

    @property
    def share(self) -> float:
        """Running current over the rating [1]."""
        return self.running / self.rating

    @property
    def time(self) -> FuseTime | None:
        """How long a blade fuse carries the running current; None for what keeps other times."""
        return fuse_time(self.share) if self.kind == "fuse" else None


@dataclass(frozen=True, slots=True)
class Share:
    """A driver or feed and what is asked of it [A]; `limit` is None where the sheet does not say."""

    name: str
    limit: float | None
    rested: float
    running: float
    most: float
    inrush: float

    @property
    def share(self) -> float | None:
        """Running current over the limit [1]."""
        return None if self.limit is None else self.running / self.limit


@dataclass(frozen=True, slots=True)
class Draw:
    """A load: its ohms [ohm], the volts it sees while running [V] and its currents [A]."""

    name: str
    kind: str
    ohms: float
    volts: float
    rested: float
    running: float
    most: float
    inrush: float

    @property
    def watts(self) -> float:
        """Power at running volts [W]."""
        return self.volts * self.running


@dataclass(frozen=True, slots=True)
class RunDrop:
    """What the wires, joints, switches and fuses of a run lose at running volts.

    Parameters
    ----------
    amps, drop, share
        Largest current [A], volts lost [V], and those over the system's volts [1].
    worst, worst_drop, worst_watts
        The conductor that loses most, what it loses [V] and the heat in it [W].
    """

    name: str
    amps: float
    drop: float
    share: float
    worst: str
    worst_drop: float
    worst_watts: float

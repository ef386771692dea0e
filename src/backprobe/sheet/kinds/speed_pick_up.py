"""Speed pick-up: an open-collector sensor at a toothed wheel, with a pull-up of its own where fitted."""

from __future__ import annotations

from backprobe.sheet.anatomy import OPEN
from backprobe.sheet.build import PartBuilder
from backprobe.sheet.kind import FieldSpec, Kind
from backprobe.sheet.kinds import _sensor_faults as faults
from backprobe.sheet.kinds import open_collector_sensor


def build(p: PartBuilder) -> None:
    """An open-collector sensor, and the resistance from its output to its own supply."""
    open_collector_sensor.build(p)
    if p.has("pull-up ohms"):
        up = p.resistance("own pull-up", "output", "_supply", p.value("pull-up ohms"))
        why = "parts inside a sensor; common practice, no source"
        faults.worn_out(p, "own pull-up open", {up: (OPEN,)}, 0.3, why=why)
        return
    fitted = p.latent("foreign pull-up", "output", "_supply")
    faults.wrong_part(p, "type with a pull-up of its own fitted", {fitted: (1e3, 4.7e3)}, 0.15)


KIND = Kind(
    name="speed pick-up",
    terminals=("supply", "output", "ground"),
    passes={},
    fields=(
        *open_collector_sensor.FIELDS,
        FieldSpec("pull-up ohms", "ohm"),
    ),
    words=("speed pickup", "pulse pick-up"),
    build=build,
    about="`pulls` names the positions of a wheel turned by hand (tooth, gap) in which the output is pulled. "
    "Without `pull-up ohms` the controller pulls it up.",
)

"""Conductors: gauges, sizes and the most that a standard lets them have. Data and two formulas."""

from __future__ import annotations

from math import log, pi

COPPER = 17.241
"""Annealed copper at 20 C [ohm mm2/km] (IEC 60028) [seen]."""
TABLES: dict[str, tuple[str, dict[float, float]]] = {
    "class 5": (
        "IEC 60228 class 5 and 6, plain",
        # 0.5 to 2.5 mm2 [seen], from 4 mm2 on [mem].
        {
            0.5: 39.0,
            0.75: 26.0,
            1.0: 19.5,
            1.5: 13.3,
            2.5: 7.98,
            4.0: 4.95,
            6.0: 3.30,
            10.0: 1.91,
            16.0: 1.21,
            25.0: 0.780,
            35.0: 0.554,
            50.0: 0.386,
            70.0: 0.272,
            95.0: 0.206,
        },
    ),
    "class 5 tinned": (
        "IEC 60228 class 5 and 6, tinned",
        {0.5: 40.1, 0.75: 26.7, 1.0: 20.0, 1.5: 13.7, 2.5: 8.21},
    ),
    "class 2": (
        "IEC 60228 class 1 and 2, plain",
        {0.5: 36.0, 0.75: 24.5, 1.0: 18.1, 1.5: 12.1, 2.5: 7.41},
    ),
    # Only the figure for 0.5 mm2 was seen, the others [mem].
    "vehicle": ("ISO 6722", {0.5: 37.1, 0.75: 24.7, 1.0: 18.5, 1.5: 12.7, 2.5: 7.60}),
}
"""Word, then name and the most ohms of a size [mm2 to ohm/km at 20 C]."""
STRANDED = 1.16
"""How far class 5 lies above solid copper, for sizes that stand in no table [1]; from its rows."""
RATINGS = {
    0.5: 11.0,
    0.75: 15.0,
    1.0: 20.0,
    1.5: 25.0,
    2.5: 30.0,
    4.0: 40.0,
    6.0: 50.0,
    10.0: 70.0,
    16.0: 100.0,
}
"""The largest fuse that one wire in free air should stand behind [mm2 to A]; common practice, no source."""


def conductor_ohms(resistivity: float, length: float, area: float) -> float:
    """Resistance of a bar or wire, R = rho l / A [ohm].

    Parameters
    ----------
    resistivity
        Of the metal [ohm m].
    length
        Length [m].
    area
        Cross-section [mm2].
    """
    return resistivity * length / (area * 1e-6)


def gauge_diameter(gauge: float) -> float:
    """Diameter of a solid AWG conductor [mm]: 0.005 in x 92^((36 - n)/39) (ASTM B258).

    Parameters
    ----------
    gauge
        AWG number; 0 for 1/0, -1 for 2/0, -2 for 3/0, -3 for 4/0.
    """
    return float(0.127 * 92 ** ((36 - gauge) / 39))


def gauge_area(gauge: float) -> float:
    """Cross-section of an AWG size [mm2]."""
    return pi / 4 * gauge_diameter(gauge) ** 2


def gauge_of(area: float) -> float:
    """AWG number of a cross-section, not rounded [mm2 to 1]."""
    diameter = (4 * area / pi) ** 0.5
    return 36 - 39 * log(diameter / 0.127) / log(92)


def circular_mils(area: float) -> float:
    """Cross-section in circular mils: the square of a diameter in thousandths of an inch [mm2 to cmil]."""
    return 4 * area / pi / 0.0254**2


def ohms_per_km(size: float, table: str = "class 5") -> tuple[float, str]:
    """The most that a size may have at 20 C [mm2 to ohm/km], and where that comes from."""
    if table == "solid":
        return COPPER / size, "solid copper, 17.241 ohm mm2/km"
    name, rows = TABLES[table]
    if size in rows:
        return rows[size], name
    return STRANDED * COPPER / size, f"in no row of {name}: solid copper x {STRANDED:g}"

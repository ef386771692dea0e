"""How each unit may be spelt in the field, and how it is shown: data only, read by `backprobe.units`."""

from __future__ import annotations

KINDS = {
    "V": "a voltage",
    "ohm": "a resistance",
    "A": "a current",
    "W": "a power",
    "m": "a length",
    "mm2": "a wire size",
    "degC": "a temperature",
    "deg": "an angle",
    "s": "a time in seconds",
    "%": "a percentage",
    "Hz": "a frequency",
    "min": "a time in minutes",
    "": "a plain number",
}
"""Every unit of a quantity, with its kind in words."""

SPELLINGS = {
    "V": "V v volt volts Vdc VDC vdc",
    "A": "A a amp amps ampere amperes Adc ADC adc",
    "W": "W w watt watts",
    "ohm": "ohm ohms Ohm Ohms OHM OHMS Ω",
    "m": "m metre metres meter meters",
    "mm2": "mm2 mm^2 sqmm",
    "degC": "degC °C ºC C c degc celsius Celsius",
    "deg": "deg ° degree degrees",
    "s": "s sec secs second seconds",
    "%": "% percent",
    "Hz": "Hz hz HZ",
    "min": "min mins minute minutes",
}
# No mega for V, A and W: '60 MA' on a phone keyboard is 60 mA, and a mobile machine has no megawatts.
PREFIXES = {"V": "numk", "A": "numk", "W": "numk", "ohm": "numkKM", "Hz": "kKM", "s": "num"}
EXPONENTS = {"n": -9, "u": -6, "m": -3, "k": 3, "K": 3, "M": 6}

UNITS = {
    prefix + name: (unit, EXPONENTS.get(prefix, 0))
    for unit, names in SPELLINGS.items()
    for name in names.split()
    for prefix in ("", *PREFIXES.get(unit, ""))
} | {"mm": ("m", -3), "cm": ("m", -2), "km": ("m", 3), "R": ("ohm", 0), "r": ("ohm", 0)}
"""Each accepted spelling: its unit and the power of ten to that unit."""

TIMES = {("min", "s"): 60.0, ("s", "min"): 1 / 60}
"""Factor from one unit to another of the same kind."""

SYMBOLS = {"ohm": "Ω", "mm2": "mm²", "degC": "°C", "deg": "°"}
SHOWN_PREFIXES = {"V": (-6, 3), "A": (-6, 3), "W": (-6, 3), "ohm": (-6, 6), "Hz": (0, 6), "s": (-6, 0)}
PREFIX_LETTERS = {-6: "µ", -3: "m", 0: "", 3: "k", 6: "M"}

# One sign has several code points. A superscript 2 becomes '^2' so that '5²' can never be read as 52.
SAME_SIGNS = str.maketrans(
    {
        "\u2126": "Ω",
        "\u00b5": "u",
        "\u03bc": "u",
        "\u00b2": "^2",
        "\u2212": "-",
        "\u00a0": " ",
        "\u2009": " ",
        "\u202f": " ",
        "\u2026": "..",
        "\u2248": "~",
    }
)
